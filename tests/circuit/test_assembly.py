"""What is in a circuit: what sizing says is fitted, what the board's pins are asked for, under designators that stay."""

import json
from pathlib import Path

import pytest

from pattress.circuit.assembly import assemble
from pattress.circuit.model import Kind, Role
from pattress.cli.plain import plain
from pattress.design import build, design_of
from pattress.job import read
from pattress.pins.best import Assignment
from pattress.stock.boards import load_boards
from pattress.stock.parts import load_parts

from .random_homes import designs

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*/job.toml"))
HOMES = [*map(design_of, EXAMPLES), *designs(12, "assembly")]
NAMES = [*(path.parent.name for path in EXAMPLES), *(f"home {number}" for number in range(12))]


@pytest.fixture(params=HOMES, ids=NAMES)
def design(request):
    return request.param


def between(circuit, kind, one, two):
    """Return the values of the parts of a kind between two nets."""
    return [part.figure.value for part in circuit.of(kind) if {pin.net for pin in part.pins} == {one, two}]


def put_in(design, wanted, name):
    """Return the figure that a finding says was put in."""
    finding = next(finding for finding in design.findings if finding.id == wanted)
    return next(given.figure.value for given in finding.inputs if given.name == name)


def test_every_block_names_checks_that_there_are(design):
    ids = {finding.id for finding in design.findings}
    assert [answer for block in design.circuit.blocks for answer in block.answers if answer not in ids] == []
    for block in design.circuit.blocks:
        assert set(block.fixes) <= {component.designator for component in block.components}


def test_no_designator_and_no_net_is_there_twice(design):
    circuit = design.circuit
    assert len(circuit.by_designator) == len(circuit.components) and len(circuit.net_by_name) == len(circuit.nets)
    assert all(len({pin.number for pin in part.pins}) == len(part.pins) for part in circuit.components)


def test_what_sizing_says_is_fitted_is_what_is_there(design):
    circuit, neutral = design.circuit, f"N.{design.results['fitted'].feed}"
    assert sum(between(circuit, Kind.RESISTOR, "L fused", "bleed") + between(circuit, Kind.RESISTOR, "bleed", neutral)) == put_in(design, "discharge.controller", "bleeder")
    assert between(circuit, Kind.CAPACITOR, "L fused", neutral) == [put_in(design, "discharge.controller", "capacitance")]
    fitted = {finding.id: finding.value.value for finding in design.findings if finding.id in ("bulk.controller", "hold_up.controller")}
    bulk = between(circuit, Kind.CAPACITOR, "+5 V", "0 V")
    assert bulk == [fitted["bulk.controller"], *([fitted["hold_up.controller"]] if design.job.board.power_fail else [])]
    for section, outside in (("switch", "contact"), ("input", "contact.input")):
        for key in getattr(design.job, section):
            assert between(circuit, Kind.RESISTOR, f"{section}.{key}", "+3.3 V") == [put_in(design, f"sensing.{section}_{key}", "pull-up")]
            assert between(circuit, Kind.RESISTOR, f"{section}.{key}", f"{outside}.{key}") == [put_in(design, f"wetting.{section}_{key}", "series")]
    for key, thing in {**design.job.load, **design.job.fan}.items():
        if thing.feedback != "none":
            series = between(circuit, Kind.RESISTOR, f"line.{key}", f"drop.{key}") + between(circuit, Kind.RESISTOR, f"drop.{key}", f"led.{key}")
            assert sum(series) == put_in(design, f"feedback.{key}", "series resistors")
            assert between(circuit, Kind.CAPACITOR, f"feedback.{key}", "0 V") == [put_in(design, f"feedback_hold.{key}", "capacitor")]
    for sensor in design.job.sensor:
        assert between(circuit, Kind.RESISTOR, f"sensor.{sensor}", "+3.3 V") == [put_in(design, f"sensor_line.{sensor}", "pull-up")]


def test_a_switch_and_an_input_of_one_name_have_nothing_in_common():
    text = EXAMPLES[-1].read_text("utf-8")
    job = read(text + '\n[input.door]\nname = "Street door"\nkind = "door"\n\n[input.well]\nname = "Well"\nkind = "float"\n', "job.toml")[0]
    design = build(job, load_parts(), load_boards())
    blocks, switches = {block.name: block for block in design.circuit.blocks}, len(job.switch)
    nets = [{pin.net for part in blocks[name].components for pin in part.pins} - {"+3.3 V", "0 V"} for name in ("switch.door", "input.door")]
    assert nets == [{"switch.door", "contact.door"}, {"input.door", "contact.input.door"}]
    devices = [next(part for part in blocks[name].components if part.kind is Kind.CONTACT) for name in ("input.door", "input.well")]
    assert [(device.designator, device.part, device.name) for device in devices] == [
        (f"S{switches + 1}", "door contact", "Street door"), (f"S{switches + 2}", "float contact", "Well")]
    assert not any(finding.id.startswith("circuit_") and str(finding.verdict) != "holds" for finding in design.findings)


def test_the_pins_are_asked_for_what_the_blocks_need(design):
    circuit = design.circuit
    (board,) = circuit.of(Kind.BOARD)
    wires = {pin.net: pin for pin in board.pins if pin.role in (Role.INPUT, Role.OUTPUT)}
    assert list(wires) == [demand.name for demand in design.results["wires"]]
    for demand in design.results["wires"]:
        pulls = between(circuit, Kind.RESISTOR, demand.name, "+3.3 V")
        assert demand.need.drives is (wires[demand.name].role is Role.OUTPUT) and demand.need.pull_up is wires[demand.name].pulled
        assert pulls == ([] if demand.pull_up is None or demand.name == "infrared" else [demand.pull_up])       # a receiver has its own inside
    if isinstance(design.pins, Assignment):
        numbers = [pin.number for pin in wires.values()]
        assert len(set(numbers)) == len(numbers) and not any(number.startswith("?") for number in numbers)


def test_without_a_pin_for_every_wire_the_circuit_is_there_all_the_same(design):
    pinless = assemble(design.job, design.board, design.results["fitted"], {wire.name: None for wire in design.results["wires"]})
    assert [net.name for net in pinless.nets] == [net.name for net in design.circuit.nets] and set(pinless.by_designator) == set(design.circuit.by_designator)


def test_it_is_plain_data_and_the_same_each_time(design):
    again = build(design.job, design.results["parts"], design.results["boards"]).circuit
    assert again == design.circuit and json.dumps(plain(again.blocks)) == json.dumps(plain(design.circuit.blocks))


def test_designators_stay_when_a_channel_and_a_switch_are_added():
    text = EXAMPLES[-1].read_text("utf-8")
    before = build(read(text, "job.toml")[0], load_parts(), load_boards()).circuit
    more = ('\n[load.shelf]\nname = "Shelf light"\nkind = "LED driver"\npower = "9 W"\nfeed = "lights"\nrun = { section = "1.5 mm2", length = "3 m" }\n',
            '\n[switch.shelf]\nname = "At the shelf"\nkind = "latching"\ndoes = "toggle shelf"\n')
    bare = text.replace("[fan.ceiling]", more[0] + "\n[fan.ceiling]").replace("[regulator.wall]", more[1] + "\n[regulator.wall]")
    after = build(read(bare, "job.toml")[0], load_parts(), load_boards()).circuit
    blocks = {block.name: block for block in after.blocks}
    for block in before.blocks:
        if block.name.startswith(("channel", "switch", "mains inlet", "supply", "status")):
            assert [(part.designator, part.pins) for part in block.components] == [(part.designator, part.pins) for part in blocks[block.name].components], block.name
    assert {part.designator for part in blocks["channel shelf"].components} >= {"K6", "Q6", "R61", "R62", "D61"}       # and the fan's relays move on to K7
