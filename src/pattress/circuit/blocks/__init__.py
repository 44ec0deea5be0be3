"""The blocks of a circuit, one module each. A block is a pure function of what it is given; it makes its own inner nets.

A variant (another rail, a ready-made module, an expander) is another function that returns a `Block` with the same outer nets;
`assembly` chooses between them.
"""
