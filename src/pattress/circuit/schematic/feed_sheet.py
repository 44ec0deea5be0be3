"""The sheet of the feeds: protective devices in the distribution board, where line, neutral and protective conductor come in, and the bond of the box."""

from collections.abc import Sequence
from dataclasses import dataclass

from pattress.circuit.model import Circuit, Component, Kind
from pattress.circuit.parts import EARTH
from pattress.circuit.schematic.canvas import LINE, Canvas, wrapped

FIRST, PITCH, MOST = 12, 11, 5
BUS, DEVICE, TERMINAL, OUT = 24, 32, 66, 72
STUD = 100


@dataclass(frozen=True, slots=True)
class FeedIn:
    """A feed as it comes in: its device and its terminals for line, neutral and protective conductor."""

    device: Component
    neutral: str
    terminals: tuple[Component | None, ...]


def feeds_in(circuit: Circuit) -> list[FeedIn]:
    """Return the feeds in their order."""
    terminals = [one for one in circuit.of(Kind.TERMINAL) if one.designator.startswith("X1:")]
    found = []
    for place, device in enumerate(circuit.of(Kind.PROTECTIVE_DEVICE)):
        own = terminals[3 * place:3 * place + 3]
        neutral = own[1].pins[0].net if len(own) > 1 else ""
        found.append(FeedIn(device, neutral, tuple(own)))
    return found


def feed_sheet(canvas: Canvas, feeds: Sequence[FeedIn], stud: Component | None) -> None:
    """Draw one sheet of feeds, five at most, and the stud where it is given."""
    canvas.say(DEVICE - 2, 5.8, "DISTRIBUTION BOARD", bold=True)
    canvas.say(TERMINAL - 2, 5.8, "TERMINALS OF THE BOX", bold=True)
    rows = [FIRST + PITCH * place for place in range(len(feeds))]
    if feeds:
        _bus(canvas, feeds[0].device.pins[0].net, rows)
    for feed, y in zip(feeds, rows):
        _feed(canvas, feed, y)
    if stud:
        canvas.terminal(stud, STUD, FIRST, *wrapped(stud.name, 12.0, 2), *wrapped(stud.rating, 12.0, 3), right=True)
        canvas.wire((STUD, FIRST), (STUD - 3, FIRST), mains=True)
        canvas.rail(STUD - 3, FIRST, EARTH, left=True)


def _bus(canvas: Canvas, net: str, rows: Sequence[int]) -> None:
    canvas.wire((BUS, rows[0]), (BUS, rows[-1] + (4 if net in canvas.after else 0)), mains=True)
    canvas.wire((BUS - 2, rows[0]), (BUS, rows[0]), mains=True)
    canvas.flag(BUS - 2, rows[0], net, left=True, onward=False, words="" if net in canvas.before else "in")
    if net in canvas.after:
        canvas.flag(BUS, rows[-1] + 4, net, left=True)


def _feed(canvas: Canvas, feed: FeedIn, y: int) -> None:
    line = feed.device.pins[1].net
    canvas.wire((BUS, y), (DEVICE, y), mains=True)
    canvas.two(feed.device, DEVICE, y, value="")
    texts = [*wrapped(feed.device.value, 22.0, 3), *wrapped(feed.device.name, 22.0, 1)]
    for row, words in enumerate(texts):
        canvas.say(DEVICE + 2.5, y + 2.6 + LINE * row, words, anchor="middle")
    canvas.wire((DEVICE + 5, y), (TERMINAL, y), mains=True)
    if line not in canvas.after:
        canvas.net(line, DEVICE + 8, y, shift=0.3)
    canvas.wire((TERMINAL - 3, y + 4), (TERMINAL, y + 4), mains=True)
    canvas.flag(TERMINAL - 3, y + 4, feed.neutral, left=True, words="in")
    for place, (terminal, net) in enumerate(zip(feed.terminals, (line, feed.neutral, EARTH))):
        height = y + 4 * place
        if terminal is None:
            continue
        canvas.terminal(terminal, TERMINAL, height)
        if net == EARTH:
            canvas.wire((TERMINAL, height), (OUT - 3, height), mains=True)
            canvas.rail(OUT - 3, height, EARTH)
        elif net in canvas.after:
            canvas.wire((TERMINAL, height), (OUT, height), mains=True)
            canvas.flag(OUT, height, net)
