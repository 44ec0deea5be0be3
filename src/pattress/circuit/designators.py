"""How a component is called: a letter for its kind, then the group it belongs to, then its number in the group.

Letters follow IEC 81346-2 (from memory), with two departures, since who solders would fit the wrong part: D for diodes
and U for optocouplers. Group 0 is what all share, groups 1 to 49 belong to the relay of that number, those from 50 on to
the inputs: so a number stays when a channel is added behind the others. One of a kind in a group carries the group's number alone.
"""

from collections import Counter
from dataclasses import dataclass, field

from pattress.circuit.model import Kind

LETTERS = {
    Kind.BOARD: "A", Kind.SENSOR: "B", Kind.RECEIVER: "B", Kind.CAPACITOR: "C", Kind.DIODE: "D", Kind.LOAD: "E", Kind.FUSE: "F",
    Kind.VARISTOR: "F", Kind.PROTECTIVE_DEVICE: "F", Kind.RELAY: "K", Kind.FAN: "M", Kind.LAMP: "P", Kind.TRANSISTOR: "Q",
    Kind.DRIVER_ARRAY: "Q", Kind.RESISTOR: "R", Kind.SWITCH: "S", Kind.CONTACT: "S", Kind.REGULATOR: "S", Kind.SUPPLY: "T", Kind.OPTOCOUPLER: "U",
    Kind.TERMINAL: "X", Kind.STUD: "X", Kind.TEST_POINT: "TP",
}
SCHEME = "Letters: IEC 81346-2; D (diode) and U (optocoupler) depart from it. Group first: 0 common, 1 to 49 the relay, from 50 on the input."
INPUTS = 50                  # the first group of the inputs
FUSES = 100                  # F101 on: those in the box; F1 on are in the distribution board


@dataclass
class Numbers:
    """Counts the components of one group."""

    group: int
    _counts: Counter[str] = field(default_factory=Counter)

    def next(self, kind: Kind) -> str:
        """Return the designator of the next component of a kind: "R61", the first resistor of relay 6; "R2" in group 0."""
        letter = LETTERS[kind]
        self._counts[letter] += 1
        count = self._counts[letter]
        if count > 9 and 0 < self.group < INPUTS:            # R5010 is the tenth of group 50: no home has 451 inputs
            raise ValueError(f"group {self.group} has more than nine {letter}")
        return f"{letter}{self.group or ''}{count}"

    def only(self, kind: Kind) -> str:
        """Return the designator of the one component of a kind in this group: "K6"."""
        return f"{LETTERS[kind]}{self.group}"
