"""What a person could change in a job, key by key, with the alternatives and their prices.

The alternatives come from the stock (relays, boards) and from the standards' tables (sections,
ratings, curves). Conductors are only ever made thicker, and devices stay within the ratings of
final circuits in a home (common practice, no source); a larger one is the last resort, after every
thicker cable. A residual-current device is only ever replaced by one of 30 mA and type A. Delays after a power cut are no choice:
they follow from the rest. Nor is what the owner wants: steps, speeds, what a switch does.
"""

from dataclasses import dataclass
from enum import StrEnum
from math import ceil
from typing import Any

from pattress.design import Design
from pattress.design.prices import Prices
from pattress.job import Job
from pattress.job.agreement import BREAKER_CURVES, FUSE_CURVES
from pattress.job.model import UNKNOWN, Cable, Fan, Feed, Load, ProtectiveDevice, ResidualCurrentDevice
from pattress.job.problem import Path, key_path
from pattress.quantity import parse, show
from pattress.stock.conductors import sections
from pattress.stock.devices import ratings

LEAST_RATING, MOST_RATING = 6.0, 32.0      # A: final circuits in a home (common practice, no source)
SENSITIVE = "30 mA"
USUAL_RESIDUAL = ResidualCurrentDevice.model_validate({"rating": SENSITIVE, "type": "A"})
LOOSE = "any pin"                          # a soldered wire that may move

Edit = tuple[Path, Any]                    # where in the job file, and the new value; None takes the key away


class Kind(StrEnum):
    """What is chosen."""

    RELAY = "relay"
    DEVICE = "device"
    CABLE = "cable"
    RUN = "run"
    BOARD = "board"
    WIRE = "wire"
    RESIDUAL = "residual"


@dataclass(frozen=True, slots=True)
class Option:
    """One alternative: its value in the job, how people read it, its price, and the edits of the file."""

    value: Any
    shown: str
    price: int = 0
    edits: tuple[Edit, ...] = ()


@dataclass(frozen=True, slots=True)
class Choice:
    """One thing to choose. `thing` is the key of channel, feed or wire; the first option is the present one."""

    kind: Kind
    thing: str
    path: Path
    options: tuple[Option, ...]

    @property
    def key(self) -> str:
        """Return the key of the job file, dotted."""
        return key_path(self.path)


def catalogue(design: Design, prices: Prices) -> tuple[Choice, ...]:
    """Return everything that could be changed in the job of a design."""
    job = design.job
    channels = [("load", key, load) for key, load in job.load.items()] + [("fan", key, fan) for key, fan in job.fan.items()]
    return (
        *(_relay(section, key, channel, design, prices) for section, key, channel in channels),
        *(_section(Kind.RUN, key, (section, key, "run"), channel.run, prices) for section, key, channel in channels),
        *(_device(key, feed, prices) for key, feed in job.feed.items()),
        *(_section(Kind.CABLE, key, ("feed", key, "cable"), feed.cable, prices) for key, feed in job.feed.items()),
        *(_residual(key, feed, prices) for key, feed in job.feed.items()),
        _board(design, prices),
        *(_wire(wire, pin, prices) for wire, pin in job.board.pins.items()),
    )


def chosen_job(job: Job, choices: tuple[Choice, ...], picks: tuple[int, ...]) -> Job:
    """Return the job with the picked option of every choice."""
    for choice, pick in zip(choices, picks, strict=True):
        if pick:
            job = _with(job, choice, choice.options[pick].value)
    return job


def _with(job: Job, choice: Choice, value: Any) -> Job:
    if choice.kind is Kind.BOARD:
        return job.model_copy(update={"board": job.board.model_copy(update={"type": value, "file": None})})
    if choice.kind is Kind.WIRE:
        pins = {wire: pin for wire, pin in job.board.pins.items() if wire != choice.thing}
        return job.model_copy(update={"board": job.board.model_copy(update={"pins": pins})})
    section, key = str(choice.path[0]), str(choice.path[1])
    row = getattr(job, section)[key]
    if choice.kind is Kind.RELAY:
        update: dict[str, Any] = {"relay": value}
    elif choice.kind is Kind.RESIDUAL:
        update = {"residual_current_device": value}
    elif choice.kind is Kind.DEVICE:
        update = {"device": row.device.model_copy(update=dict(zip(("curve", "rating"), value, strict=True)))}
    else:
        name = str(choice.path[-2])
        update = {name: getattr(row, name).model_copy(update={"section": value})}
    return job.model_copy(update={section: {**getattr(job, section), key: row.model_copy(update=update)}})


def _relay(section: str, key: str, channel: Load | Fan, design: Design, prices: Prices) -> Choice:
    path = (section, key, "relay")
    now, count = design.chosen.relays[key].part.designation, design.chosen.relay_count(key)
    shown = now if channel.relay == now else f"{channel.relay} ({now})"
    stock = [part.designation for part in design.results["parts"].of("relay")]
    return Choice(Kind.RELAY, key, path, (Option(channel.relay, shown), *(
        Option(name, name, count * (prices["relay", "change"] + place * prices["relay", "place"]), ((path, name),))
        for place, name in enumerate(stock) if name != now
    )))


def _section(kind: Kind, key: str, path: Path, cable: Cable, prices: Prices) -> Choice:
    path = (*path, "section")
    thicker = [section for section in sections() if section > cable.section * (1 + 1e-6)]
    table, options = kind.value, [Option(cable.section, show(cable.section, "m2"))]
    for step, section in enumerate(thicker, 1):
        text = f"{section * 1e6:.4g} mm2"
        price = (prices[table, "change"] + prices[table, "metre"] * ceil(cable.length) + prices[table, "step"] * step)
        options.append(Option(parse(text, "m2"), show(section, "m2"), price, ((path, text),)))
    return Choice(kind, key, path, tuple(options))


def _device(key: str, feed: Feed, prices: Prices) -> Choice:
    path, now = ("feed", key, "device"), feed.device
    curves = [curve for curve in (FUSE_CURVES if now.kind == "fuse" else BREAKER_CURVES) if curve != UNKNOWN]
    usual = [rating for rating in ratings() if LEAST_RATING <= rating <= MOST_RATING]
    steps = sorted({*usual, now.rating})
    options = [Option((now.curve, now.rating), _device_words(now.curve, now.rating))]
    for curve in curves:
        for rating in usual:
            if (curve, rating) != (now.curve, now.rating):
                away = abs(steps.index(rating) - steps.index(now.rating))
                letters = abs(curves.index(curve) - curves.index(now.curve)) if now.curve in curves else 1
                price = prices["device", "change"] + prices["device", "curve"] * letters + prices["device", "step"] * away
                price += prices["device", "larger"] * (rating > now.rating)
                options.append(Option((curve, rating), _device_words(curve, rating), price, _device_edits(path, now, curve, rating)))
    return Choice(Kind.DEVICE, key, path, tuple(options))


def _residual(key: str, feed: Feed, prices: Prices) -> Choice:
    path, now = ("feed", key, "residual_current_device"), feed.residual_current_device
    present = Option(now, now if isinstance(now, str) else f"{show(now.rating, 'A')}, type {now.type}")
    if isinstance(now, ResidualCurrentDevice):
        edits: tuple[Edit, ...] = ((*path, "rating"), SENSITIVE), ((*path, "type"), "A")
        edits = tuple(edit for edit, same in zip(edits, (now.rating == USUAL_RESIDUAL.rating, now.type == "A")) if not same)
    else:
        edits = ((path, {"rating": SENSITIVE, "type": "A"}),)
    if not edits:
        return Choice(Kind.RESIDUAL, key, path, (present,))
    return Choice(Kind.RESIDUAL, key, path, (present, Option(USUAL_RESIDUAL, f"{SENSITIVE}, type A", prices["residual", "change"], edits)))


def _device_words(curve: str, rating: float) -> str:
    return f"{'curve unknown' if curve == UNKNOWN else curve} {show(rating, 'A')}"


def _device_edits(path: Path, now: ProtectiveDevice, curve: str, rating: float) -> tuple[Edit, ...]:
    curve_edit, rating_edit = ((*path, "curve"), curve), ((*path, "rating"), show(rating, "A"))
    return (curve_edit,) * (curve != now.curve) + (rating_edit,) * (rating != now.rating)


def _board(design: Design, prices: Prices) -> Choice:
    path, now = ("board", "type"), design.board.type
    without_file = ((("board", "file"), None),) if design.job.board.file is not None else ()      # it is of the board that goes
    return Choice(Kind.BOARD, "board", path, (Option(now, now), *(
        Option(board, board, prices["board", "change"] + place * prices["board", "place"], ((path, board), *without_file))
        for place, board in enumerate(name for name, one in design.results["boards"].items() if not one.kind_of) if board != now
    )))


def _wire(wire: str, pin: int, prices: Prices) -> Choice:
    path = ("board", "pins", wire)
    return Choice(Kind.WIRE, wire, path, (Option(pin, f"pin {pin}"), Option(LOOSE, LOOSE, prices["wire", "change"], ((path, None),))))
