"""The circuit of a job: every part, pin and wire in one netlist, from which everything physical follows."""
