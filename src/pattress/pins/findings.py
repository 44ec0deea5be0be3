"""What the pin assignment answers: does every wire have a pin, and does each relay stay off meanwhile."""

from pattress.finding import Assumption, Figure, Finding, Input, Sense, Source, Verdict
from pattress.pins.best import Assignment, Placement
from pattress.pins.conflict import Conflict
from pattress.pins.rules import LONGEST_PULSE, Weight, longest_pulse, objections, rule
from pattress.stock.boards import Board, Pin

LIMIT = Source("a tenth of the longest operate time in the G5LE and SRD datasheets; common practice, no source")
NOT_COVERED = "the current a pin can give; a solid-state relay, which follows pulses a coil does not"
MOVING = frozenset({"start", "driven"})    # rules that, broken, may close a relay while the board starts
OTHER_PINS = 3               # how many other pins a finding proposes


def findings(result: Assignment | Conflict, board: Board) -> tuple[Finding, ...]:
    """Return the finding on the whole board, then one for each relay and each soldered wire.

    A failed one is a safety finding when a relay could close by itself while the board starts.
    """
    if isinstance(result, Conflict):
        return (_conflict(result, board),)
    free = [pin for pin in board.pins if pin.edge and pin.gpio not in {placed.pin.gpio for placed in result.pins}]
    return (_fits(result, board), *(
        _wire(placed, free) for placed in result.pins if placed.fixed or placed.demand.need.starts_off
    ))


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


def _wire(placed: Placement, free: list[Pin]) -> Finding:
    need, pin, name = placed.demand.need, placed.pin, placed.demand.name
    weights = {rule(broken).weight for broken in placed.broken}
    verdict = (Verdict.FAILS if Weight.REFUSED in weights else Verdict.TIGHT if weights else Verdict.HOLDS)
    pulse = longest_pulse(pin) if need.starts_off and pin.reset != "driven high" else None
    unknown = need.starts_off and pulse is None and pin.reset != "driven high"
    if placed.fixed:
        question = f"May {name} stay on {pin.name}, where it is soldered?"
    else:
        question = f"Does {name} stay off while the board starts?"
    return Finding(
        id=f"pins.{name}", question=question, subject=f"board.pins.{name}" if placed.fixed else name, verdict=verdict,
        value=None if pulse is None else Figure(pulse, "s"),
        limit=Figure(LONGEST_PULSE, "s") if need.starts_off else None, sense=Sense.AT_MOST,
        formula="longest high pulse while the board starts" if need.starts_off else "",
        inputs=(Input("pin", pin.name, "board.pins" if placed.fixed else "assigned"),),
        sources=(*_sources([pin]), *((LIMIT,) if need.starts_off else ())),
        assumptions=(Assumption(
            "board.type", "long enough to close a relay", f"{pin.name} is reported to pulse, nobody says for how long",
            f"watch {pin.name} with an oscilloscope while the board starts",
        ),) if unknown else (),
        change=_changes(placed, free), detail=f"{placed.reason}.",
        covers_not=NOT_COVERED if need.starts_off else "",
        safety=need.starts_off and not MOVING.isdisjoint(placed.broken),
    )


def _changes(placed: Placement, free: list[Pin]) -> tuple[str, ...]:
    """Return what to do about a pin that something speaks against."""
    if not placed.broken:
        return ()
    changes = []
    if "pull-up" in placed.broken:
        changes.append(f"fit a pull-up resistor of 4.7 kohm to 3.3 V at {placed.pin.name}")
    others = [pin.name for pin in free if not objections(placed.demand.need, pin)][:OTHER_PINS]
    if others:
        changes.append(f"move the wire to {' or '.join(others)}, which nothing speaks against")
    else:
        changes.append("free a pin that nothing speaks against: none is left")
    return tuple(changes)


def _sources(pins) -> tuple[Source, ...]:
    """Return where the facts about pins were read, each once."""
    found: dict[Source, None] = {}
    for pin in pins:
        found |= dict.fromkeys(pin.sources[fact] for fact in ("output", "pull_up", "reset") if fact in pin.sources)
        found |= dict.fromkeys(pulse.source for pulse in pin.pulses)
        if pin.strap:
            found[pin.strap.source] = None
    return tuple(found)
