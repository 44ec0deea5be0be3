"""How wide words are, before anybody draws them, and how they are broken or cut to fit a room.

Two letterings. SANS is for screens: its room is reckoned with the widest of the fonts that a reader may
have, DejaVu Sans, so that words in Helvetica or Arial, which are about a tenth narrower, lie within it too.
MONO is for sheets that are set as PDF with the fonts of the setter, of which DejaVu Sans Mono is the one for drawings.
"""

import re
from dataclasses import dataclass
from itertools import chain
from unicodedata import combining, east_asian_width

from pattress.quantity.showing import NO_BREAK, unbroken

ASCENT, DESCENT = 0.80, 0.25     # em above and below the base line
LEADING = 1.25                   # em from line to line
# Advances of U+0020 to U+007E in thousandths of an em: DejaVu Sans 2.37, book and bold, measured in Chromium.
_BOOK = tuple(map(int, """318 401 460 838 636 950 780 275 390 390 500 838 318 361 318 337 636 636 636 636 636 636 636 636 636 636 337 337 838 838 838 531
1000 684 686 698 770 632 575 775 752 295 295 656 557 863 748 787 603 787 695 635 611 732 684 989 685 611 685 390 337 390 838 500
500 613 635 550 635 615 352 635 634 278 278 579 278 974 634 612 635 635 411 521 392 634 592 818 592 592 525 636 337 636 838""".split()))
_BOLD = tuple(map(int, """348 456 521 838 696 1002 872 306 457 457 523 838 380 415 380 365 696 696 696 696 696 696 696 696 696 696 400 400 838 838 838 580
1000 774 762 734 830 683 683 821 837 372 372 775 637 995 837 850 733 850 770 720 682 812 774 1103 771 724 725 457 365 457 838 500
500 675 716 593 716 678 435 716 712 343 343 665 343 1042 712 687 716 716 493 595 478 712 652 924 645 652 582 712 365 712 838""".split()))
_OTHERS = {"\u00a0": 348, "\u00b2": 438, "\u00b0": 500, "\u2013": 500, "\u2019": 380}
_WIDEST = 1000                   # of what stands in no table; the mean of Latin, Greek and Cyrillic is 577
_MONO = 610                      # DejaVu Sans Mono has 602


@dataclass(frozen=True, slots=True)
class Lettering:
    """A family of fonts, and whether all its letters are of one width."""

    family: str
    is_even: bool

    def width(self, words: str, size: float, *, bold: bool = False) -> float:
        """Return the room a line takes."""
        if self.is_even and words.isascii():
            return len(words) * _MONO * size / 1000
        table = _BOLD if bold else _BOOK
        return sum(self._advance(letter, table) for letter in words) * size / 1000

    def _advance(self, letter: str, table: tuple[int, ...]) -> int:
        if combining(letter):
            return 0
        if self.is_even:
            return 2 * _MONO if east_asian_width(letter) in "WF" else _MONO
        return table[ord(letter) - 0x20] if " " <= letter <= "~" else _OTHERS.get(letter, _WIDEST)

    def wrapped(self, words: str, room: float, size: float, *, bold: bool = False) -> tuple[str, ...]:
        """Return words in lines that fit a room, a number and its unit on one; what is longer than the room is broken."""
        lines: list[str] = []
        line = ""
        pieces = re.split(rf"[^\S{NO_BREAK}]+", unbroken(words).strip())
        for word in chain.from_iterable([piece.replace(NO_BREAK, " ")] if self.width(piece, size, bold=bold) <= room else piece.split(NO_BREAK) for piece in pieces):
            while self.width(word, size, bold=bold) > room:
                fits = max(1, next(n for n in range(len(word), 0, -1) if n == 1 or self.width(word[:n], size, bold=bold) <= room))
                head, word = word[:fits], word[fits:]
                lines += [line] if line else []
                lines.append(head)
                line = ""
                if not word:
                    break
            longer = f"{line} {word}".strip()
            if self.width(longer, size, bold=bold) <= room:
                line = longer
            else:
                lines, line = [*lines, line], word
        return (*lines, line) if line else tuple(lines)

    def shortened(self, words: str, room: float, size: float, *, bold: bool = False) -> str:
        """Return words as they are where they fit a room, else as many letters as fit and an ellipsis."""
        if self.width(words, size, bold=bold) <= room:
            return words
        fits = next((n for n in range(len(words) - 1, 0, -1) if self.width(words[:n].rstrip() + "\u2026", size, bold=bold) <= room), 1)
        return words[:fits].rstrip() + "\u2026"


SANS = Lettering("Helvetica, 'Helvetica Neue', Arial, 'Liberation Sans', 'DejaVu Sans', sans-serif", False)
MONO = Lettering("'DejaVu Sans Mono', monospace", True)
