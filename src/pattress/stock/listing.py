"""The boards of the stock as a person looks one up: types, names that people use, and each pin with what is printed beside it."""

from collections.abc import Iterator, Mapping

from pattress.stock.board import Board, Pin


def in_order(boards: Mapping[str, Board]) -> tuple[Board, ...]:
    """Return boards by type, so that those of one kind stand together."""
    return tuple(boards[name] for name in sorted(boards))


def called(board: Board) -> str:
    """Return what a board is, and what people call it."""
    return board.title + (f"; called {', '.join(board.called)}" if board.called else "")


def printed(pin: Pin) -> str:
    """Return a pin's GPIO number and what is printed beside it where that is something else: "36 (VP)"."""
    return str(pin.gpio) if pin.label in ("", str(pin.gpio)) else f"{pin.gpio} ({pin.label})"


def pins(board: Board) -> str:
    """Return the pins of a board that a wire may take, in order along its edges."""
    return ", ".join(printed(pin) for pin in board.pins if pin.edge and not pin.reserved)


def uses(pin: Pin) -> str:
    """Return in words what keeps a wire off a pin or speaks against it, "" for nothing."""
    words = [f"taken: {pin.reserved}" if pin.reserved else "", "input only" if not pin.output else "", f"console: {pin.console}" if pin.console else "",
             f"driven by {pin.driven}" if pin.driven else "", f"read at reset: {pin.strap.role}" if pin.strap else "",
             f"has {pin.carries} on it" if pin.carries else "", f"differs: {pin.differs}" if pin.differs else ""]
    return "; ".join(word for word in words if word)


def document(boards: Mapping[str, Board]) -> str:
    """Return the page of all boards, in Markdown."""
    return "\n".join(_document(boards)) + "\n"


def _document(boards: Mapping[str, Board]) -> Iterator[str]:
    yield from ("# Boards", "", "Made from the files in `src/pattress/stock/boards` by `python -m tests.stock.boards_document > docs/boards.md`. "
                "`[board] type` in the job file takes one of these types; `[board] pins` takes GPIO numbers.",
                "A board of your own is [a file beside the job](how-to.md#your-own-board).", "",
                "Where boards that go by one name differ, the type without an ending stands for all of them: it takes pins in which they differ last, "
                "and says `unknown` when it does. The types below it say which board it is.", "",
                "| Type | Board | Also called |", "|---|---|---|")
    for board in in_order(boards):
        yield f"| `{board.type}` | {board.title}{f'; one of the kind `{board.kind_of}`' if board.kind_of else ''} | {', '.join(board.called)} |"
    for board in in_order(boards):
        yield from ("", f"## `{board.type}`", "", f"{board.title}; {board.view}.", "", "| Edge | Place | GPIO | Printed | While it starts | What speaks against it |",
                    "|---|---|---|---|---|---|")
        for pin in board.pins:
            if pin.edge:
                yield f"| {pin.edge} | {pin.place} | {pin.gpio} | {pin.label} | {pin.reset} | {uses(pin)} |"
