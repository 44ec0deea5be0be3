"""What stands on which sheet, and how a net leaves one for the next: feeds, supply, channels feed by feed, inputs."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain

from pattress.circuit.model import Circuit, Component, Kind
from pattress.circuit.parts import EARTH
from pattress.circuit.schematic import feed_sheet, frame, input_sheet, relay_rows
from pattress.circuit.schematic.canvas import Canvas, Flag, U, sheet_ground
from pattress.circuit.schematic.captions import captions
from pattress.circuit.schematic.channels import Channel, Row, channels_of
from pattress.circuit.schematic.frame import BLOCK, Identity
from pattress.circuit.schematic.supply_sheet import supply
from pattress.circuit.schematic.symbols import Practice
from pattress.circuit.test_points import marks_of
from pattress.drawing import Medium
from pattress.drawing.box import Box
from pattress.drawing.lettering import MONO
from pattress.drawing.picture import Picture

Draw = Callable[[Canvas], None]


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet of the schematics: its name, its number of so many, what is drawn on it, and where each part stands by designator: "3/B5"."""

    title: str
    number: int
    of: int
    picture: Picture
    places: Mapping[str, tuple[str, ...]]

    def svg(self) -> str:
        """Return it as SVG for A4 laid level: one unit is 1 mm."""
        return self.picture.svg(Medium.PAPER, width=f"{frame.WIDTH:g}mm")


@dataclass(frozen=True, slots=True)
class Planned:
    """A sheet before it is drawn: its name, the mains nets that it holds, and what draws it."""

    title: str
    nets: tuple[str, ...]
    draw: Draw


@dataclass(frozen=True, slots=True)
class Piece:
    """What of a channel stands on one sheet: rows of relays and, after them, its line sense; `starts` with its load."""

    channel: Channel
    rows: tuple[Row, ...]
    has_sense: bool
    starts: bool
    terminals: tuple[Component | None, ...]

    @property
    def places(self) -> int:
        """Return how many rows it takes; a line sense alone leaves the one above it free."""
        return max(len(self.rows), 1) + self.has_sense


def sheets(circuit: Circuit, *, title: str, practice: Practice, identity: Identity = Identity()) -> tuple[Sheet, ...]:
    """Return the schematics of a circuit; `title` is that of the job.

    Parameters
    ----------
    practice : Practice
        Whose symbols are drawn, on all sheets the same.
    identity : Identity
        What the title block says of this issue.
    """
    planned, names, points = tuple(_planned(circuit)), captions(circuit), marks_of(circuit)
    canvases = []
    for number, one in enumerate(planned, 1):
        before = {net for other in planned[:number - 1] for net in other.nets} & {*one.nets}
        after = {net for other in planned[number:] for net in other.nets} & {*one.nets}
        canvas = Canvas(number, practice, names, points, before, after)
        one.draw(canvas)
        canvases.append(canvas)
    found = []
    for canvas, one in zip(canvases, planned, strict=True):
        pieces = (sheet_ground(), *frame.framed(title, one.title, canvas.number, len(planned), identity, practice), *canvas.pieces(_partners(canvas, canvases)))
        name = f"{title}: circuit diagram {canvas.number} of {len(planned)}, {one.title}"
        places: dict[str, dict[str, None]] = {}
        for designator, (x, y) in canvas.parts:
            places.setdefault(designator, {})[f"{canvas.number}/{frame.zone(x, y)}"] = None
        alt = f"{one.title}. Parts: {', '.join(places)}."
        found.append(Sheet(one.title, canvas.number, len(planned), Picture(name, alt, Box(0, 0, frame.WIDTH, frame.HEIGHT), pieces, lettering=MONO, size=frame.SIZE),
                           {designator: tuple(zones) for designator, zones in places.items()}))
    return tuple(found)


def _partners(canvas: Canvas, canvases: Sequence[Canvas]) -> Mapping[Flag, str]:
    """Return the place of each flag's partner: the next sheet that holds its net, or the one before."""
    found = {}
    for flag in canvas.flags:
        others = [other for other in canvases if (other.number > canvas.number) == flag.onward and other.number != canvas.number]
        places = [f"{other.number}/{frame.zone(back.x, back.y)}" for other in (others if flag.onward else reversed(others))
                  for back in other.flags if back.net == flag.net and back.onward != flag.onward and not back.words]
        found[flag] = places[0] if places else "-"
    return found


def _planned(circuit: Circuit) -> Iterator[Planned]:
    channels = channels_of(circuit)
    yield from _feeds(circuit)
    yield _supply(circuit, channels)
    pieces = tuple(_pieces(circuit, channels))
    for feed in dict.fromkeys(channel.feed for channel in channels):
        for page in _filled([piece for piece in pieces if piece.channel.feed == feed]):
            yield _relays(circuit, feed, page)
    inputs = input_sheet.inputs_of(circuit)
    for columns in input_sheet.paged(inputs):
        shown = [one.device.designator for column in columns for one in column]
        yield Planned(f"Inputs {_listed(shown)}", (), _inputs(circuit, columns))


def _inputs(circuit: Circuit, columns: tuple[tuple[input_sheet.Input, ...], ...]) -> Draw:
    return lambda canvas: input_sheet.input_sheet(canvas, circuit, columns)


def _listed(names: Sequence[str]) -> str:
    """Return designators in their order, those that follow one another as a range: "K5 to K7, K10"."""
    runs: list[list[str]] = []
    for name in names:
        if runs and name[0] == runs[-1][-1][0] and int(name[1:]) == int(runs[-1][-1][1:]) + 1:
            runs[-1].append(name)
        else:
            runs.append([name])
    return ", ".join(f"{run[0]} to {run[-1]}" if len(run) > 2 else ", ".join(run) for run in runs)


def _feeds(circuit: Circuit) -> Iterator[Planned]:
    feeds, stud = feed_sheet.feeds_in(circuit), next(iter(circuit.of(Kind.STUD)), None)
    for first in range(0, max(len(feeds), 1), feed_sheet.MOST):
        some = feeds[first:first + feed_sheet.MOST]
        nets = tuple(chain.from_iterable((one.device.pins[0].net, one.device.pins[1].net, one.neutral) for one in some))
        yield Planned("Feeds, protective devices and bonding", nets, _feed(some, None if first else stud))


def _feed(feeds: Sequence[feed_sheet.FeedIn], stud: Component | None) -> Draw:
    return lambda canvas: feed_sheet.feed_sheet(canvas, feeds, stud)


def _supply(circuit: Circuit, channels: Sequence[Channel]) -> Planned:
    module, fuse = next(iter(circuit.of(Kind.SUPPLY)), None), next(iter(circuit.of(Kind.FUSE)), None)
    nets = (*([fuse.pins[0].net] if fuse else []), *([pin.net for pin in module.pins if pin.side == 1] if module else []))
    signals = [*(row.wire for channel in channels for row in channel.rows), *(channel.sense[4].pins[2].net for channel in channels if channel.sense),
               *(pin.net for one in input_sheet.inputs_of(circuit) for part in (one.device, *one.parts) for pin in part.pins)]

    def draw(canvas: Canvas) -> None:
        if module:
            canvas.barrier(BLOCK / U - 0.4, "MAINS")
        supply(canvas, circuit, signals)

    return Planned("Mains inlet, supply, board and status lamp", nets, draw)


def _pieces(circuit: Circuit, channels: Sequence[Channel]) -> Iterator[Piece]:
    """Yield the channels feed by feed, as their terminals stand; one of more rows than a sheet has comes in several pieces."""
    strip = [one for one in circuit.of(Kind.TERMINAL) if one.designator.startswith("X2:")]
    for channel in sorted(channels, key=_feed_order(circuit)):
        nets = [pin.net for pin in channel.load.pins] if channel.load else []
        own: list[Component | None] = []
        for net in nets:
            found = next((one for one in strip if one.pins[0].net == net and (net != EARTH or _follows(one, own))), None)
            if found:
                strip.remove(found)
            own.append(found)
        rows, first = channel.rows, True
        while len(rows) + bool(channel.sense) > relay_rows.ROWS:
            yield Piece(channel, rows[:relay_rows.ROWS], False, first, tuple(own))
            rows, first = rows[relay_rows.ROWS:], False
        if rows or channel.sense:
            yield Piece(channel, rows, bool(channel.sense), first, tuple(own))


def _follows(terminal: Component, own: Sequence[Component | None]) -> bool:
    """Return whether a terminal stands behind the last one of the same load."""
    last = own[-1] if own else None
    return last is None or int(terminal.designator.partition(":")[2]) > int(last.designator.partition(":")[2])


def _feed_order(circuit: Circuit) -> Callable[[Channel], int]:
    feeds = list(dict.fromkeys(net.feed for net in circuit.nets if net.feed))
    return lambda channel: feeds.index(channel.feed) if channel.feed in feeds else len(feeds)


def _filled(pieces: Sequence[Piece]) -> Iterator[tuple[Piece, ...]]:
    page: list[Piece] = []
    for piece in pieces:
        if page and sum(one.places for one in page) + piece.places > relay_rows.ROWS:
            yield tuple(page)
            page = []
        page.append(piece)
    if page:
        yield tuple(page)


def _relays(circuit: Circuit, feed: str, page: tuple[Piece, ...]) -> Planned:
    rows = [row for piece in page for row in piece.rows]
    names = [row.relay.designator for row in rows]
    senses = [piece.channel.sense[4].designator for piece in page if piece.has_sense]
    title = "; ".join((*([f"Relays {_listed(names)}" if len(names) > 1 else f"Relay {names[0]}"] if names else []),
                       *([f"line sense {', '.join(senses)}"] if senses else []), f"feed {feed}"))
    lines = [row.common for row in rows]
    neutrals = [pin.net for piece in page if piece.starts and piece.channel.load for pin in piece.channel.load.pins if pin.number == "N"]
    neutrals += [piece.channel.sense[2].pins[1].net for piece in page if piece.has_sense]
    return Planned(title[0].upper() + title[1:], tuple(dict.fromkeys((*lines, *neutrals, *(piece.channel.line for piece in page)))), _relay_page(circuit, page))


def _relay_page(circuit: Circuit, page: tuple[Piece, ...]) -> Draw:
    board = next(iter(circuit.of(Kind.BOARD)), None)

    def draw(canvas: Canvas) -> None:
        canvas.barrier(BLOCK / U - 0.4, "MAINS")
        live: dict[str, list[int]] = {}
        neutral: dict[str, list[int]] = {}
        place = 0
        for piece in page:
            heights = [relay_rows.FIRST + relay_rows.ROW * (place + step) for step in range(piece.places)]
            _channel(canvas, board, piece, heights, live, neutral)
            place += piece.places
        for buses, x in ((live, relay_rows.LINE_BUS), (neutral, relay_rows.NEUTRAL_BUS)):
            for net, rows in buses.items():
                canvas.leave(net, x, relay_rows.TOP, relay_rows.LAST, rows)

    return draw


def _channel(canvas: Canvas, board: Component | None, piece: Piece, heights: Sequence[int], live: dict[str, list[int]], neutral: dict[str, list[int]]) -> None:
    """Draw one piece of a channel, and note the heights at which it meets the buses of line and neutral."""
    channel, ends = piece.channel, []
    is_joined = len(piece.rows) > 1 or channel.line in canvas.before or channel.line in canvas.after
    thing = channel.load if piece.starts else None
    for row, y in zip(piece.rows, heights):
        relay_rows.drive(canvas, board, row, y)
        live.setdefault(row.common, []).append(y)
        straight = relay_rows.contact(canvas, row, y)
        ends.append(y if straight else y + 6)
        if straight:
            canvas.wire((relay_rows.STRAIGHT, y), (relay_rows.JOIN if is_joined else relay_rows.TERMINAL, y), mains=True)
            canvas.net(row.into, relay_rows.STRAIGHT + 2, y, shift=0.3)
    if thing:
        relay_rows.load(canvas, thing, piece.terminals, heights[0])
        neutral.setdefault(thing.pins[1].net, []).append(heights[0] + 4)
        if is_joined or not piece.rows:
            canvas.wire((relay_rows.JOIN, heights[0]), (relay_rows.TERMINAL, heights[0]), mains=True)
            ends.append(heights[0])
    tap = ends[len(piece.rows) - 1] if piece.rows else heights[0]
    if is_joined:
        if not piece.rows:
            canvas.wire((relay_rows.TAP, tap), (relay_rows.JOIN, tap), mains=True)
            ends.append(tap)
        canvas.leave(channel.line, relay_rows.JOIN, relay_rows.TOP, relay_rows.LAST, ends, left=True)
    if piece.has_sense:
        relay_rows.line_sense(canvas, board, channel.sense, heights[-1], tap)
        neutral.setdefault(channel.sense[2].pins[1].net, []).append(heights[-1] + 7)
