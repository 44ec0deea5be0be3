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
                "Boards of one name may differ in some pins. The type without an ending stands for all of them: such pins are assigned last, "
                "and a check is then `unknown`. A type with an ending names one of them.", "",
                "| Type | Board | Also called |", "|---|---|---|")
    for board in in_order(boards):
        yield f"| `{board.type}` | {board.title}{f'; one of the kind `{board.kind_of}`' if board.kind_of else ''} | {', '.join(board.called)} |"
    for board in in_order(boards):
        rows, before = pin_rows(board), same_header(board, boards)
        if before is not None:
            rows = tuple(row for row in rows if row not in pin_rows(before))
        as_before = f" Pins as on [`{before.type}`](#{before.type}){', but for these' if rows else ''}." if before else ""
        yield from ("", f"## `{board.type}`", "", f"{board.title}; {board.view}.{as_before}")
        if rows:
            yield from ("", "| Edge | Place | GPIO | Printed | While it starts | What speaks against it |", "|---|---|---|---|---|---|", *rows)


def pin_rows(board: Board) -> tuple[str, ...]:
    """Return a row of the page for each pin at an edge of a board."""
    return tuple(f"| {pin.edge} | {pin.place} | {pin.gpio} | {pin.label} | {pin.reset} | {uses(pin)} |" for pin in board.pins if pin.edge)


def same_header(board: Board, boards: Mapping[str, Board]) -> Board | None:
    """Return the first board of the page that has the same pins at the same places, None if that is this one."""
    first = next(other for other in in_order(boards) if _header(other) == _header(board))
    return None if first.type == board.type else first


def _header(board: Board) -> tuple[tuple[str, int | None, int, str], ...]:
    return tuple((pin.edge, pin.place, pin.gpio, pin.label) for pin in board.pins if pin.edge)
