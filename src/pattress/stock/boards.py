"""Controller boards: what each pin can do, what it does while the board starts, and its limits.

A board is one TOML file in `stock/boards/`; every figure and every kind of fact names its
source. A user's own file is read beside them and wins; with ``like = "esp32"`` it only says
what differs from a board of the stock::

    type = "my-board"
    like = "esp32"
    [pins]
    16 = { reserved = "extra memory" }

Where boards that go by one name differ, the stock has one that stands for the kind and says of
each such pin how it `differs`, and one for each of them, which names it as `kind_of`.
"""

from collections.abc import Iterable, Iterator, Mapping
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

from pattress.refusal import nearest
from pattress.stock.board import Board, Pin, Pulse, Stated, Strap
from pattress.stock.board_reading import Reader
from pattress.stock.record import Spot, own_text, parse_toml

__all__ = ["Board", "Boards", "Pin", "Pulse", "Stated", "Strap", "load_boards", "nearest_type", "read_board"]

FOLDER = Path(__file__).parent / "boards"
NOT_LIKE = ("like", "kind_of", "called")          # what a board never has from the one it is like


class Boards(Mapping[str, Board]):
    """The boards by type, those of the stock read when they are asked for: most jobs ask for one."""

    def __init__(self, own: Mapping[str, Board] = MappingProxyType({})):
        self._own = MappingProxyType(dict(own))
        self._types = tuple(dict.fromkeys((*_stock_types(), *own)))

    def __getitem__(self, name: str) -> Board:
        return self._own[name] if name in self._own else _of_stock(name)[0]

    def __iter__(self) -> Iterator[str]:
        return iter(self._types)

    def __len__(self) -> int:
        return len(self._types)

    def __contains__(self, name: object) -> bool:
        return name in self._types

    def __eq__(self, other: object) -> bool:
        return dict(self._own) == dict(other._own) if isinstance(other, Boards) else NotImplemented

    __hash__ = None     # type: ignore[assignment]     # compared by its boards, so no key of a table

    @property
    def own(self) -> tuple[str, ...]:
        """Return the types that are from a person's own files, the latest first."""
        return tuple(reversed(self._own))

    def beside(self, board: Board) -> "Boards":
        """Return these boards and one of a person's own, which wins."""
        return Boards({**{name: one for name, one in self._own.items() if name != board.type}, board.type: board})


Read = tuple[Board, dict[str, Any]]


def load_boards(own: Iterable[Path] = ()) -> Boards:
    """Return the boards of the stock by type, with a person's own files read last, each of which may be like one before.

    Raises StockError naming file, line and key when a file cannot be used.
    """
    read: dict[str, Read] = {}
    for path in own:
        board, table = _read(own_text(path, "a board file"), str(path), read)
        read[board.type] = board, table
    return Boards({name: board for name, (board, _) in read.items()})


def read_board(text: str, file: str) -> Board:
    """Return the board in the text of a person's own file, which may be like one of the stock. Raises StockError."""
    return _read(text, file, {})[0]


def _read(text: str, file: str, before: Mapping[str, Read]) -> Read:
    """Return the board in a text and the table it was read from; it may be like one of the stock or one that was read before."""
    table, spot = parse_toml(text, file), Spot(file, text)
    reader = Reader(spot, table)
    if "like" in table:
        name = reader.one_of("like", tuple(dict.fromkeys((*_stock_types(), *before))))
        reader.table = _merged((before[name] if name in before else _of_stock(name))[1], table)
    return reader.board(), reader.table


def nearest_type(found: str, boards: Mapping[str, Board]) -> str:
    """Return the type of the board that is most likely meant by a name, be it a type or what people call one; "" when none is near."""
    names = {name: name for name in boards}
    for board in boards.values():
        names |= {name: board.type for name in board.called if name not in names}
    plain = {_plain(name): name for name in reversed(names)}
    near = plain.get(_plain(found)) or nearest(found, names)
    return names[near] if near else ""


def _plain(name: str) -> str:
    return "".join(sign for sign in name.casefold() if sign.isalnum())


@cache
def _stock_types() -> tuple[str, ...]:
    return tuple(path.stem for path in sorted(FOLDER.glob("*.toml")))


@cache
def _of_stock(name: str) -> Read:
    """Return a board of the stock, whose file is named for its type. Raises KeyError."""
    if name not in _stock_types():
        raise KeyError(name)
    file = f"{name}.toml"
    return _read((FOLDER / file).read_text(encoding="utf-8"), file, {})


def _merged(base: Mapping[str, Any], own: Mapping[str, Any]) -> dict[str, Any]:
    """Return `base` with the entries of `own` over it, tables entry by entry."""
    merged = {key: value for key, value in base.items() if key not in NOT_LIKE}
    for key, value in own.items():
        both = isinstance(value, Mapping) and isinstance(merged.get(key), Mapping)
        merged[key] = _merged(merged[key], value) if both else value
    return merged
