"""What the board says to the home's network, and what it takes from there.

Sees the loop only through a queue (`RequestQueue`), which is handed in. Every wait here is an await,
every buffer has an end, and nothing here is needed for a wall switch to work.

The folder may have another name on the board, where a built-in module is called `network`:
the modules import each other relatively and nothing else of this project.
"""

import sys


def let_go(*names):
    """Forget modules of this package, "http.site" for one: whoever wants one next loads it anew. Elsewhere than on a board nothing is short."""
    if sys.implementation.name == "micropython":
        for name in names:
            path = __name__ + "." + name
            sys.modules.pop(path, None)
            package, _, module = path.rpartition(".")
            sys.modules[package].__dict__.pop(module, None)
