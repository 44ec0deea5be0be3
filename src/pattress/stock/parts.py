"""Parts to choose from: relays, drivers, supplies, fuses ..., with every figure's source.

The records are in `parts/*.toml`; a person's own file has the same form and comes first.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

from pattress.finding import Input, Source
from pattress.quantity import show
from pattress.refusal import as_found, nearest, word_list
from pattress.stock.credible import End, Known, taken
from pattress.stock.kinds import BOUNDS, KINDS, MAY_BE_ZERO, SHARES
from pattress.stock.record import LONGEST_NAME, Rating, Spot, StockError, is_text, own_text, parse_toml, read_rating, read_sources

LEFT_OUT = "the record gives none"


@dataclass(frozen=True, slots=True)
class Part:
    """One part: what is printed on its case, its kind, and its figures by name."""

    designation: str
    kind: str
    figures: Mapping[str, Rating]

    def rating(self, name: str) -> Rating:
        """Return a figure with its condition and source; an unknown one for what the record leaves out."""
        kind = KINDS[self.kind]
        if name not in kind.figures and name not in kind.words:
            raise KeyError(f"a {self.kind} has no figure {name!r}")
        return self.figures.get(name) or Rating(None, kind.figures.get(name, ""), why=LEFT_OUT)

    def known(self, name: str) -> float | None:
        """Return a figure in SI units, None where it is unknown."""
        return self.rating(name).number

    def value(self, name: str) -> float:
        """Return a figure in SI units. Raises StockError when it is unknown."""
        value = self.known(name)
        if value is None:
            raise StockError(f"{self.designation} has no {name.replace('_', ' ')}: {self.rating(name).why}")
        return value

    def taken(self, name: str, worse: End, *, best: bool = False) -> Known:
        """Return a figure as the sheet has it, else the `worse` end of what is credible, or with `best` the other end.

        Raises StockError where it is unknown and has no credible range.
        """
        try:
            return taken(self.rating(name), kind=self.kind, thing=self.designation, name=name, worse=worse, best=best)
        except KeyError:
            raise StockError(f"{self.designation} has no {name.replace('_', ' ')}: {self.rating(name).why}") from None

    def word(self, name: str) -> str:
        """Return a word of the record ("NPN"), "unknown" where it gives none."""
        return self.rating(name).word or "unknown"

    def source(self, name: str) -> Source | None:
        """Return where a figure was read."""
        return self.rating(name).source

    def input(self, name: str, label: str = "") -> Input:
        """Return a figure as an input of a finding."""
        rating = self.rating(name)
        origin = f"{self.designation}, {rating.at or rating.why}".rstrip(", ")
        return Input(label or name.replace("_", " "), rating.figure, origin, rating.source)


@dataclass(frozen=True, slots=True)
class Parts:
    """All parts by designation, those of the person's own file first."""

    by_designation: Mapping[str, Part]
    replaced: tuple[str, ...] = ()            # designations of the stock for which a part of that file stands

    def __getitem__(self, designation: str) -> Part:
        """Return a part. Raises StockError with the nearest designation when there is none."""
        try:
            return self.by_designation[designation]
        except KeyError:
            likely = nearest(designation, self.by_designation)
            advice = f"\n  nearest: {likely}" if likely else ""
            raise StockError(f"no part {as_found(designation)} in stock{advice}") from None

    def __contains__(self, designation: object) -> bool:
        return designation in self.by_designation

    def __iter__(self) -> Iterator[Part]:
        return iter(self.by_designation.values())

    def __len__(self) -> int:
        return len(self.by_designation)

    def of(self, kind: str) -> tuple[Part, ...]:
        """Return all parts of a kind, in order of preference."""
        return tuple(part for part in self if part.kind == kind)


def load_parts(extra: Path | None = None) -> Parts:
    """Return the stock of parts, with the parts of a person's own file in front and winning.

    Raises StockError naming file, line and key when the file cannot be read as parts.
    """
    own: dict[str, Part] = {}
    if extra is not None:
        own = read_parts(own_text(extra, "a parts file"), str(extra))
    shipped = _shipped()
    return Parts(own | {name: part for name, part in shipped.items() if name not in own}, tuple(name for name in own if name in shipped))


@cache
def _shipped() -> dict[str, Part]:
    found: dict[str, Part] = {}
    folder = files(__package__).joinpath("parts")
    for file in sorted(folder.iterdir(), key=lambda file: file.name):
        if file.name.endswith(".toml"):
            found |= read_parts(file.read_text("utf-8"), file.name)
    return found


def read_parts(text: str, file: str) -> dict[str, Part]:
    """Return the parts in a text by designation. Raises StockError naming `file`, line and key."""
    table = parse_toml(text, file)
    top = Spot(file, text)
    for key in table:
        if key not in ("sources", "part"):
            raise top.error(key, "not known here", "sources, part", nearest(key, ("sources", "part")))
    sources = read_sources(table, top)
    records = table.get("part", [])
    if not isinstance(records, list):
        raise top.error("part", as_found(records), "[[part]], once for each part")
    found: dict[str, Part] = {}
    for number, record in enumerate(records):
        spot = top.nth("[[part]]", number, f"part {number + 1}")
        part = _read_part(record, sources, spot)
        if part.designation in found:
            raise spot.error("designation", f"{as_found(part.designation)} a second time", "each part once in a file")
        found[part.designation] = part
    return found


def _read_part(record: dict[str, Any], sources: dict[str, tuple[str, bool]], spot: Spot) -> Part:
    for key in record:
        if key not in ("designation", "kind", "figures"):
            raise spot.error(
                key, "not known here", "designation, kind, figures", nearest(key, ("designation", "kind", "figures"))
            )
    designation, kind_name = record.get("designation"), record.get("kind")
    if not is_text(designation):
        raise spot.error("designation", as_found(designation), f"the type as printed on the case, at most {LONGEST_NAME} characters")
    spot = replace(spot, path=designation)
    if not isinstance(kind_name, str) or kind_name not in KINDS:
        raise spot.error("kind", as_found(kind_name), word_list(KINDS), nearest(kind_name, KINDS))
    kind = KINDS[kind_name]
    allowed = (*kind.figures, *kind.words)
    figures = record.get("figures", {})
    if not isinstance(figures, dict):
        raise spot.error("figures", as_found(figures), "a table")
    ratings = {}
    for name, entry in figures.items():
        if name not in allowed:
            raise spot.error(name, f"no figure of a {kind_name}", word_list(allowed), nearest(name, allowed))
        ratings[name] = read_rating(entry, kind.figures.get(name, ""), kind.words.get(name, ()), sources, spot, name)
        least, most = SHARES.get(name) or BOUNDS[kind.figures.get(name, "")]
        number = ratings[name].number
        if number is not None and not (least <= number <= most or number == 0.0 and name in MAY_BE_ZERO):
            unit = kind.figures[name]
            raise spot.error(name, as_found(entry["value"]), f"from {show(least, unit)} to {show(most, unit)}, as such figures are")
    for name in kind.needs:
        if name not in ratings or ratings[name].value is None:
            raise spot.error(name, "missing", f"a {kind_name} needs {word_list(kind.needs)}")
    return Part(designation, kind_name, ratings)
