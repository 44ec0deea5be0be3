"""Lines that are sensed: what to test of the optocoupler between a switched line and its neutral."""

from collections.abc import Iterator, Sequence

from pattress.circuit.model import Kind
from pattress.design import Design
from pattress.handover.wiring import channels
from pattress.quantity import show
from pattress.sizing.feedback import SETTLE, low_most
from pattress.sizing.sensing import high_least


def sensed(design: Design, members: Sequence[str]) -> tuple[str, ...]:
    """Return those of some channels whose lines are sensed."""
    return tuple(key for key in members if channels(design)[key].feedback != "none")


def mark_of(design: Design, key: str) -> str:
    """Return the designator of a line's optocoupler."""
    return next(part.designator for part in design.circuit.of(Kind.OPTOCOUPLER) if any(pin.net == f"feedback.{key}" for pin in part.pins))


def bench_rows(design: Design) -> Iterator[tuple[str, str, str]]:
    """Yield the bench steps: nothing at mains, so every line is dead."""
    for key in sensed(design, tuple(channels(design))):
        yield (f"Feedback of {channels(design)[key].name}", f"voltmeter at its input, all relays open; then join both sides of the output of {mark_of(design, key)}",
               f"at least {show(high_least(design.board), 'V')}; joined at most {show(low_most(design.board), 'V')}")


def live_rows(design: Design) -> Iterator[tuple[str, str, str]]:
    """Yield the steps with the supply on."""
    for key in sensed(design, tuple(channels(design))):
        yield (f"Feedback of {channels(design)[key].name}", "on, then off by its switch; then its feed off at the protective device, and on by the switch",
               f"nothing is reported; then stuck open after {show(SETTLE, 's')}")
