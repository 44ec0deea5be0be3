"""The rules of a circuit: forty faults put into real ones are each found by the rule that is named; random homes have none."""

from pathlib import Path

import pytest

from pattress.circuit.blocks.outside import BEFORE
from pattress.circuit.model import Component, Kind, Net, NetKind, Pin, Role
from pattress.circuit.parts import EARTH, FIVE, GROUND, THREE, capacitor, resistor
from pattress.circuit.rules import RULES, Facts, faults
from pattress.design import build, design_of
from pattress.finding import Verdict
from pattress.job import read
from pattress.stock.boards import load_boards
from pattress.stock.parts import load_parts

from .random_homes import designs, home
from .seeding import altered, moved, renetted, turned, with_part, without

EXAMPLES = Path(__file__).parents[2] / "examples"
PLASTIC, METAL = Facts(input_most=3.6, metal=False), Facts(input_most=3.6, metal=True)


@pytest.fixture(scope="module")
def room():
    """Return the circuit of the sewing room with a sensed line, a sensed fan and a warning of power failure."""
    text = (EXAMPLES / "sewing-room" / "job.toml").read_text("utf-8")
    for key in ("load.pendant", "fan.ceiling"):
        text = text.replace(f"[{key}]\n", f'[{key}]\nfeedback = "mains"\n', 1)
    text = text.replace('type = "rp2040-wifi"', 'type = "rp2040-wifi"\npower_fail = true', 1)
    return build(read(text, "job.toml")[0], load_parts(), load_boards()).circuit


def test_the_circuit_without_a_fault_keeps_all_rules(room):
    assert faults(room, PLASTIC) == {}


FAULTS = {
    "a wire that ends nowhere": ("ends", lambda c: without(c, "P1")),
    "a pin on a net that is none": ("ends", lambda c: altered(c, "R12", pins=(Pin("1", "gate.pendant"), Pin("2", "nowhere")))),
    "a net on which nothing lies": ("ends", lambda c: with_part(c, resistor("R9", 1.0, FIVE, GROUND), Net("alone", NetKind.SIGNAL, 3.3, 0.0))),
    "two outputs on one wire": ("drivers", lambda c: moved(c, "A1", "2", "relay.pendant")),
    "two supplies on one rail": ("drivers", lambda c: with_part(c, Component(designator="T2", kind=Kind.SUPPLY, pins=(Pin("+V", FIVE, Role.SOURCE), Pin("L", "L fused", side=1))))),
    "the 3.3 V of the board on the 5 V rail": ("drivers", lambda c: moved(c, "A1", "3V3", FIVE)),
    "a transistor that pulls the rail down": ("drivers", lambda c: moved(c, "Q1", "3", FIVE)),
    "drain and source swapped": ("drivers", lambda c: turned(c, "Q1", "2", "3")),
    "gate and drain swapped": ("drivers", lambda c: turned(c, "Q1", "1", "3")),
    "a gate that nothing drives": ("drivers", lambda c: without(c, "R11")),
    "a contact that pulls to nothing": ("drivers", lambda c: moved(c, "S1", "2", THREE)),
    "an optocoupler's emitter in the air": ("drivers", lambda c: moved(c, "U1", "3", "feedback.pendant")),
    "a missing pull-down": ("held", lambda c: without(c, "R22")),
    "a pull-down to the wrong rail": ("held", lambda c: moved(c, "R32", "2", FIVE)),
    "a missing pull-up of a switch": ("held", lambda c: without(c, "R502")),
    "a missing pull-up of a regulator": ("held", lambda c: without(c, "R572")),
    "a missing pull-up of a sensed line": ("held", lambda c: without(c, "R16")),
    "a board that is not fed": ("supplied", lambda c: moved(c, "A1", "5V", "status")),
    "a receiver without its filter capacitor": ("supplied", lambda c: without(c, "C591")),
    "a sensor without its capacitor": ("supplied", lambda c: without(c, "C601")),
    "no bulk capacitor at the board": ("supplied", lambda c: without(c, "C2", "C3")),
    "a receiver whose filter is open": ("supplied", lambda c: without(c, "R591")),
    "a coil on a signal": ("supplied", lambda c: moved(c, "K2", "A1", "status")),
    "a board without ground": ("supplied", lambda c: moved(c, "A1", "GND", FIVE)),
    "a resistor from mains to a pin": ("separation", lambda c: with_part(c, resistor("R9", 1e6, "line.pendant", "switch.door"))),
    "coil and contact swapped": ("separation", lambda c: turned(c, "K3", "A2", "14")),
    "a capacitor over the barrier": ("separation", lambda c: with_part(c, capacitor("C9", 1e-9, "N.lights", GROUND))),
    "ground tied to earth": ("separation", lambda c: with_part(c, resistor("R9", 1.0, GROUND, EARTH))),
    "neutral tied to earth": ("separation", lambda c: with_part(c, resistor("R9", 1.0, "N.lights", EARTH))),
    "an optocoupler of basic insulation": ("separation", lambda c: altered(c, "U1", insulation="basic")),
    "an optocoupler whose insulation nobody knows": ("separation", lambda c: altered(c, "U1", insulation="unknown")),
    "a borrowed neutral": ("neutrals", lambda c: moved(c, "E1", "N", "N.sockets")),
    "a sense of one feed against the neutral of another": ("neutrals", lambda c: moved(c, "U1", "2", "N.sockets")),
    "neutrals of two feeds joined": ("neutrals", lambda c: with_part(c, resistor("R9", 1.0, "N.lights", "N.sockets"))),
    "a load between two lines": ("neutrals", lambda c: moved(c, "E1", "N", "L.lights")),
    "a relay that takes another feed's line": ("neutrals", lambda c: moved(c, "K1", "11", "L.sockets")),
    "a protective device bridged": ("protected", lambda c: with_part(c, resistor("R9", 1.0, BEFORE, "L.lights"))),
    "a protective device left out": ("protected", lambda c: without(c, "F2")),
    "the fuse of the supply bridged": ("protected", lambda c: moved(c, "T1", "L", "L.lights")),
    "a lamp that no contact switches": ("switched", lambda c: moved(c, "E2", "L", "L.lights")),
    "a contact wired to nothing": ("switched", lambda c: moved(c, "K4", "14", "L.sockets")),
    "a coil without a driver": ("switched", lambda c: without(c, "Q5")),
    "a lamp without a protective conductor": ("earthed", lambda c: moved(c, "E3", "PE", "N.lights")),
    "a neutral on the protective conductor": ("earthed", lambda c: moved(c, "E3", "N", EARTH)),
    "5 V on an input": ("levels", lambda c: moved(c, "R502", "1", FIVE)),
    "a receiver of 5 V": ("levels", lambda c: renetted(c, "supply.infrared", voltage=5.0)),
    "a reversed coil diode": ("polarity", lambda c: turned(c, "D11", "A", "K")),
    "a reversed status lamp": ("polarity", lambda c: turned(c, "P1", "A", "K")),
    "a reversed bulk capacitor": ("polarity", lambda c: turned(c, "C2", "1", "2")),
    "a sense diode the wrong way round": ("polarity", lambda c: turned(c, "D12", "A", "K")),
    "a missing coil diode": ("quenched", lambda c: without(c, "D61")),
    "a capacitor of the fan without its bleed": ("quenched", lambda c: without(c, "R64")),
}


@pytest.mark.parametrize("name", FAULTS)
def test_a_fault_is_found_by_its_rule(room, name):
    rule, seeded = FAULTS[name]
    found = faults(seeded(room), PLASTIC)
    assert rule in found, found
    assert all(words and words[0] == words[0].strip() for words in found[rule])


def test_a_metal_box_that_is_bonded_nowhere_is_found(room):
    assert faults(room, METAL) == {"earthed": ("the box may be metal and is bonded nowhere",)}


def test_a_metal_box_has_a_stud(tmp_path):
    bonded = build(read(home("metal", material="painted steel"), "home.toml")[0], load_parts(), load_boards())
    assert [stud.designator for stud in bonded.circuit.of(Kind.STUD)] == ["X9"] and faults(bonded.circuit, METAL) == {}
    assert "earthed" in faults(without(bonded.circuit, "X9"), METAL)


def test_every_rule_is_seen_to_fail():
    assert {rule for rule, _ in FAULTS.values()} == {rule.name for rule in RULES} and len(FAULTS) >= 40


def _no_fault(count: int) -> None:
    found = {number: [(one.id, one.detail) for one in design.findings if one.id.startswith("circuit_") and one.verdict is not Verdict.HOLDS]
             for number, design in enumerate(designs(count))}
    assert {number: told for number, told in found.items() if told} == {}


def test_random_homes_have_no_fault():
    _no_fault(30)


@pytest.mark.soak
def test_three_hundred_random_homes_have_no_fault():
    _no_fault(300)


def test_the_findings_say_what_is_wrong_and_what_was_looked_at():
    found = {one.id: one for one in design_of(EXAMPLES / "sewing-room" / "job.toml").findings if one.id.startswith("circuit_")}
    assert set(found) == {f"circuit_{rule.name}.controller" for rule in RULES} and {one.verdict for one in found.values()} == {Verdict.HOLDS}
    assert found["circuit_levels.controller"].inputs[-1].name == "input most"
