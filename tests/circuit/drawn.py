"""Circuits that the tests of the schematics draw, each drawn once."""

import random
from functools import cache
from pathlib import Path

from pattress.circuit.schematic import Practice, sheets
from pattress.design import design_of

from .random_jobs import circuit_of

EXAMPLES = Path(__file__).parents[2] / "examples"
NAMES = ("sewing-room", "landing", "garden-workshop")
VARIANTS = ("feedback", "120 V")


@cache
def design(name):
    """Return the design of an example."""
    return design_of(EXAMPLES / name / "job.toml")


def stock():
    """Return parts and boards."""
    return design("sewing-room").results["parts"], design("sewing-room").results["boards"]


@cache
def circuit(name):
    """Return the circuit of an example or of a variant of the sewing room."""
    if name in NAMES:
        return design(name).circuit
    text = (EXAMPLES / "sewing-room" / "job.toml").read_text("utf-8")
    for table in ("[load.pendant]", "[fan.ceiling]"):
        text = text.replace(f"{table}\n", f'{table}\nfeedback = "mains"\n')
    text = text.replace("[board]\n", "[board]\npower_fail = true\n")
    if name == "120 V":
        text = text.replace("230 V 50 Hz", "120 V 60 Hz")
    return circuit_of(text, *stock(), random.Random(1))


@cache
def drawn(name):
    """Return the sheets of a circuit as SVG, in the symbols of its place."""
    practice = Practice.NORTH_AMERICAN if name == "120 V" else Practice.IEC
    return tuple(sheet.svg() for sheet in sheets(circuit(name), title=name.capitalize(), practice=practice))
