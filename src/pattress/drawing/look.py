"""The one look of all drawings: colours on three grounds, line weights, type sizes, hatchings.

Lines, words and figures are ink. Colour is spent on light from lamps that are on, and on kinds that a
legend or a word beside names too: nothing is said by colour alone. A drawing is written in the colours
of a light screen; on a dark one a style sheet puts others in their place, on paper they are printed.
"""

from dataclasses import dataclass
from enum import Enum


class Medium(Enum):
    """Where a drawing stands: alone in a file, on a page whose style sheet holds `dark_rules`, or on paper and on pages that are always light."""

    FILE = "file"
    PAGE = "page"
    PAPER = "paper"


@dataclass(frozen=True, slots=True)
class Colour:
    """One colour: on a light screen, on a dark one, on paper."""

    light: str
    dark: str
    printed: str


INK = Colour("#15191b", "#e9ece9", "#000000")           # lines, words, figures
SOFT = Colour("#4b5357", "#aab4b7", "#444444")          # facts, captions
RULE = Colour("#c5cac9", "#3a454a", "#bbbbbb")          # what parts rows, grids, bars that ink surrounds
WASH = Colour("#f0f1ee", "#1b2226", "#f2f2f2")          # the ground of a thing
PAPER = Colour("#fafaf8", "#12171a", "#ffffff")         # the ground of all
LIGHT = Colour("#fed967", "#4d4730", "#ffe9a0")         # a lamp that is on; #ffd34d at 85 %, #ffd873 at 25 % on paper
# Kinds, told in words too: full where ink surrounds a spot, pale under words.
ORANGE, PALE_ORANGE = Colour("#d98a3d", "#a8672a", "#d98a3d"), Colour("#f6e3c0", "#4a3714", "#f6e3c0")
BLUE, PALE_BLUE = Colour("#5b8fd6", "#3f6fae", "#5b8fd6"), Colour("#cfe3f5", "#1f3a52", "#cfe3f5")
VIOLET, PALE_VIOLET = Colour("#9a6fc2", "#7c55a2", "#9a6fc2"), Colour("#ead7f0", "#3d2a47", "#ead7f0")
GREEN, PALE_GREEN = Colour("#4fa37a", "#377a5a", "#4fa37a"), Colour("#d5ecd2", "#203f27", "#d5ecd2")
YELLOW = Colour("#e3c443", "#8f7a1e", "#e3c443")
COLOURS = (INK, SOFT, RULE, WASH, PAPER, LIGHT, ORANGE, PALE_ORANGE, BLUE, PALE_BLUE, VIOLET, PALE_VIOLET, GREEN, PALE_GREEN, YELLOW)
LETTERED = (INK, SOFT)                                  # words are written in
GROUNDS = (PAPER, WASH, RULE, LIGHT, PALE_ORANGE, PALE_BLUE, PALE_VIOLET, PALE_GREEN)      # words in ink lie on

# Line weights: the same on screen and paper, a drawing 360 to 1200 units wide.
MAINS, FLOOR, LIVE, FEED, WALL, SYMBOL, CABLE, TICK, DETAIL, LEADER = 4.0, 3.4, 3.0, 2.0, 1.6, 1.5, 1.4, 1.3, 1.1, 0.8
HALO = 4.0                                              # of paper round words and marks that lie on lines
WEIGHTS = (MAINS, FLOOR, LIVE, FEED, WALL, SYMBOL, CABLE, TICK, DETAIL, LEADER)
DASHED, DOTTED, ZONE = "5 4", "2 3", "7 4"
DASHES = ("", "7 3", "2 3", "9 3 2 3", "12 4")          # of curves that stand together

# Type sizes on a screen. A picture for a telephone is at most 420 units wide and written in TEXT: 12 px where the screen is 360 px wide.
SMALL, NAME, TEXT, HEAD = 12.0, 13.0, 14.0, 17.0
SIZES = (SMALL, NAME, TEXT, HEAD)
# On a sheet that is 1180 units wide and fills A4 laid level, a unit is 0.24 mm: capitals of 1.8 and 2.5 mm.
LETTER, IDENTITY = 11.0, 15.0
SHEET_SIZES = (LETTER, NAME, IDENTITY)


@dataclass(frozen=True, slots=True)
class Hatch:
    """A hatching: tiles of a size, turned, with lines of a weight on a ground."""

    name: str
    size: float
    path: str
    weight: float
    turn: float = 0.0
    ground: Colour | None = None
    line: Colour = INK


BARRIER = Hatch("barrier", 8, "M0 8L8 0M-2 2L2 -2M6 10L10 6", LEADER)
NO_NETWORK = Hatch("network", 7, "M0 0V7", TICK, turn=45, ground=WASH, line=SOFT)
NO_POWER = Hatch("power", 4, "M0 0V4M0 0H4", TICK, turn=-45, ground=RULE)


def dark_rules() -> str:
    """Return the style sheet that shows every drawing in the colours of a dark screen; a page that prints stays light."""
    rules = (f':where(svg.drawing) [{paint}="{colour.light}"]{{{paint}:{colour.dark}}}' for colour in COLOURS for paint in ("fill", "stroke"))
    root = f':where(svg.drawing)[fill="{INK.light}"]{{fill:{INK.dark}}}'
    return f"@media screen and (prefers-color-scheme: dark){{{root}{''.join(rules)}}}"


PRINTED = {colour.light: colour.printed for colour in COLOURS}
