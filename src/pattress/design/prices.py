"""What changes of a design cost, and what parts cost.

Prices of changes are whole numbers that order them by trouble and money. The shipped ones are in
`prices.toml`; a person's own file of the same form wins key by key. Only such a file knows prices of
parts: a `currency`, and under [part] money by designation.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from importlib.resources import files
from pathlib import Path
from typing import Any

from pattress.refusal import as_found, nearest, word_list
from pattress.stock.record import Spot, own_text, parse_toml

MOST = 100_000
LONGEST_CURRENCY = 10


@dataclass(frozen=True, slots=True)
class Prices:
    """Prices of changes by table and key, such as ``prices["relay", "change"]``; prices of parts by what the parts list calls them."""

    of: Mapping[tuple[str, str], int]
    currency: str = ""
    parts: Mapping[str, Decimal] = field(default_factory=dict)

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
    text = own_text(own, "a file of prices")
    table, top = parse_toml(text, str(own)), Spot(str(own), text)
    currency, parts = table.pop("currency", ""), table.pop("part", {})
    return Prices(found | _read(table, top, shipped), *_money(currency, parts, top))


def _read(tables: Mapping[str, Any], top: Spot, shipped: Mapping[str, Mapping[str, int]]) -> dict[tuple[str, str], int]:
    found: dict[tuple[str, str], int] = {}
    for table, row in tables.items():
        if table not in shipped:
            allowed = (*shipped, "part", "currency")
            raise top.error(table, "not known here", word_list(allowed), nearest(table, allowed))
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


def _money(currency: Any, parts: Any, top: Spot) -> tuple[str, dict[str, Decimal]]:
    if not isinstance(parts, dict):
        raise top.error("part", as_found(parts), "a table of prices by designation")
    if not isinstance(currency, str) or len(currency) > LONGEST_CURRENCY or not currency.isprintable() or (parts and not currency.strip()):
        raise top.error("currency", as_found(currency), f'a word of at most {LONGEST_CURRENCY} letters, such as "EUR", where there are prices of parts')
    spot, found = top.inside("part"), {}
    for name, price in parts.items():
        if isinstance(price, bool) or not isinstance(price, int | float) or not 0 <= price <= MOST:
            raise spot.error(name, as_found(price), f"a number from 0 to {MOST}")
        found[name] = Decimal(str(price))
    return currency.strip(), found
