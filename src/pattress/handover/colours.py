"""Conductor colours in letters, by the practice that the mains system points to.

Letters are those of IEC 60757 (BK, BN, BU, GNYE ...), so that a sheet reads in black and white.
What is told here is what new work uses; older wiring differs, and no colour proves anything.
All from memory: IEC 60445 for most of the world, NEC 200.6, 200.7 and 250.119 for North America.
"""

from dataclasses import dataclass
from enum import StrEnum

from pattress.job.model import UNKNOWN
from pattress.job.system import System

NORTH_AMERICAN = ("US", "CA", "MX")
NORTH_AMERICAN_MOST = 150.0      # V: at 60 Hz, below this the second conductor is a neutral


class Practice(StrEnum):
    """Whose symbols and colours the drawings use."""

    IEC = "IEC 60617, IEC 60445"
    NORTH_AMERICA = "ANSI/IEEE 315, NEC"


@dataclass(frozen=True, slots=True)
class Colours:
    """Colours of a mains circuit in letters, and what to say about them."""

    practice: Practice
    line: str
    neutral: str
    protective: str
    switched: str
    note: str


IEC = Colours(Practice.IEC, "BN", "BU", "GNYE", "BN",
              "Letters by IEC 60757: BN brown, BU blue, GNYE green and yellow (IEC 60445, from memory). "
              "National rules may ask for more: other colours of line, or marks at switched lines.")
NORTH_AMERICA = Colours(Practice.NORTH_AMERICA, "BK", "WH", "GN", "RD",
                        "BK black, WH white, GN green or bare, RD red for switched lines (NEC practice, from memory).")
# 0 V, then the signals in order; never the colours of a mains circuit's protective conductor (common practice, no source).
COMMON, SUPPLIED = "BK", "RD"
SIGNALS = ("WH", "YE", "GY", "PK", "VT", "OG", "TQ")


def colours_of(system: System, country: str) -> Colours:
    """Return the colours for a mains system in a country, by its two letters.

    Where the country is not known a system of 60 Hz may be of either practice: up to 150 V the North
    American one is taken, above it IEC letters, and the note says so.
    """
    may_be_american = country in NORTH_AMERICAN if country != UNKNOWN else system.frequency == 60.0
    if may_be_american and system.voltage <= NORTH_AMERICAN_MOST:
        return NORTH_AMERICA
    if may_be_american:
        return Colours(IEC.practice, IEC.line, IEC.neutral, IEC.protective, IEC.switched, IEC.note +
                       f" At {system} the second conductor may be live too (North America: BK and RD, no neutral): "
                       "then every relay and device must break both.")
    return IEC


def signal(place: int) -> str:
    """Return the colour of a signal core by its place in the cable, from 0; the row starts again after the last."""
    return SIGNALS[place % len(SIGNALS)]
