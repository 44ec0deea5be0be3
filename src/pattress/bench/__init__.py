"""A board on the bench or in the wall. So far only the link to it: a bundle put on it, and what it tells of itself."""
