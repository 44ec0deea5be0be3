"""A test's program that looks into the modules of a bundle, in the words of the bundle: names are short there."""

import re

from pattress.bundle.contents import names_on_board
from pattress.controller.digest import core_files

LOOKED_AT = ("Loop", "Program", "counts", "queue", "end", "seconds", "taken_over", "tend", "turn", "worst_gap")      # by drivers/hour.py


def in_bundle_words(program: str, *words: str) -> str:
    """Return a program in which what is asked for after a dot, or imported, by one of these `words` is asked for by its name on the board."""
    short = names_on_board(core_files())
    return re.sub(rf"(\.|import )({'|'.join(words)})\b", lambda found: found[1] + short.get(found[2], found[2]), program)
