"""The mains system as people write it: "230 V 50 Hz"."""

import re
from dataclasses import dataclass

from pattress.quantity import QuantityError, parse, show
from pattress.refusal import Refusal, as_found

LOWEST, HIGHEST = 90.0, 260.0      # V between the two conductors of a circuit in a home
FREQUENCIES = (50.0, 60.0)
SYSTEMS = 'voltage and frequency such as "230 V 50 Hz" or "120 V 60 Hz"; 90 V to 260 V, 50 or 60 Hz'

_PARTS = re.compile(r"(.*?V)(?:\s*AC)?(?:\s*[,/~]\s*|\s*)([0-9].*)", re.DOTALL)


@dataclass(frozen=True, slots=True)
class System:
    """A single-phase supply: nominal voltage, r.m.s. [V], and frequency [Hz]."""

    voltage: float
    frequency: float

    def __str__(self) -> str:
        return f"{show(self.voltage, 'V')} {show(self.frequency, 'Hz')}"


def parse_system(found: object) -> System:
    """Read a mains system.

    Raises
    ------
    Refusal
        It is no voltage with a frequency, or one that this workbench does not reckon with.
    """
    parts = _PARTS.fullmatch(found.strip()) if isinstance(found, str) and len(found) <= 60 else None
    if parts is None:
        raise Refusal(as_found(found), SYSTEMS)
    try:
        voltage, frequency = parse(parts[1], "V", least=LOWEST, most=HIGHEST), parse(parts[2], "Hz")
    except QuantityError:
        raise Refusal(as_found(found), SYSTEMS) from None
    if frequency not in FREQUENCIES:
        raise Refusal(as_found(found), SYSTEMS)
    return System(voltage, frequency)
