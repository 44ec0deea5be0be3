"""A board on the desk or in the wall. So far only the link to it: a bundle put on it, and what it tells of itself."""
