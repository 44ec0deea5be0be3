"""The tables that ship with the stock, read once: values and the sources they name."""

from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from pattress.finding import Source
from pattress.stock.record import Spot, parse_toml, read_sources


@dataclass(frozen=True, slots=True)
class Table:
    """One shipped file: its entries and its sources by short name."""

    entries: dict[str, Any]
    sources: dict[str, tuple[str, bool]]

    def __getitem__(self, name: str) -> Any:
        return self.entries[name]

    def source(self, short: str, where: str = "") -> Source:
        """Return the source with that short name."""
        title, read = self.sources[short]
        return Source(title, where, read)


@cache
def table(name: str) -> Table:
    """Return a shipped table by the name of its file."""
    file = f"{name}.toml"
    text = files(__package__).joinpath(file).read_text("utf-8")
    entries = parse_toml(text, file)
    return Table(entries, read_sources(entries, Spot(file, text)))
