"""Designs of the examples, and what their blocks measure in the simulator: for the tests of the decks."""

from functools import cache

import pytest

from pattress.circuit.model import Circuit
from pattress.circuit.spice.deck import deck
from pattress.circuit.spice.models import Conditions
from pattress.circuit.spice.node_names import node_of
from pattress.circuit.spice.stimulus import VoltageSource, direct
from pattress.design import Design, design_of
from pattress.sizing.drive import LOGIC
from pattress.stock.parts import Parts, load_parts
from tests.design.seeded import EXAMPLES
from tests.design.seeded import design as seeded
from tests.simulator import simulate

PARTS = load_parts()
NAMES = ("sewing-room", "landing", "garden-workshop")
AGREED = 0.02                    # share by which a simulated value may differ from a sized one
COLD = 0.9                       # of a coil's resistance: both relays here have 10 % (RT1 sheet)
NEUTRALS = {"sewing-room": "N.lights", "garden-workshop": "N.machines"}
SEWING, WORKSHOP = "sewing-room", "garden-workshop"


@cache
def example(name: str) -> Design:
    return design_of(EXAMPLES / name / "job.toml")


@cache
def warned() -> Design:
    return seeded(('type = "rp2040-wifi"', 'type = "rp2040-wifi"\npower_fail = true'))


def printed(design: Design, finding: str) -> float:
    """Return the value that a finding prints."""
    return next(one for one in design.findings if one.id == finding).value.value


def read(design: Design, finding: str, name: str) -> float:
    """Return an input that a finding prints."""
    inputs = next(one for one in design.findings if one.id == finding).inputs
    return next(one for one in inputs if one.name == name).figure.value


def measured(design: Design, blocks: str | tuple[str, ...], *stimuli, parts: Parts = PARTS, circuit: Circuit | None = None, **conditions) -> dict[str, float]:
    """Return what a deck of these blocks measures."""
    return simulate(deck(circuit or design.circuit, (blocks,) if isinstance(blocks, str) else blocks, parts, stimuli, Conditions(**conditions)))


def ohms(design: Design, designator: str) -> float:
    """Return the value of a resistor of the circuit."""
    return design.circuit.by_designator[designator].figure.value


def v(net: str) -> str:
    return f"v({node_of(net)})"


def bonded(neutral: str) -> VoltageSource:
    """Return the neutral at 0 V, which gives the mains side its reference."""
    return VoltageSource("bond", neutral, direct(0.0))


def supplied(volts: float) -> VoltageSource:
    return VoltageSource("rail", "+5 V", direct(volts))


def logic() -> VoltageSource:
    return VoltageSource("logic", "+3.3 V", direct(LOGIC))


def agrees(sized: float):
    return pytest.approx(sized, rel=AGREED)
