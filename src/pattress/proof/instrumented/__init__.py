"""Watching the control program while it is proven: which ways it went, and what influenced what."""
