"""Which characters of a text a person sees, and how the others are shown.

Escape sequences, direction marks and line separators act on a terminal, or on the order of what is read, and are not
seen themselves. Categories are those of the Unicode Character Database, as the interpreter ships it.
"""

import re
from collections.abc import Callable
from unicodedata import category

BLANKS = "\u115f\u1160\u2800\u3164\uffa0"      # letters and a braille cell that no font draws: Hangul fillers, the blank pattern
_ACTING = ("Cc", "Cf", "Cs", "Zl", "Zp")        # controls, direction marks and joiners, halves of pairs, line and paragraph separators
_PLAIN = re.compile(r"[\n\x20-\x7e]*")


def is_seen(text: str) -> bool:
    """Return whether a text on one line can be read: no character acts or is blank, and one at least is no space and no mark."""
    return text.isprintable() and not any(blank in text for blank in BLANKS) and any(category(one)[0] not in "ZM" for one in text)


def escape(one: str) -> str:
    """Return a character as TOML writes it: \\u and four hexadecimal digits, \\U and eight where it takes more."""
    return f"\\u{ord(one):04x}" if ord(one) < 0x10000 else f"\\U{ord(one):08x}"


def shown(text: str, escape: Callable[[str], str] = escape) -> str:
    """Return a text with every character that acts, but for the line feed, as an escape."""
    if _PLAIN.fullmatch(text):
        return text
    return "".join(escape(one) if one != "\n" and category(one) in _ACTING else one for one in text)
