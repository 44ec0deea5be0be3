"""Stock records: a TOML file of figures, each with its condition and its source, read strictly.

An error names the file, the line and the key, what was found, what is allowed and the nearest.
"""

import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeGuard

from pattress.errors import PattressError
from pattress.finding import Figure, Source
from pattress.incoming import FileRefusal, text_of, toml_of
from pattress.quantity import QuantityError, parse
from pattress.refusal import Refusal, advice, as_found, nearest, word_list
from pattress.visible import is_seen

UNKNOWN = "unknown"
LONGEST_NAME, LONGEST_TEXT = 60, 300       # characters
TEXT = f"a text in quotes on one line, at most {LONGEST_TEXT} characters"


class StockError(PattressError):
    """A parts or boards file cannot be used as it is. Usual cause: a mistyped key; try the nearest."""


@dataclass(frozen=True, slots=True)
class Rating:
    """One figure of a part: a number in SI units, a word, or None where the sheet gives none.

    `at` is the condition the figure holds at, `why` the reason for an unknown.
    """

    value: float | str | None
    unit: str = ""
    at: str = ""
    source: Source | None = None
    why: str = ""

    @property
    def number(self) -> float | None:
        """Return the figure in SI units, None for a word and for what is unknown."""
        return None if isinstance(self.value, str) else self.value

    @property
    def word(self) -> str | None:
        """Return the word, None for a number and for what is unknown."""
        return self.value if isinstance(self.value, str) else None

    @property
    def figure(self) -> Figure | str:
        """Return the figure as a finding shows it."""
        if self.value is None:
            return UNKNOWN
        return self.value if isinstance(self.value, str) else Figure(self.value, self.unit)


def own_text(file: Path, what: str) -> str:
    """Return the text of a person's own file, `what` such as "a parts file". Raises StockError when it cannot be read."""
    try:
        return text_of(file, what)
    except FileRefusal as refusal:
        raise StockError(refusal.at(file)) from None


def parse_toml(text: str, where: str) -> dict[str, Any]:
    """Return a TOML text as a table. Raises StockError naming file and line when it is none."""
    try:
        return toml_of(text)
    except FileRefusal as refusal:
        raise StockError(refusal.at(where)) from None


def read_sources(table: dict[str, Any], spot: "Spot") -> dict[str, tuple[str, bool]]:
    """Return title and `read` of every source by its short name."""
    sources = {}
    for name, entry in _table(table.get("sources", {}), spot, "sources").items():
        here = spot.inside(f"sources.{name}")
        entry = _table(entry, here, name)
        _known_keys(entry, ("title", "edition", "read"), here)
        title, edition, read = entry.get("title"), entry.get("edition", ""), entry.get("read")
        if not is_text(title, LONGEST_TEXT):
            raise here.error("title", as_found(title), "a title such as \"EXR-10 series datasheet\"")
        if edition != "" and not is_text(edition, LONGEST_TEXT):
            raise here.error("edition", as_found(edition), TEXT)
        if not isinstance(read, bool):
            raise here.error("read", as_found(read), "true when the source was read, false when from memory")
        sources[name] = (f"{title}, {edition}" if edition else title, read)
    return sources


def read_rating(
    entry: Any, unit: str, words: tuple[str, ...], sources: dict[str, tuple[str, bool]], spot: "Spot", name: str
) -> Rating:
    """Return one figure of a record; with `words` it must be one of them. Raises StockError."""
    entry = _table(entry, spot, name)
    _known_keys(entry, ("value", "at", "source", "where", "why"), spot, name)
    for key in ("at", "where", "why"):
        if entry.get(key, "") != "" and not is_text(entry[key], LONGEST_TEXT):
            raise spot.error(name, f"a figure whose {key!r} is {as_found(entry[key])}", TEXT)
    found = entry.get("value")
    if found == UNKNOWN:
        if not entry.get("why"):
            raise spot.error(name, "unknown without a reason", 'why = "what the sheet does not say"')
        return Rating(None, unit, why=entry["why"])
    short = entry.get("source")
    if not isinstance(short, str) or short not in sources:
        raise spot.error(name, f"source {as_found(short)}", word_list(sources), nearest(short, sources))
    title, read = sources[short]
    source = Source(title, entry.get("where", ""), read)
    if words:
        if found not in words:
            raise spot.error(name, as_found(found), word_list((*words, UNKNOWN)), nearest(found, words))
        return Rating(found, "", entry.get("at", ""), source)
    return Rating(_number(found, unit, spot, name), unit, entry.get("at", ""), source)


def _number(found: Any, unit: str, spot: "Spot", name: str) -> float:
    """Return a figure in SI units. A compound unit must be written just as the kind writes it."""
    if isinstance(found, str) and " " in found:
        number, _, written = found.partition(" ")
        if written == unit and re.fullmatch(r"\d+(\.\d+)?", number) and ("/" in unit or " " in unit):
            return float(number)
    try:
        return parse(found, unit)
    except QuantityError as problem:
        raise spot.refused(name, problem) from None


@dataclass(frozen=True, slots=True)
class Spot:
    """A table in a stock file: the `number`-th that starts with a line like `header`, so that an error can name the line."""

    file: str
    text: str
    first: int = 1           # line of the table where it has no header
    path: str = ""
    header: str = ""
    number: int = 0

    @property
    def line(self) -> int:
        """Return the line at which the table starts; looked for only when an error asks."""
        seen = -1
        for line, text in enumerate(self.text.split("\n"), 1) if self.header else ():
            seen += text.split("#")[0].strip() == self.header
            if seen == self.number:
                return line
        return self.first

    def inside(self, header: str) -> "Spot":
        """Return the table of that header, e.g. ``sources.sheet``."""
        return self.nth(f"[{header}]", 0, header)

    def nth(self, header: str, number: int, path: str) -> "Spot":
        """Return the n-th table that starts with a line like `header`."""
        return Spot(self.file, self.text, 1, path, header, number)

    def error(self, key: str, found: str, allowed: str, likely: str = "") -> StockError:
        """Return the error for a key of this table."""
        path = ".".join(part if is_text(part) else as_found(part) for part in (self.path, key) if part)
        return StockError(f"{self.file}:{self._line_of(key)}: {path} is {found}{advice(allowed, likely)}")

    def refused(self, key: str, problem: Refusal) -> StockError:
        """Return the error for a key whose text was refused by one of the program's readers."""
        return self.error(key, problem.found, problem.allowed, problem.nearest)

    def _line_of(self, key: str) -> int:
        lines, start = self.text.split("\n"), self.line
        own = f"[{self.path}.{key}]"             # a table of its own
        for line, text in enumerate(lines, 1):
            if text.split("#")[0].strip() == own:
                return line
        for line in range(start, len(lines)):
            text = lines[line].strip()
            if text.startswith(("[[", "[sources")):
                break
            if re.match(rf"\"?{re.escape(key)}\"?\s*=", text):
                return line + 1
        return start


def is_text(found: object, longest: int = LONGEST_NAME) -> TypeGuard[str]:
    """Return whether a value is a text that can be printed on one line and seen."""
    return isinstance(found, str) and len(found) <= longest and is_seen(found)


def _table(found: Any, spot: Spot, name: str) -> dict[str, Any]:
    if not isinstance(found, dict):
        raise spot.error(name, as_found(found), "a table")
    return found


def _known_keys(entry: dict[str, Any], allowed: tuple[str, ...], spot: Spot, name: str = "") -> None:
    for key in entry:
        if key not in allowed:
            raise spot.error(name or key, f"a table with the key {as_found(key)}", word_list(allowed), nearest(key, allowed))
