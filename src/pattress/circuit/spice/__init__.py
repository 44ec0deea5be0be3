"""A circuit as a deck for a circuit simulator of the SPICE kind: written from the netlist, so that the simulator sees what is built."""
