"""Jobs with faults put in by hand: a text of an example with some of its words replaced."""

from pathlib import Path

from pattress.design import Design, build
from pattress.job import read
from pattress.stock.boards import load_boards
from pattress.stock.parts import load_parts

EXAMPLES = Path(__file__).parents[2] / "examples"
RELAY = ("[load.ironing]\n", '[load.ironing]\nrelay = "SRD-05VDC-SL-A"     # from a drawer\n')
# 16 A on 1.5 mm², bunched with two other circuits at 35 degC; a 10 A device would not carry the heater's 10.5 A.
CABLE = ('cable = { section = "2.5 mm2", length = "16 m", method = "B2" }',
         'cable = { section = "1.5 mm2", length = "16 m", method = "B2", grouped = 3 }   # in the old conduit')
# Four drivers of 18 A for 400 us beside what runs, on a device that surely bears 3 x 6 A.
CURVE = ('curve = "B", rating = "10 A"', 'curve = "B", rating = "6 A"')
SURGE = ('inrush = { peak = "8 A", duration = "500 us" }      # from', 'inrush = { peak = "18 A", duration = "400 us" }    # from')
NO_BREAKING = ('fault_current = "unknown"', 'fault_current = "9 kA"')
PINS = ('type = "rp2040-wifi"', 'type = "rp2040-wifi"\npins = { relay.pendant = 24, "switch.door" = 3 }   # soldered')

# The garden workshop, which has no fan and is quick to build.
LATE = ('curve = "C", rating = "20 A"', 'curve = "D", rating = "20 A"')
WEAK = ("[load.extractor]\n", '[load.extractor]\nrelay = "G5LE-1A DC5"\n')
THIN = ('cable = { section = "2.5 mm2", length = "80 ft", method = "C" }',
        'cable = { section = "1.5 mm2", length = "80 ft", method = "A1", grouped = 6 }')
HEAVY = tuple((f"[load.{key}]\n", f'[load.{key}]\nrelay = "T9AS1D12-5"\n') for key in ("extractor", "compressor", "battens", "vice"))
SMALL = ('width = "12 in", height = "10 in", depth = "4 in"', 'width = "5 in", height = "5 in", depth = "3 in"')


def text(*faults: tuple[str, str], example: str = "sewing-room") -> str:
    """Return the text of an example with faults put in."""
    words = (EXAMPLES / example / "job.toml").read_text("utf-8")
    for sound, faulty in faults:
        assert words.count(sound) == 1, sound
        words = words.replace(sound, faulty)
    return words


def design(*faults: tuple[str, str], example: str = "sewing-room") -> Design:
    """Return the design of an example with faults put in."""
    return design_of_text(text(*faults, example=example))


def design_of_text(words: str) -> Design:
    """Return the design of a job file's text."""
    return build(read(words, "job.toml")[0], load_parts(), load_boards())
