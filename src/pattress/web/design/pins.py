"""The sheet of the board's pins: the board drawn, and why each wire sits on its pin and not on another."""

import json
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any
from urllib.parse import quote

from pattress.design import Design
from pattress.drawing import Medium, Piece
from pattress.drawing.pieces import link
from pattress.finding import Finding
from pattress.handover.wiring import relay_wires
from pattress.pins.best import Assignment, Placement
from pattress.pins.conflict import Conflict
from pattress.pins.demands import Demand, Need
from pattress.pins.pinout_drawing import NARROW, pinout
from pattress.pins.rules import objections
from pattress.pins.why import Choice, Standing, choices, standing_wires
from pattress.repeat.references import WIRES
from pattress.stock.boards import Board, Pin
from pattress.web.draft import Edit
from pattress.web.job import things
from pattress.web.job.findings import Shown, shown
from pattress.web.sheet import Asked, Go, NoSuchSheet, Sheet, Stay

NOWHERE = "no pin"
POSSIBLE = (Standing.HERE, Standing.FREE, Standing.TAKEN, Standing.PRICE, Standing.REFUSED)


@dataclass(frozen=True, slots=True)
class Wire:
    """One wire of the job: where it goes, why there, and whether the job file keeps it there."""

    name: str
    what: str
    address: str
    pin: str
    pin_address: str
    why: str
    fixed: bool
    whose: str = ""               # name of the thing it is of; "" for the board's own
    thing: str = ""               # the address of its sheet


@dataclass(frozen=True, slots=True)
class Offer:
    """One pin as a choice for the chosen wire, or one wire as a choice for the chosen pin."""

    value: str                    # GPIO number or name of the wire, as posted
    name: str
    address: str
    standing: str
    words: str
    chosen: bool
    possible: bool


@dataclass(frozen=True, slots=True)
class PinSheet:
    """The sheet: the drawing, what stands in the way if anything does, and a chosen wire or pin."""

    svg: str
    conflict: str                 # in words; "" when every wire has a pin
    cures: tuple[str, ...]
    wires: tuple[Wire, ...]
    wire: Wire | None
    pin: str                      # name of the chosen pin, "" when none is
    gpio: str
    pin_words: tuple[str, ...]    # what the board's record says about it
    offers: tuple[Offer, ...]
    findings: tuple[Shown, ...]


def view(asked: Asked) -> PinSheet:
    """Return the sheet of all pins, or of the wire or pin in the address; raises NoSuchSheet."""
    design = asked.design
    placed = standing_wires(design.pins)
    wires = {demand.name: demand for demand in design.results["wires"]}
    wire, pin = asked.place.get("wire", ""), _pin(design.board, asked.place.get("gpio", ""))
    if wire and wire not in wires:
        raise NoSuchSheet(f"This job has no wire {wire}.")
    if "gpio" in asked.place and pin is None:
        raise NoSuchSheet(f"The board {design.board.type} has no pin {asked.place['gpio']} at its edge.")
    listed = tuple(_wire(demand, placed, design) for demand in wires.values())
    conflict = design.pins if isinstance(design.pins, Conflict) else None
    subject = (f"pins.{wire}",) if wire else tuple(f"pins.{one.demand.name}" for one in placed if pin and one.pin.gpio == pin.gpio)
    if any(one.pin.differs for one in placed if one.demand.name == wire or pin and one.pin.gpio == pin.gpio):
        subject = (*subject, "module.board")
    return PinSheet(
        svg=_drawn(design.board, placed, list(dict.fromkeys(demand.need for demand in wires.values())), wire, pin),
        conflict=conflict.words if conflict else "", cures=tuple(one.words for one in conflict.relaxations) if conflict else (),
        wires=listed, wire=next((one for one in listed if one.name == wire), None),
        pin=pin.name if pin else "", gpio=str(pin.gpio) if pin else "", pin_words=_record(pin) if pin else (),
        offers=_for_wire(wires[wire], design.board, placed) if wire else _for_pin(pin, design.board, placed, wires.values()) if pin else (),
        findings=tuple(shown(finding, design.accepted) for finding in _about(design, subject)),
    )


def fix(asked: Asked) -> Go:
    """Keep a wire at a pin: write it into [board.pins], and say what moved or breaks."""
    wire, pin = _asked_for(asked)
    after = asked.draft.write(_kept(asked.version.table, wire, pin.gpio), over=asked.version).design
    return Go(address_of_wire(wire), f"{wire} is kept at {pin.name}. {told(asked.design.pins, after.pins, wire)}".strip())


def look(asked: Asked) -> Stay:
    """Say what keeping a wire at a pin would move or break, and write nothing."""
    wire, pin = _asked_for(asked)
    after = asked.draft.trial(_kept(asked.version.table, wire, pin.gpio)).design
    words = told(asked.design.pins, after.pins, wire)
    if isinstance(after.pins, Conflict):
        words = f"Then not every wire would find a pin:\n{after.pins.words}"
    against = next((one.reason for one in after.pins.pins if one.demand.name == wire and one.broken), "") if isinstance(after.pins, Assignment) else ""
    return Stay(None, f"Nothing is written. With {wire} at {pin.name}: {words}" + (f" {against}." if against else ""), 200)


def _asked_for(asked: Asked) -> tuple[str, Pin]:
    """Return the wire and the pin of a form; raises NoSuchSheet."""
    wire, gpio = asked.form.get("wire", ""), asked.form.get("gpio", "")
    pin = _pin(asked.design.board, gpio)
    if wire not in {demand.name for demand in asked.design.results["wires"]}:
        raise NoSuchSheet(f"This job has no wire {wire}.")
    if pin is None:
        raise NoSuchSheet(f"The board {asked.design.board.type} has no pin {gpio} at its edge.")
    return wire, pin


def loosen(asked: Asked) -> Go:
    """Let the program choose the pin of a wire again."""
    wire = asked.form.get("wire", "")
    if wire not in asked.design.job.board.pins:
        return Go("/pins", f"{wire} is not kept at any pin.")
    after = asked.draft.write([(("board", "pins", wire), None)], over=asked.version).design
    return Go(address_of_wire(wire), f"The pin of {wire} is free to choose. {told(asked.design.pins, after.pins, wire)}".strip())


def told(before: Assignment | Conflict, after: Assignment | Conflict, wire: str) -> str:
    """Return what a change of one wire did to the others: who moved, or why nothing fits any more."""
    if isinstance(after, Conflict):
        return "Now not every wire finds a pin; the sheet says which, and why."
    if isinstance(before, Conflict):
        return "Now every wire finds a pin."
    was, now = before.by_name(), after.by_name()
    pins = {one.demand.name: one.pin.name for one in after.pins}
    moved = [f"{name} to {pins[name]}" for name in now if name != wire and was.get(name) != now[name]]
    return f"Moved with it: {', '.join(moved)}." if moved else "No other wire moved."


def address_of_wire(name: str) -> str:
    """Return the address of the sheet of a wire."""
    return f"/pins/wire/{quote(name)}"


def _kept(table: Mapping[str, Any], wire: str, gpio: int) -> list[Edit]:
    pins = table.get("board", {}).get("pins")
    return [(("board", "pins", wire), gpio)] if pins is not None else [(("board", "pins"), {wire: gpio})]


def _pin(board: Board, gpio: str) -> Pin | None:
    return next((pin for pin in board.pins if pin.edge and str(pin.gpio) == gpio), None)


def _wire(demand: Demand, placed: Iterable[Placement], design: Design) -> Wire:
    here = next((one for one in placed if one.demand.name == demand.name), None)
    return Wire(demand.name, demand.need.word, address_of_wire(demand.name), here.pin.name if here else NOWHERE,
                f"/pins/pin/{here.pin.gpio}" if here and here.pin.edge else "", here.reason if here else "", here is not None and here.fixed,
                *_whose(design, demand.name))


def _whose(design: Design, wire: str) -> tuple[str, str]:
    """Return the name of the thing that a wire is of, and the address of its sheet; a relay's with its mark in the wiring."""
    kind, _, rest = wire.partition(".")
    key = rest.partition(".")[0]
    section = next((section for section in WIRES.get(kind, ()) if key in getattr(design.job, section)), None)
    if section is None:
        return "", ""
    mark = next((f"{mark} of " for mark, name in relay_wires(design) if name == wire), "")
    return mark + getattr(design.job, section)[key].name, things.address_of((section, key))


def _for_wire(wire: Demand, board: Board, placed: tuple[Placement, ...]) -> tuple[Offer, ...]:
    return tuple(_offer(choice, str(choice.pin.gpio), choice.pin.name, f"/pins/pin/{choice.pin.gpio}")
                 for choice in choices(wire, board, placed))


def _for_pin(pin: Pin, board: Board, placed: tuple[Placement, ...], wires: Iterable[Demand]) -> tuple[Offer, ...]:
    found = []
    for wire in wires:
        choice = next(choice for choice in choices(wire, board, placed) if choice.pin.gpio == pin.gpio)
        found.append(_offer(choice, wire.name, wire.name, address_of_wire(wire.name)))
    return tuple(found)


def _offer(choice: Choice, value: str, name: str, address: str) -> Offer:
    return Offer(value, name, address, str(choice.standing), choice.words, choice.standing is Standing.HERE, choice.standing in POSSIBLE)


def _record(pin: Pin) -> tuple[str, ...]:
    """Return what the board's record says of a pin, each with where it was read."""
    said = [("reserved", pin.reserved and f"The board uses it itself: {pin.reserved}"), ("console", pin.console and f"Console: {pin.console}"),
            ("driven", pin.driven and f"Driven by {pin.driven}"), ("carries", pin.carries and f"On the board: {pin.carries}"),
            ("reset", f"While the board starts: {pin.reset}"), ("output", "" if pin.output else "Input only"),
            ("pull_up", "" if pin.pull_up else "No pull-up of its own"), ("differs", pin.differs and f"Not the same on every such board: {pin.differs}"), ("note", pin.note and f"Note: {pin.note}")]
    words = [f"{text} ({pin.sources[fact]})" if fact in pin.sources else text for fact, text in said if text]
    if pin.strap:
        words.append(f"Read at reset: {pin.strap.role} ({pin.strap.source})")
    for pulse in pin.pulses:
        lasting = "for how long is unknown" if pulse.duration is None else f"for {pulse.duration * 1e6:.3g} us"
        words.append(f"Pulses {pulse.level} at reset, {lasting} ({pulse.source})")
    return tuple(words)


def _about(design: Design, ids: tuple[str, ...]) -> tuple[Finding, ...]:
    return tuple(finding for finding in design.findings if finding.id in ids)


def _drawn(board: Board, placed: tuple[Placement, ...], needs: list[Need], wire: str, chosen: Pin | None) -> str:
    holders = {one.pin.gpio: one for one in placed}

    def around(pin: Pin, drawn: tuple[Piece, ...]) -> Piece:
        held = holders.get(pin.gpio)
        here = held is not None and held.demand.name == wire or chosen is not None and chosen.gpio == pin.gpio
        against = {need.word: "; ".join(found.values()) for need in needs if (found := objections(need, pin))}
        words = f"{pin.name}: {held.demand.name if held else pin.reserved or ('console' if pin.console else 'free')}"
        facts = {"gpio": str(pin.gpio), "against": json.dumps(against)}
        if held:
            facts |= {"wire": held.demand.name, "need": held.demand.need.word}
        return link(drawn, f"/pins/pin/{pin.gpio}#sheet", alt=words, kind="pin", data=facts, current=here)

    return pinout(board, placed, NARROW, around).svg(Medium.PAGE)


ACTIONS: dict[str, Callable[[Asked], Go | Stay]] = {"fix": fix, "look": look, "loosen": loosen}
SHEETS = (
    Sheet("/pins", "Pins", "pins.html", view, ACTIONS),
    Sheet("/pins/wire/{wire}", "", "pins.html", view, ACTIONS),
    Sheet("/pins/pin/{gpio}", "", "pins.html", view, ACTIONS),
)
