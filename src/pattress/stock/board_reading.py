"""A board's file read strictly: an error names file, line and key, what was found, what is allowed, and the nearest."""

from collections.abc import Callable, Iterable
from types import MappingProxyType
from typing import Any, TypeGuard

from pattress.finding import Source
from pattress.quantity import QuantityError, parse, show
from pattress.refusal import as_found, nearest, word_list
from pattress.stock.board import Board, Pin, Pulse, Stated, Strap
from pattress.stock.record import LONGEST_TEXT, TEXT, UNKNOWN, Rating, Spot, StockError, is_text, read_rating, read_sources

RESETS = ("floating", "weak high", "weak low", "driven high")
EDGES = ("left", "right")
STRAPS = ("high", "low", "any")
REGULATORS = ("linear", "switching")
COUNTED = ("down", "around")     # places: down each edge; down the left and up the right

KEYS = (
    "type", "like", "kind_of", "called", "chip", "title", "view", "rows", "counted", "regulator",
    "sources", "figures", "micropython", "usual", "facts", "pins",
)

# The figures every board gives, and the unit each is read in.
FIGURES = MappingProxyType({
    "supply_least": "V", "supply_most": "V",
    "output_high_least": "V", "output_low_most": "V", "input_high_least": "V", "input_low_most": "V", "input_most": "V",
    "pin_current": "A", "pin_current_strongest": "A", "sink_current": "A",
    "total_current": "A", "total_current_absolute": "A",
    "weak_pull": "ohm", "weak_pull_least": "ohm",
    "radio_peak_current": "A", "radio_average_current": "A", "supply_current_least": "A",
    "brown_out": "V", "ambient_least": "degC", "ambient_most": "degC",
})
# Where a figure of a board that works at 3.3 V must lie at least and at most; outside, what is reckoned with it means nothing.
BOUNDS = MappingProxyType({
    "input_high_least": (0.5, 3.2), "input_low_most": (0.5, 2.5), "output_high_least": (1.5, 3.6), "output_low_most": (0.01, 1.5),
    "radio_peak_current": (0.01, 3.0), "radio_average_current": (1e-3, 3.0), "pin_current": (1e-3, 0.5), "brown_out": (0.1, 3.6),
    "weak_pull": (1e3, 1e6), "weak_pull_least": (1e3, 1e6), "ambient_least": (-100.0, 100.0), "ambient_most": (0.0, 200.0),
})
USUAL_BOUNDS = MappingProxyType({"V": (0.1, 10.0), "A": (1e-4, 10.0)})
IN_ORDER = (("supply_least", "supply_most"), ("input_low_most", "input_high_least"), ("weak_pull_least", "weak_pull"),
            ("radio_average_current", "radio_peak_current"), ("ambient_least", "ambient_most"))
PORTS = ("esp32", "rp2")         # of the interpreter, that the bundle is made for
# What MicroPython does on it: name and type.
FACTS_OF_MICROPYTHON = MappingProxyType({
    "port": str, "interrupt": str, "infrared_capture": str, "mqtt_frozen": bool, "dht_frozen": bool,
    "memory_through_reset": int, "watchdog_tells_brown_out": bool, "watchdog_longest_ms": int, "heap_at_start": int,
})
KINDS_OF_FACT = MappingProxyType({str: "a text in quotes", bool: "true or false", int: "a whole number"})
FACTS_OF_PINS = (
    "edge", "output", "pull_up", "pull_down", "adc", "reset", "reserved", "console", "driven", "carries", "interrupt", "differs",
)
KEYS_OF_PINS = (*FACTS_OF_PINS, "label", "place", "pulses", "strap", "note", "source")


class Reader:
    """A board's file being read: every complaint leaves through `_refuse`, so all look alike."""

    def __init__(self, spot: Spot, table: dict[str, Any]):
        self.spot, self.table = spot, table

    def board(self) -> Board:
        """Return the board this file describes."""
        self._known("", self.table, KEYS)
        if not self._table("pins"):
            raise self._refuse("", "pins", "without any pin", "a table of pins by GPIO number")
        self.sources = read_sources(self.table, self.spot)
        facts = self._table("facts")
        self._known("facts", facts, FACTS_OF_PINS)
        facts = {"differs": facts.get("edge"), **facts}       # how boards differ is read where one is described
        self.read_in = {name: self._source("facts", name, facts.get(name)) for name in FACTS_OF_PINS}
        self.usual = self._known("usual", self._table("usual"), FACTS_OF_PINS)
        pins = [self._pin(number, entry) for number, entry in self._table("pins").items()]
        self._check_places(pins)
        return Board(
            type=self._text("type"), chip=self._text("chip"), title=self._text("title"), view=self._text("view"),
            rows=self._rows(), counted=self.one_of("counted", COUNTED),
            regulator=self.one_of("regulator", REGULATORS),
            pins=tuple(sorted(pins, key=lambda pin: (not pin.edge, pin.edge, pin.place, pin.gpio))),
            figures=MappingProxyType(self._figures()), micropython=MappingProxyType(self._micropython()),
            called=self._called(), kind_of=self._text("kind_of") if "kind_of" in self.table else "",
        )

    def one_of(self, key: str, allowed: tuple[str, ...]) -> str:
        """Return a word at the top of the file, which must be an allowed one."""
        found = self.table.get(key)
        if not isinstance(found, str) or found not in allowed:
            raise self._refuse("", key, _shown(found), word_list(allowed), nearest(found, allowed))
        return found

    def _rows(self) -> int:
        found = self.table.get("rows")
        if not _is_whole(found, 1, 40):
            raise self._refuse("", "rows", _shown(found), "a whole number from 1 to 40")
        return found

    def _called(self) -> tuple[str, ...]:
        found = self.table.get("called", [])
        if not isinstance(found, list) or not all(map(is_text, found)):
            raise self._refuse("", "called", _shown(found), 'a list of names in quotes, such as ["Pico W"]')
        return tuple(found)

    def _figures(self) -> dict[str, Rating]:
        table, here = self._known("figures", self._table("figures"), FIGURES), self.spot.inside("figures")
        left_out = {"value": UNKNOWN, "why": "the board's file gives none"}
        found = {name: read_rating(table.get(name, left_out), unit, (), self.sources, here, name) for name, unit in FIGURES.items()}
        for name, rating in found.items():
            least, most = BOUNDS.get(name) or USUAL_BOUNDS[FIGURES[name]]
            if rating.number is not None and not least <= rating.number <= most:
                unit = FIGURES[name]
                raise here.error(name, as_found(table[name]["value"]), f"from {show(least, unit)} to {show(most, unit)}: the controller works at 3.3 V")
        for lower, upper in IN_ORDER:
            low, high = found[lower].number, found[upper].number
            if low is not None and high is not None and low > high:
                raise here.error(lower, f"{as_found(table[lower]['value'])}, more than {upper}", f"at most {show(high, FIGURES[upper])}")
        return found

    def _micropython(self) -> dict[str, Stated]:
        table = self._known("micropython", self._table("micropython"), FACTS_OF_MICROPYTHON)
        stated = {}
        for name, entry in table.items():
            entry = self._known("micropython", entry, ("value", "source"), name)
            kind = FACTS_OF_MICROPYTHON[name]
            if type(entry.get("value")) is not kind or kind is str and not is_text(entry["value"], LONGEST_TEXT):
                raise self._refuse("micropython", name, _shown(entry.get("value")), KINDS_OF_FACT[kind])
            stated[name] = Stated(entry["value"], self._source("micropython", name, entry.get("source")))
        port = stated.get("port")
        if port is None or port.value not in PORTS:
            found = "missing" if port is None else as_found(port.value)
            raise self._refuse("micropython", "port", found, word_list(PORTS), nearest(port.value, PORTS) if port else "")
        return stated

    def _pin(self, number: str, entry: object) -> Pin:
        if not (number.isascii() and number.isdigit() and int(number) < 100):
            raise self._refuse("pins", number, as_found(number), "a GPIO number from 0 to 99")
        own = self._known("pins", entry, KEYS_OF_PINS, number)
        facts = {"edge": "", "place": 0, "adc": 0, "pulses": [], **self.usual, **own}

        def fact(name: str, allowed: Callable[[object], bool], words: str) -> Any:
            found = facts.get(name)
            if not allowed(found):
                near = nearest(found, words.split(", "))
                raise self._refuse("pins", number, f"a pin whose {name} is {_shown(found)}", words, near)
            return found

        def text(name: str) -> str:
            return str(fact(name, lambda found: found == "" or is_text(found, LONGEST_TEXT), TEXT)) if name in facts else ""

        def truth(name: str) -> bool:
            return bool(fact(name, lambda found: isinstance(found, bool), "true, false"))

        edge = fact("edge", lambda found: found in ("", *EDGES), word_list(EDGES))
        named = self._known("pins", facts.get("source", {}), FACTS_OF_PINS, number)
        sources = {name: self._source("pins", number, short) for name, short in named.items()}
        return Pin(
            gpio=int(number), label=text("label"), edge=edge,
            place=fact("place", lambda found: _is_whole(found, 1 if edge else 0, 99), "a whole number from 1 to 99"),
            output=truth("output"), pull_up=truth("pull_up"), pull_down=truth("pull_down"),
            adc=fact("adc", lambda found: _is_whole(found, 0, 2), "0, 1, 2"),
            reset=fact("reset", lambda found: found in RESETS, word_list(RESETS)),
            pulses=tuple(self._pulse(number, pulse) for pulse in fact("pulses", _is_list, "a list of tables")),
            strap=self._strap(number, facts["strap"]) if "strap" in facts else None,
            reserved=text("reserved"), console=text("console"), driven=text("driven"), carries=text("carries"),
            interrupt=text("interrupt"), differs=text("differs"), note=text("note"),
            sources=MappingProxyType(self.read_in | sources),
        )

    def _pulse(self, number: str, entry: object) -> Pulse:
        table = self._known("pins", entry, ("level", "duration", "source"), number)
        if table.get("level") not in ("high", "low"):
            raise self._refuse("pins", number, f"a pin with a pulse of level {_shown(table.get('level'))}", "high, low")
        duration = table.get("duration")
        try:
            length = None if duration == UNKNOWN else parse(duration, "s", above=0.0)
        except QuantityError as problem:
            found = f"a pin with a pulse of duration {problem.found}"
            raise self._refuse("pins", number, found, f'{problem.allowed}; or "unknown"', problem.nearest) from None
        return Pulse(table["level"], length, self._source("pins", number, table.get("source")))

    def _strap(self, number: str, entry: object) -> Strap:
        table = self._known("pins", entry, ("level", "role", "source", "where"), number)
        if table.get("level") not in STRAPS:
            found = f"a pin with a strap of level {_shown(table.get('level'))}"
            raise self._refuse("pins", number, found, word_list(STRAPS))
        if not is_text(table.get("role"), LONGEST_TEXT):
            found = f"a pin with a strap whose role is {_shown(table.get('role'))}"
            raise self._refuse("pins", number, found, "what the level selects, in words")
        if table.get("where", "") != "" and not is_text(table["where"], LONGEST_TEXT):
            raise self._refuse("pins", number, "a pin with a strap whose place in the source is no text", 'such as where = "table 3"')
        source = self._source("pins", number, table.get("source"), table.get("where", ""))
        return Strap(table["level"], table["role"], source)

    def _check_places(self, pins: Iterable[Pin]) -> None:
        taken: dict[tuple[str, int], Pin] = {}
        for pin in pins:
            other = taken.setdefault((pin.edge, pin.place), pin) if pin.edge else pin
            if other is not pin:
                found = f"a pin at place {pin.place} of the {pin.edge} edge, where GPIO{other.gpio} is"
                raise self._refuse("pins", str(pin.gpio), found, "a place of its own for every pin")

    def _source(self, table: str, key: str, short: object, where: str = "") -> Source:
        if not isinstance(short, str) or short not in self.sources:
            found = "without a source" if short is None else f"read in {as_found(short)}"
            known = word_list(self.sources) or "a source named in [sources]"
            raise self._refuse(table, key, found, known, nearest(short, self.sources))
        title, read = self.sources[short]
        return Source(title, where, read)

    def _text(self, key: str) -> str:
        found = self.table.get(key)
        if not is_text(found, LONGEST_TEXT):
            raise self._refuse("", key, _shown(found), TEXT)
        return found

    def _table(self, key: str) -> dict[str, Any]:
        found = self.table.get(key, {})
        if not isinstance(found, dict):
            raise self._refuse("", key, as_found(found), "a table")
        return found

    def _known(self, table: str, entry: object, allowed: Iterable[str], key: str = "") -> dict[str, Any]:
        """Return a table if it is one and has only allowed keys."""
        if not isinstance(entry, dict):
            raise self._refuse(table, key, as_found(entry), "a table")
        for name in entry:
            if name not in allowed:
                found = f"an entry with the key {as_found(name)}" if key else "not a known key"
                raise self._refuse(table, key or name, found, word_list(allowed), nearest(name, allowed))
        return entry

    def _refuse(self, table: str, key: str, found: str, allowed: str, near: str = "") -> StockError:
        top = Spot(self.spot.file, self.spot.text, 0 if key in self.table else 1)
        here = self.spot.inside(table) if table else top
        return here.error(key, found, allowed, near)


def _is_whole(found: object, least: int, most: int) -> TypeGuard[int]:
    return isinstance(found, int) and not isinstance(found, bool) and least <= found <= most


def _is_list(found: object) -> bool:
    return isinstance(found, list)


def _shown(found: object) -> str:
    return "missing" if found is None else as_found(found)
