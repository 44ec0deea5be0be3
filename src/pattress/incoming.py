"""The one way in for a file that a person, or somebody else, hands over: its text, and the TOML or JSON in it.

No such file can hang, flood or break the program: only an ordinary file is opened, so much of it is read and no more, and
lines, nesting and numbers that no person writes are refused before anything walks them.
"""

import json
import os
import re
import stat
import tomllib
from os import PathLike
from typing import Any, NoReturn

from pattress.refusal import Refusal

LARGEST = 256 * 1024         # bytes; the job of a large house is a tenth of it, all parts that ship are a fifth
DEEPEST_NESTING = 24
LONGEST_LINE = 2000          # characters
_TOKEN = re.compile(r"""\"{3}(?:\\.|[^\\])*?\"{3}|'{3}.*?'{3}|"(?:\\.|[^"\\\n])*"|'[^'\n]*'|#[^\n]*|[\[\]{}]""", re.DOTALL)
_AT = re.compile(r" \(at line (\d+), column (\d+)\)$")
UTF_8 = "a file saved as UTF-8"


class FileRefusal(Refusal):
    """A file, or the text in it, cannot be taken. `line` and `column` count from 1, None for the file as a whole."""

    def __init__(self, found: str, allowed: str, line: int | None = None, column: int | None = None):
        super().__init__(found, allowed)
        self.line, self.column = line, column

    def at(self, file: str | PathLike[str]) -> str:
        """Return the refusal as a message that names the file."""
        return f"{file}{f':{self.line}' if self.line else ''}: {self.found}\n  allowed: {self.allowed}"


def content_of(path: str | PathLike[str], what: str, largest: int = LARGEST) -> bytes:
    """Return the bytes of an ordinary file; `what` is such as "a parts file", and may say after a semicolon how to get one. Raises FileRefusal.

    A pipe or a device is never waited for, be it put in the place of the file while it is opened.
    """
    wanted = f"the path of {what}"
    try:
        _refuse_other_kinds(os.stat(path).st_mode, wanted)
        with open(path, "rb", opener=_without_waiting) as stream:
            _refuse_other_kinds(os.fstat(stream.fileno()).st_mode, wanted)
            content = stream.read(largest + 1)
    except FileRefusal:
        raise
    except (FileNotFoundError, ValueError):        # ValueError: a name with a zero byte
        raise FileRefusal("it is not there", wanted) from None
    except OSError as error:
        raise FileRefusal(f"it cannot be read: {error.strerror}", "a file that you may read") from None
    if len(content) > largest:
        raise FileRefusal(f"it is larger than any {what.partition(';')[0].partition(' ')[2]}", f"at most {largest // 1024} KiB")
    return content


def text_of(path: str | PathLike[str], what: str, largest: int = LARGEST) -> str:
    """Return the text of an ordinary file, without a byte order mark. Raises FileRefusal."""
    return decoded(content_of(path, what, largest)).removeprefix("\ufeff")


def decoded(content: bytes) -> str:
    """Return bytes as text, a byte order mark kept. Raises FileRefusal with the place of the first byte that is none."""
    try:
        return content.decode("utf-8")
    except UnicodeDecodeError as error:
        good = content[: error.start].decode("utf-8").removeprefix("\ufeff").replace("\r\n", "\n")
        line, column = good.count("\n") + 1, len(good) - good.rfind("\n")
        raise FileRefusal(f"the byte 0x{content[error.start]:02x} is no text here", UTF_8, line, column) from None


def toml_of(text: str) -> dict[str, Any]:
    """Return the document of a TOML text. Raises FileRefusal with line and column."""
    refuse_walls(text)
    try:
        return refuse_depths(tomllib.loads(text))
    except tomllib.TOMLDecodeError as error:
        at = _AT.search(str(error))
        raise FileRefusal(f"it is no TOML: {error}", "a TOML file", *(map(int, at.groups()) if at else ())) from None
    except (ValueError, RecursionError) as error:
        _refuse_sizes(error, "TOML")


def json_of(text: str) -> Any:
    """Return the value of a JSON text. Raises FileRefusal with line and column."""
    refuse_walls(text, longest_line=len(text))
    try:
        return json.loads(text, parse_constant=_no_number)
    except json.JSONDecodeError as error:
        raise FileRefusal(f"line {error.lineno} is no JSON", "a JSON file", error.lineno, error.colno) from None
    except (ValueError, RecursionError) as error:
        _refuse_sizes(error, "JSON")


def refuse_walls(text: str, longest_line: int = LONGEST_LINE) -> None:
    """Raise FileRefusal for lines and nestings that no person writes and that would take a parser minutes."""
    for number, written in enumerate(text.split("\n"), 1):
        if len(written) > longest_line:
            raise FileRefusal(f"a line of {len(written)} characters", f"at most {longest_line}", number, 1)
    depth = 0
    for token in _TOKEN.finditer(text):
        depth = max(0, depth + (token[0] in "[{") - (token[0] in "]}"))
        if depth > DEEPEST_NESTING:
            line = text.count("\n", 0, token.start()) + 1
            column = token.start() - text.rfind("\n", 0, token.start())
            raise FileRefusal("brackets within brackets, too deep", f"at most {DEEPEST_NESTING} open at a time", line, column)


def refuse_depths(document: dict[str, Any]) -> dict[str, Any]:
    """Return a document; raise FileRefusal where keys joined by dots lie deeper in one another than anything walks them."""
    level: list[Any] = [document]
    for _ in range(DEEPEST_NESTING):
        level = [inner for table in level for inner in (table.values() if isinstance(table, dict) else table) if isinstance(inner, (dict, list))]
        if not level:
            return document
    raise FileRefusal("keys within keys, too deep", f"at most {DEEPEST_NESTING} in one another")


def _without_waiting(path: str, flags: int) -> int:
    return os.open(path, flags | getattr(os, "O_NONBLOCK", 0))


def _refuse_other_kinds(mode: int, wanted: str) -> None:
    if not stat.S_ISREG(mode):
        raise FileRefusal("it is a folder" if stat.S_ISDIR(mode) else "it is no ordinary file", wanted)


def _refuse_sizes(error: Exception, kind: str) -> NoReturn:
    if isinstance(error, FileRefusal):
        raise error
    raise FileRefusal(f"something that cannot be read as {kind}", "numbers and lists of an ordinary size", 1, 1) from None


def _no_number(word: str) -> NoReturn:
    raise FileRefusal(f"{word}, which is no number", "finite numbers")
