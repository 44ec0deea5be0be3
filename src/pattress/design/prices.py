"""What changes of a design cost: whole numbers that order them by trouble and money.

The shipped prices are in `prices.toml`; a person's own file of the same form wins key by key.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from typing import Any

from pattress.refusal import as_found, nearest, word_list
from pattress.stock.record import Spot, StockError, parse_toml

MOST = 100_000


@dataclass(frozen=True, slots=True)
class Prices:
    """Prices by table and key, such as ``prices["relay", "change"]``."""

    of: Mapping[tuple[str, str], int]

    def __getitem__(self, key: tuple[str, str]) -> int:
        return self.of[key]


def load_prices(own: Path | None = None) -> Prices:
    """Return the prices, those of a person's own file winning.

    Raises StockError naming file, line and key when that file cannot be used.
    """
    shipped = parse_toml(files(__package__).joinpath("prices.toml").read_text("utf-8"), "prices.toml")
    found = {(table, key): price for table, row in shipped.items() for key, price in row.items()}
    if own is None:
        return Prices(found)
    try:
        text = own.read_text("utf-8")
    except (OSError, UnicodeDecodeError) as problem:
        raise StockError(f"{own}: {getattr(problem, 'strerror', None) or problem}") from None
    return Prices(found | _read(text, str(own), shipped))


def _read(text: str, file: str, shipped: Mapping[str, Mapping[str, int]]) -> dict[tuple[str, str], int]:
    found: dict[tuple[str, str], int] = {}
    top = Spot(file, text)
    for table, row in parse_toml(text, file).items():
        if table not in shipped:
            raise top.error(table, "not known here", word_list(shipped), nearest(table, shipped))
        spot = top.inside(table)
        if not isinstance(row, dict):
            raise top.error(table, as_found(row), "a table")
        for key, price in row.items():
            if key not in shipped[table]:
                raise spot.error(key, "not known here", word_list(shipped[table]), nearest(key, shipped[table]))
            found[table, key] = _price(price, spot, key)
    return found


def _price(price: Any, spot: Spot, key: str) -> int:
    if not isinstance(price, int) or isinstance(price, bool) or not 0 <= price <= MOST:
        raise spot.error(key, as_found(price), f"a whole number from 0 to {MOST}")
    return price
