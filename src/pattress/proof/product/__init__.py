"""The product of channels that cannot be looked at one by one: every combination of what they do, on all cores."""
