"""Line sense: two resistors and an optocoupler between a switched line and its neutral, and what holds the board's input."""

from pattress.circuit.designators import Numbers
from pattress.circuit.fitted import Sensing
from pattress.circuit.model import Block, Component, Kind, Net, NetKind, Role
from pattress.circuit.parts import GROUND, THREE, capacitor, diode, pin_numbers, resistor, sided


def line_sense(given: Sensing, key: str, numbers: Numbers, *, line: Net, neutral: str, logic: float) -> Block:
    """Return what tells whether a switched line is live; the wire `feedback.KEY` is pulled to 0 V while it is."""
    marks, wire, drop, led = pin_numbers()["optocoupler"], f"feedback.{key}", f"drop.{key}", f"led.{key}"
    current = line.voltage / (2.0 * given.series)
    parts = (
        resistor(numbers.next(Kind.RESISTOR), given.series, line.name, drop, given.series_rating, "line sense"),
        resistor(numbers.next(Kind.RESISTOR), given.series, drop, led, given.series_rating, "line sense"),
        resistor(numbers.next(Kind.RESISTOR), given.bleed, led, neutral, name="line sense"),
        diode(numbers.next(Kind.DIODE), given.diode.designation, anode=neutral, cathode=led, name="line sense"),
        Component(designator=numbers.only(Kind.OPTOCOUPLER), kind=Kind.OPTOCOUPLER, part=given.optocoupler.designation,
                  insulation=given.optocoupler.word("insulation"), pins=(
                      sided(marks["anode"], led, 1), sided(marks["cathode"], neutral, 1),
                      sided(marks["collector"], wire, 0, Role.SINK), sided(marks["emitter"], GROUND, 0, Role.FED))),
        resistor(numbers.next(Kind.RESISTOR), given.pull_up, THREE, wire, name="pull-up"),
        capacitor(numbers.next(Kind.CAPACITOR), given.capacitor, wire, GROUND, "6.3 V or more, 20 %", name="holds from crest to crest"),
    )
    return Block(f"line sense {key}", parts, (
        Net(wire, NetKind.SIGNAL, logic, logic / given.pull_up),
        *(Net(name, NetKind.SWITCHED, line.voltage, current, line.feed) for name in (drop, led))),
        (f"feedback.{key}", f"feedback_hold.{key}", f"feedback_dead.{key}", f"feedback_leak.{key}", f"feedback_heat.{key}"))
