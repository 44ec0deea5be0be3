"""The owner's sentences about what happens by itself, as tables for the control program."""
