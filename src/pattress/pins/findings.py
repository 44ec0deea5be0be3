"""What the pin assignment answers: does every wire have a pin, and does each relay stay off meanwhile."""

from collections.abc import Iterable

from pattress.finding import Assumption, Figure, Finding, Input, Sense, Source, Verdict
from pattress.pins.best import Assignment, Placement
from pattress.pins.conflict import Conflict
from pattress.pins.rules import LONGEST_PULSE, OPEN_COLLECTOR, Weight, longest_pulse, objections, rule
from pattress.quantity import show
from pattress.stock.boards import Board, Pin

LIMIT = Source("a tenth of the longest operate time in the G5LE and SRD datasheets; common practice, no source")
NOT_COVERED = "the current a pin can give; a solid-state relay, which follows pulses a coil does not"
MOVING = frozenset({"start", "driven"})    # rules that, broken, may close a relay while the board starts
OTHER_PINS = 3               # how many other pins a finding proposes


def findings(result: Assignment | Conflict, board: Board, boards: Iterable[Board] = ()) -> tuple[Finding, ...]:
    """Return the finding on the whole board, then one for each relay and each soldered wire.

    Where soldered wires cannot stay, they and all others are told: the others as they stand once those have moved.
    `boards` are those to name where the board has pins that others of its kind have not. A failed finding concerns
    safety when a relay could close by itself while the board starts.
    """
    assigned = result if isinstance(result, Assignment) else _once_moved(result)
    placed = assigned.pins if assigned is not None else ()
    held = {one.pin.gpio for one in placed}
    free = [pin for pin in board.pins if pin.edge and pin.gpio not in held]
    whole = _conflict(result, board) if isinstance(result, Conflict) else _fits(result, board)
    soldered = {one.demand.name: one for one in (result.soldered if isinstance(result, Conflict) else ())}
    instead = {one.demand.name: one.pin for one in placed if one.demand.name in soldered}
    told = [soldered.pop(one.demand.name, one) for one in placed]
    told += soldered.values()
    return (whole, *_kind(told, board, boards), *(
        _wire(one, free, instead.get(one.demand.name), isinstance(result, Conflict))
        for one in told if one.fixed or one.demand.need.starts_off
    ))


def _once_moved(why: Conflict) -> Assignment | None:
    """Return the assignment once every soldered wire that cannot stay has moved, the one that is offered where there is an offer."""
    offer = next(iter(why.relaxations), None)
    return offer.assignment if offer is not None and offer.kinds == ("resolder",) else why.rest


def _conflict(why: Conflict, board: Board) -> Finding:
    return Finding(
        id="pins.board", question="Is there a fitting pin for every wire?", subject="board", verdict=Verdict.FAILS,
        value=Figure(len(why.demands), ""), limit=Figure(len(why.left), ""), sense=Sense.AT_MOST,
        formula="wires that need a pin of their own, against the pins the rules leave for them",
        inputs=(Input("board", board.type, "board.type"),), sources=_sources(board.pins),
        change=tuple(offer.words for offer in why.relaxations), detail=why.words, covers_not=NOT_COVERED, safety=False,
    )


def _fits(result: Assignment, board: Board) -> Finding:
    offered = [pin for pin in board.pins if pin.edge and not pin.reserved]
    return Finding(
        id="pins.board", question="Is there a fitting pin for every wire?", subject="board", verdict=Verdict.HOLDS,
        value=Figure(len(result.pins), ""), limit=Figure(len(offered), ""), sense=Sense.AT_MOST,
        formula="wires of the job, against pins at the board's edge that the board does not use itself",
        inputs=(Input("board", board.type, "board.type"),), sources=_sources(board.pins),
        detail="No assignment suits the rules and preferences better (proven).",
        covers_not=NOT_COVERED, safety=False,
    )


def _kind(placed: Iterable[Placement], board: Board, boards: Iterable[Board]) -> tuple[Finding, ...]:
    """Return the finding that it is not known whether this board has the pins that are used: boards of its kind differ in them."""
    pins = {one.pin.gpio: one for one in placed if one.pin.differs}
    if not pins:
        return ()
    names = ", ".join(one.pin.name for one in pins.values())
    known = [f'"{other.type}" ({other.title})' for other in boards if other.kind_of == board.type and not any(
        (pin := other.pin(gpio)) is not None and pin.differs for gpio in pins)]
    return (Finding(
        id="module.board", question="Does this very board have every pin that is used?", subject="board.type", verdict=Verdict.UNKNOWN,
        value=None, limit=None, sense=Sense.AT_MOST, inputs=(Input("board", board.type, "board.type"),),
        sources=tuple(dict.fromkeys(one.pin.sources["differs"] for one in pins.values() if "differs" in one.pin.sources)),
        assumptions=(Assumption("board.type", f"that {names} {'is' if len(pins) == 1 else 'are'} free", "boards of this kind differ in that",
                                "read what is printed on the module and on the board"),),
        change=(*((f"say which board it is: [board] type = {' or '.join(known)}",) if known else ()),
                f"move {', '.join(one.demand.name for one in pins.values())} to pins that every such board has"),
        detail=" ".join(f"{one.pin.name} of {one.demand.name}: {one.pin.differs}." for one in pins.values()), safety=False,
    ),)


def _wire(placed: Placement, free: list[Pin], instead: Pin | None, is_conflict: bool) -> Finding:
    need, pin, name = placed.demand.need, placed.pin, placed.demand.name
    weights = {rule(broken).weight for broken in placed.broken}
    cannot = Weight.CANNOT in weights
    verdict = Verdict.FAILS if cannot or Weight.REFUSED in weights else Verdict.TIGHT if weights else Verdict.HOLDS
    starts_off = need.starts_off and not cannot
    pulse = longest_pulse(pin) if starts_off and pin.reset != "driven high" else None
    unknown = starts_off and pulse is None and pin.reset != "driven high"
    moved = " So it is once every soldered wire that cannot stay has moved." if is_conflict and not placed.fixed else ""
    if placed.fixed:
        question = f"May {name} stay on {pin.name}, where it is soldered?"
    else:
        question = f"Does {name} stay off while the board starts?"
    return Finding(
        id=f"pins.{name}", question=question, subject=f"board.pins.{name}" if placed.fixed else name, verdict=verdict,
        value=None if pulse is None else Figure(pulse, "s"),
        limit=Figure(LONGEST_PULSE, "s") if starts_off else None, sense=Sense.AT_MOST,
        formula="longest high pulse while the board starts" if starts_off else "",
        inputs=(Input("pin", pin.name, "board.pins" if placed.fixed else "assigned"),),
        sources=(*_sources([pin]), *((LIMIT,) if starts_off else ())),
        assumptions=(Assumption(
            "board.type", "long enough to close a relay", f"{pin.name} is reported to pulse, nobody says for how long",
            f"watch {pin.name} with an oscilloscope while the board starts",
        ),) if unknown else (),
        change=_changes(placed, free, instead if cannot else None), detail=f"{placed.reason}.{moved}",
        covers_not=NOT_COVERED if starts_off else "",
        safety=need.starts_off and not MOVING.isdisjoint(placed.broken),
    )


def _changes(placed: Placement, free: list[Pin], instead: Pin | None) -> tuple[str, ...]:
    """Return what to do about a pin that something speaks against; `instead` is the one that suits all wires together best."""
    if not placed.broken:
        return ()
    if instead is not None and instead.gpio == placed.pin.gpio:
        return (f"leave it at {instead.name} and move the other wire that is soldered there",)
    if instead is not None:
        return (f"move the wire to {instead.name}: then all wires suit the rules best",)
    changes = []
    if "pull-up" in placed.broken:
        changes.append(f"fit a pull-up resistor of {show(OPEN_COLLECTOR, 'ohm')} to 3.3 V at {placed.pin.name}")
    others = [pin.name for pin in free if not objections(placed.demand.need, pin)][:OTHER_PINS]
    if others:
        changes.append(f"move the wire to {' or '.join(others)}, which nothing speaks against")
    else:
        changes.append("free a pin that nothing speaks against: none is left")
    return tuple(changes)


def _sources(pins: Iterable[Pin]) -> tuple[Source, ...]:
    """Return where the facts about pins were read, each once."""
    found: dict[Source, None] = {}
    for pin in pins:
        found |= dict.fromkeys(pin.sources[fact] for fact in ("output", "pull_up", "reset") if fact in pin.sources)
        found |= dict.fromkeys(pulse.source for pulse in pin.pulses)
        if pin.strap:
            found[pin.strap.source] = None
    return tuple(found)
