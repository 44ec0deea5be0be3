"""What a deck is: every component once, on the nodes of its nets, accepted by the simulator; and what is refused, in exact words."""

from dataclasses import replace
from functools import cache
from math import pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pattress.circuit.model import Circuit, Kind
from pattress.circuit.spice.deck import DIRECT, deck
from pattress.circuit.spice.models import MODELS, Conditions
from pattress.circuit.spice.node_names import net_of, node_of
from pattress.circuit.spice.stimulus import Capacitance, Line, Resistance, Start, VoltageSource, direct, sine, steps
from pattress.design import Design, build
from pattress.finding import Figure
from pattress.sizing.mains import mains_of
from pattress.sizing.sensing import high_least
from pattress.stock.boards import load_boards
from pattress.stock.parts import Parts, StockError
from tests.simulator import run

from .random_homes import designs
from .simulated import NAMES, PARTS, SEWING, WORKSHOP, agrees, bonded, example, logic, measured, printed, v, warned

# Decks

def elements(text: str) -> list[str]:
    """Return the names of the elements at the top of a deck, in their order."""
    inside, found = False, []
    for line in text.splitlines():
        inside = line.startswith(".subckt") or inside and not line.startswith(".ends")
        if not inside and line[0] not in "*.":
            found.append(line.split()[0])
    return found


@cache
def variants() -> dict[str, tuple[Design, Parts]]:
    """Return designs that have every kind of component between them, each with its stock."""
    found = {name: (example(name), PARTS) for name in NAMES} | {"power fail": (warned(), PARTS)}
    for driver in ("BC337-40", "ULN2003A"):
        parts = Parts({part.designation: part for part in PARTS if part.kind != "driver" or part.designation == driver})
        found[driver] = build(example(WORKSHOP).job, parts, load_boards()), parts
    return found


VARIANTS = (*NAMES, "power fail", "BC337-40", "ULN2003A")


@pytest.mark.parametrize("name", VARIANTS)
def test_every_component_stands_in_the_deck_once(name):
    design, parts = variants()[name]
    for block in design.circuit.blocks:
        names = [found[1:].replace("_", ":") for found in elements(deck(design.circuit, [block.name], parts))]
        assert names == [component.designator for component in block.components]
    whole = elements(deck(design.circuit, [block.name for block in design.circuit.blocks], parts))
    assert len(whole) == len(set(whole)) == len(design.circuit.components)


@pytest.mark.parametrize("name", VARIANTS)
def test_every_block_is_accepted_by_the_simulator(name):
    design, parts = variants()[name]
    every = [block.name for block in design.circuit.blocks if block.components]
    for blocks in (*([name] for name in every), every):
        ran = run(deck(design.circuit, blocks, parts, [Line(".op")]))
        assert ran.returncode == 0 and not any(word in (ran.stdout + ran.stderr).lower() for word in ("error", "warning", "singular")), (blocks, ran.stdout, ran.stderr)


@pytest.mark.parametrize("number", range(6))
def test_a_random_home_is_accepted_with_every_component_once(number):
    design, = designs(1, f"decks {number}")
    blocks = [block.name for block in design.circuit.blocks]
    text = deck(design.circuit, blocks, PARTS, [Line(".op")])
    ran = run(text)
    assert sorted(elements(text)) == sorted(set(elements(text))) and len(elements(text)) == len(design.circuit.components)
    assert ran.returncode == 0 and not any(word in (ran.stdout + ran.stderr).lower() for word in ("error", "warning", "singular")), (ran.stdout, ran.stderr)


def test_every_kind_of_component_has_been_in_a_deck_or_has_a_model():
    there = {component.kind for design, _ in variants().values() for component in design.circuit.components}
    assert set(Kind) - there == {Kind.TEST_POINT} and set(MODELS) | set(DIRECT) == set(Kind)


def test_every_pin_lies_on_the_node_of_its_net():
    circuit = example(WORKSHOP).circuit
    lines = {line.split()[0][1:]: line.split() for line in deck(circuit, ["line sense compressor"], PARTS).splitlines() if line[0] not in "*."}
    for designator in ("R24", "C22", "D22", "U2"):
        pins = circuit.by_designator[designator].pins
        assert [net_of(node) for node in lines[designator][1:1 + len(pins)]] == [pin.net for pin in pins]


def test_the_deck_says_what_its_models_leave_out():
    text = deck(example(WORKSHOP).circuit, ["channel compressor"], PARTS)
    defined = [line.split()[1] for line in text.splitlines() if line.startswith(".subckt")]
    assert len(defined) == 3 and all(f"* {name} leaves out " in text for name in defined)
    assert "* relay_2 leaves out the time the armature takes, bounce, the arc" in text and "4 ms of inductance over resistance, from memory" in text


def changed(circuit: Circuit, designator: str, factor: float) -> Circuit:
    """Return the circuit with another value of one component."""
    def of(component):
        return replace(component, figure=Figure(component.figure.value * factor, component.figure.unit)) if component.designator == designator else component
    return replace(circuit, blocks=tuple(replace(block, components=tuple(of(one) for one in block.components)) for block in circuit.blocks))


def test_another_resistor_in_the_circuit_gives_another_simulated_value():
    design = example(SEWING)
    stimuli = logic(), Line(".tran 1m 10m"), Line(".meas tran amps find i(vs_logic) at=9m")
    as_built, other = (measured(design, "switch.bench", *stimuli, circuit=circuit, closed=frozenset({"S3"}))["amps"] for circuit in (design.circuit, changed(design.circuit, "R522", 2.0)))
    assert as_built == agrees(-printed(design, "wetting.switch_bench"))
    assert other == pytest.approx(as_built * 2300.0 / 4500.0, rel=0.001)


def test_a_capacitor_on_another_net_is_noticed():
    """What a value alone would not show: the hold capacitor of the line sense at the supply instead of the input."""
    design = example(WORKSHOP)
    def moved(component):
        return replace(component, pins=(replace(component.pins[0], net="+3.3 V"), component.pins[1])) if component.designator == "C22" else component
    circuit = replace(design.circuit, blocks=tuple(replace(block, components=tuple(moved(one) for one in block.components)) for block in design.circuit.blocks))
    mains = mains_of(design.job)
    found = measured(design, "line sense compressor", bonded("N.machines"), logic(), VoltageSource("line", "line.compressor", sine(rms=mains.voltage, frequency=mains.frequency)),
                     Line(".tran 50u 0.1 50m 50u"), Line(f".meas tran highest max {v('feedback.compressor')}"), circuit=circuit)
    assert found["highest"] > high_least(design.board)


# Names

@given(st.text(min_size=1, max_size=20))
def test_a_node_is_read_back_as_its_net(net):
    assert net_of(node_of(net)) == net


@given(st.text(min_size=1, max_size=8, alphabet="aAbB._ +-0:\u00e4"), st.text(min_size=1, max_size=8, alphabet="aAbB._ +-0:\u00e4"))
def test_two_nets_are_two_nodes_even_where_capitals_do_not_count(one, other):
    assert (node_of(one).lower() == node_of(other).lower()) == (one == other)


@pytest.mark.parametrize("net, node", [
    ("0 V", "0"), ("line.pendant", "net_line__pendant"), ("L fused", "net__cl_sfused"), ("+3.3 V", "net__p3__3_s_cv"), ("contact.door_right", "net_contact__door_uright"), ("gnd", "net_gnd")])
def test_how_nets_are_spelt(net, node):
    assert node_of(net) == node and net_of(node) == net


@pytest.mark.parametrize("node", ["", "line", "net_L", "net__", "net__q", "net_a-b", "net_0_s_cv"])
def test_a_node_that_no_net_is_spelt_as_is_refused(node):
    with pytest.raises(ValueError, match=f"^node must be one that a net was spelt as, found '{node}'$"):
        net_of(node)


# Errors

def refused(*stimuli, blocks=("switch.door",), **conditions) -> str:
    with pytest.raises(ValueError) as caught:
        deck(example(SEWING).circuit, blocks, PARTS, stimuli, Conditions(**conditions))
    return str(caught.value)


def test_an_unknown_block_is_refused_with_the_nearest():
    words = refused(blocks=["fan celing"])
    assert words.startswith("found block 'fan celing'\n  allowed: feed lights, ") and words.endswith("\n  nearest: fan ceiling")


@pytest.mark.parametrize("blocks, found", [([], "found no block"), ("switch.door", "found 'switch.door'")])
def test_no_block_and_a_bare_name_are_refused(blocks, found):
    assert refused(blocks=blocks) == f"{found}\n  allowed: a collection of names of blocks"


def test_an_unknown_net_of_a_stimulus_is_refused_with_the_nearest():
    assert refused(VoltageSource("x", "switch.dor", direct(1.0))).endswith("\n  nearest: switch.door")


@pytest.mark.parametrize("conditions, words", [
    (dict(closed=frozenset({"S2"})), "found contact to close 'S2'\n  allowed: S1\n  nearest: S1"),
    (dict(closed=frozenset({"R501"})), "found contact to close 'R501'\n  allowed: S1"),
    (dict(opened=frozenset({"S1"})), "found component to open 'S1'\n  allowed: none: there is nothing of the kind in these blocks"),
    (dict(scale={"S1": 2.0}), "found component to scale 'S1'\n  allowed: R501, R502"),
    (dict(scale={"R501": 0.0}), "scale of R501 must be above zero and finite, found 0.0"),
    (dict(coil_time=-1.0), "coil_time must be above zero and finite, found -1.0"),
])
def test_conditions_that_cannot_be_are_refused(conditions, words):
    assert refused(**conditions) == words


@pytest.mark.parametrize("stimulus, words", [
    (Resistance("leak", "switch.door", "0 V", 0.0), "leak must be above zero and finite, found 0.0"),
    (Capacitance("cable", "switch.door", "0 V", float("nan")), "cable must be above zero and finite, found nan"),
    (Resistance("The leak", "switch.door", "0 V", 1.0), "name of a stimulus must be small letters, digits and underscores, found 'The leak'"),
    (Start("switch.door", float("inf")), "start of switch.door must be finite, found inf"),
    (Start("0 V", 1.0), "start must be of another net than 0 V, which is always 0 V"),
    (Line("R1 a b 1"), "line must be one that begins with a dot, and not .end, found 'R1 a b 1'"),
    (Line(".end"), "line must be one that begins with a dot, and not .end, found '.end'"),
])
def test_a_stimulus_that_cannot_be_is_refused(stimulus, words):
    assert refused(stimulus) == words


def test_a_contact_that_is_held_both_ways_is_refused():
    assert refused(blocks=["channel pendant"], closed=frozenset({"K1"}), opened=frozenset({"K1"})) == "K1 must be closed or opened, found both"


def test_two_stimuli_of_one_name_are_refused():
    leak = Resistance("leak", "switch.door", "0 V", 1.0)
    assert refused(leak, leak) == "name of a stimulus must be given once, found 'leak' 2 times"


@pytest.mark.parametrize("make, words", [
    (lambda: direct(float("nan")), "level must be finite, found nan"),
    (lambda: sine(rms=230.0, frequency=0.0), "frequency must be above zero, found 0.0"),
    (lambda: steps((0.0, 1.0)), "points must be two or more with rising times, found ((0.0, 1.0),)"),
    (lambda: steps((1.0, 1.0), (0.0, 1.0)), "points must be two or more with rising times, found ((1.0, 1.0), (0.0, 1.0))"),
])
def test_a_wave_that_cannot_be_is_refused(make, words):
    with pytest.raises(ValueError) as caught:
        make()
    assert str(caught.value) == words


def test_a_crest_comes_at_once_where_the_phase_says_so():
    assert sine(rms=230.0, frequency=50.0, phase=pi / 2.0) == "sin(0 325.269119 50 0 0 90)"


def test_a_component_without_a_value_is_refused():
    circuit = example(SEWING).circuit
    bare = replace(circuit, blocks=tuple(replace(block, components=tuple(replace(one, figure=None) if one.designator == "R501" else one for one in block.components)) for block in circuit.blocks))
    with pytest.raises(ValueError, match=r"^R501 \(resistor\) must have a value above zero in ohm, found none$"):
        deck(bare, ["switch.door"], PARTS)
    with pytest.raises(ValueError, match=r"^R501 \(resistor\) must have a value above zero in ohm, found -100 ohm$"):
        deck(changed(circuit, "R501", -1.0), ["switch.door"], PARTS)


def test_a_part_that_is_not_in_stock_is_named():
    with pytest.raises(StockError, match="^no part 'AO3400A' in stock"):
        deck(example(SEWING).circuit, ["channel pendant"], Parts({part.designation: part for part in PARTS if part.kind != "driver"}))
