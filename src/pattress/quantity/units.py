"""The units people write on a job, and how each is spelt.

One table for both readers: plain units ("2.2 uF") are looked up here without any import;
compound ones ("12.1 ohm/km") go to pint, whose registry `compound` fills from this table.

Source: BIPM, The International System of Units (SI Brochure), 9th edition, tables 2, 4, 7 and 8
(from memory). Foot, inch: international yard and pound agreement of 1959 (from memory).
"mfd", "qmm" and "U/min" are the trade's, on old capacitors, cables and nameplates (from memory).
The tests compare every spelling with pint's own default registry.
"""

from dataclasses import dataclass
from types import MappingProxyType


@dataclass(frozen=True, slots=True)
class Unit:
    """A way to write a quantity: `base` is the unit inside the program, which a value in this unit

    becomes when multiplied by ``factor * 10**exponent``.
    """

    base: str
    exponent: int = 0
    factor: float = 1.0


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of quantity: what people call it, an example of how to write it, and a small one for where that is too much."""

    name: str
    example: str
    small: str = ""


PREFIXES = MappingProxyType({"p": -12, "n": -9, "u": -6, "m": -3, "c": -2, "k": 3, "M": 6, "G": 9})

# Base unit inside the program: kind, spellings, prefixes in use with it.
_PLAIN = (
    ("V", Kind("a voltage", "230 V"), "V volt volts", "u m k"),
    ("A", Kind("a current", "6 A", "30 mA"), "A amp amps ampere amperes", "n u m k"),
    ("W", Kind("a power", "75 W"), "W watt watts", "m k M"),
    ("VA", Kind("an apparent power", "90 VA"), "VA", "k"),
    ("ohm", Kind("a resistance", "4.7 kohm", "0.35 ohm"), "ohm ohms", "u m k M"),
    ("F", Kind("a capacitance", "2.2 uF"), "F farad farads", "p n u m"),
    ("H", Kind("an inductance", "1.2 H"), "H henry", "n u m"),
    ("m", Kind("a length", "3 m", "200 mm"), "m metre metres meter meters", "u m c k"),
    ("s", Kind("a time", "3 min", "250 us"), "s sec second seconds", "n u m"),
    ("Hz", Kind("a frequency", "50 Hz"), "Hz hertz", "k M"),
    ("J", Kind("an energy", "2 J"), "J joule joules", "m k"),
    ("N", Kind("a force", "5 N"), "N newton newtons", "m k"),
    ("K", Kind("a temperature difference", "40 K"), "K kelvin", ""),
    ("degC", Kind("a temperature", "30 degC"), "degC celsius", ""),
    ("rpm", Kind("a speed of rotation", "350 rpm"), "rpm r/min 1/min U/min min-1", ""),
)
_OTHERS = {
    "m2": Unit("m2"), "cm2": Unit("m2", -4), "mm2": Unit("m2", -6), "sqmm": Unit("m2", -6), "qmm": Unit("m2", -6),
    "ft": Unit("m", 0, 0.3048), "foot": Unit("m", 0, 0.3048), "feet": Unit("m", 0, 0.3048),
    "in": Unit("m", 0, 0.0254), "inch": Unit("m", 0, 0.0254), "inches": Unit("m", 0, 0.0254),
    "min": Unit("s", 0, 60.0), "minute": Unit("s", 0, 60.0), "minutes": Unit("s", 0, 60.0),
    "h": Unit("s", 0, 3600.0), "hour": Unit("s", 0, 3600.0), "hours": Unit("s", 0, 3600.0),
    "day": Unit("s", 0, 86400.0), "days": Unit("s", 0, 86400.0),
    "mfd": Unit("F", -6),        # microfarad, as motor capacitors of the American trade are marked
    "g": Unit("kg", -3), "kg": Unit("kg"),
    "%": Unit("", -2), "percent": Unit("", -2),
    # Compound units that the shipped parts use: here, so that pint is not imported for them.
    "ohm/m": Unit("ohm/m"), "mohm/m": Unit("ohm/m", -3), "ohm/km": Unit("ohm/m", -3), "K/W": Unit("K/W"),
    "A2 s": Unit("A2 s"), "A2s": Unit("A2 s"),
}


def _spellings() -> dict[str, Unit]:
    found = dict(_OTHERS)
    for base, _, names, prefixes in _PLAIN:
        symbol = names.split()[0]
        found |= {name: Unit(base) for name in names.split()}
        found |= {prefix + symbol: Unit(base, PREFIXES[prefix]) for prefix in prefixes.split()}
    return found


SPELLINGS = MappingProxyType(_spellings())
WORDS = MappingProxyType({base: tuple(names.split()) for base, _, names, _ in _PLAIN})      # without prefix, the symbol first
KINDS = MappingProxyType(
    {base: kind for base, kind, _, _ in _PLAIN}
    | {
        "m2": Kind("an area", "1.5 mm2"),
        "kg": Kind("a mass", "2 kg"),
        "ohm/m": Kind("a resistance of a length", "12.1 ohm/km"),
        "K/W": Kind("a thermal resistance", "90 K/W"),
        "A2 s": Kind("a let-through energy", "1200 A2 s"),
        "": Kind("a share", "10 %"),
    }
)


def kind_of(unit: str) -> Kind:
    """Return the kind of quantity a unit measures; for a compound unit a plain description."""
    base = SPELLINGS[unit].base if unit in SPELLINGS else unit
    return KINDS.get(base) or Kind(f"a quantity in {unit}", f"1 {unit}")
