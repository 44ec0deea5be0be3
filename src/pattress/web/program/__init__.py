"""The sheets of the control program: proof, rehearsal, and a run to try."""
