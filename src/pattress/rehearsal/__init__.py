"""The control program in simulated time, against people, bouncing contacts, radio loss and power cuts."""
