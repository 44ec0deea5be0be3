"""The pull-up fitted at an input is one figure wherever it is told: questions, pins, parts list, drawings."""

from pathlib import Path

import pytest

from pattress.design import design_of
from pattress.handover.parts import parts_list
from pattress.handover.wiring import wiring_of
from pattress.pins.assign import assign
from pattress.pins.demands import CONTACT, RELAY, Demand
from pattress.quantity import show
from pattress.sizing import feedback, sensor
from pattress.stock.boards import load_boards

EXAMPLES = Path(__file__).parents[2] / "examples"


@pytest.fixture(scope="module", params=["sewing-room", "garden-workshop"])
def design(request):
    return design_of(EXAMPLES / request.param / "job.toml")


def test_every_input_is_held_up_by_the_resistor_that_its_question_is_answered_with(design):
    asked = {finding.subject.removesuffix(".cable"): put_in.figure.value for finding in design.findings if finding.id.startswith("sensing.")
             for put_in in finding.inputs if put_in.name == "pull-up"}
    held = {wire.name: wire.pull_up for wire in design.results["wires"]}
    assert asked
    for thing, ohm in asked.items():
        wires = [name for name in held if name == thing or name.startswith(f"{thing}.")]
        assert wires and {held[name] for name in wires} == {ohm}
    assert {ohm for name, ohm in held.items() if name.startswith("feedback.")} <= {feedback.PULL_UP}
    assert {ohm for name, ohm in held.items() if name.startswith("sensor.")} <= {sensor.PULL_UP}
    assert all(wire.pull_up is None for wire in design.results["wires"] if wire.need is RELAY)


def test_the_reason_at_a_pin_and_the_parts_list_give_the_same_value(design):
    bought = {line.part for line in parts_list(design, wiring_of(design)) if "pull-up" in line.what.split(", ")}
    for placed in design.pins.pins:
        if placed.demand.name.startswith(("switch.", "regulator.")):
            value = show(placed.demand.pull_up, "ohm")
            assert f"is held up by {value} to 3.3 V" in placed.reason and f"resistor {value}" in bought
    assert not any("4.7 kohm" in placed.reason for placed in design.pins.pins)


def test_contacts_take_the_input_only_pins_and_leave_the_others_to_the_relays():
    board = load_boards()["esp32-38"]
    wanted = [*(Demand(f"relay.{n}", RELAY, "relays") for n in range(13)), *(Demand(f"switch.{n}", CONTACT, "switches", 2.2e3) for n in range(4))]
    pins = {placed.demand.name: placed.pin for placed in assign(wanted, board).pins}
    assert {pin.gpio for name, pin in pins.items() if name.startswith("switch")} == {34, 35, 36, 39}
    assert all(pin.strap is None for name, pin in pins.items() if name.startswith("relay"))
