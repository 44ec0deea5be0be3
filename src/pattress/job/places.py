"""Where in a TOML text each key and value stands.

The parser of the standard library keeps no positions, so this walks the text again and notes
them. It checks nothing: a text that is no TOML is walked as far as it makes sense, and what was
noted until then stays true. The tests read every noted value on its own and compare.
"""

import re
from dataclasses import dataclass
from tomllib import loads

from pattress.job.problem import Path

DEEPEST = 8          # parts of a path noted; a job file needs six

_SPACE = re.compile(r"[ \t]*")
_GAP = re.compile(r"(?:[ \t\n]|#[^\n]*)*")
_REST_OF_LINE = re.compile(r"[^\n]*")
_KEY = re.compile(r"""[A-Za-z0-9_-]+|"(?:\\.|[^"\\\n])*"|'[^'\n]*'""")
_SCALAR = re.compile(
    r'''"""(?:\\.|[^\\])*?""""{0,2}|\'\'\'.*?\'\'\''{0,2}|"(?:\\.|[^"\\\n])*"|'[^'\n]*\''''
    r"""|[0-9]{4}-[0-9]{2}-[0-9]{2} [0-9]{2}:[^\s,\]}#]*|[^\s,\]}#\[{"']+""",
    re.DOTALL,
)


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch of text: offsets of its first character and of the one after its last."""

    start: int
    end: int


class _Lost(Exception):
    """The text is no TOML here."""


class Places:
    """The spans of every key and value of a TOML text, by path.

    `twice` holds (path, first span, second span) of keys that are given more than once; `written`
    every place where a part of a key is written, as often as it is: the way of [load.pendant.run], too.
    """

    def __init__(self, text: str):
        self.text = text
        self.keys: dict[Path, Span] = {}
        self.values: dict[Path, Span] = {}
        self.twice: list[tuple[Path, Span, Span]] = []
        self.written: list[tuple[Path, Span]] = []
        self._tables: dict[Path, int] = {}            # how many so far under each [[header]]
        try:
            self._walk()
        except (_Lost, RecursionError):
            pass

    def position(self, offset: int) -> tuple[int, int]:
        """Return line and column of an offset, both from 1, the column in characters."""
        before = self.text[:offset]
        return before.count("\n") + 1, offset - before.rfind("\n")

    def of_key(self, path: Path) -> tuple[int, int]:
        """Return line and column of a key, or of the nearest table around it."""
        return self.position(self._nearest(path, self.keys))

    def of_value(self, path: Path) -> tuple[int, int]:
        """Return line and column of a value, or of the nearest table around it."""
        return self.position(self._nearest(path, self.values))

    def _nearest(self, path: Path, wanted: dict[Path, Span]) -> int:
        for length in range(min(len(path), DEEPEST), 0, -1):
            for known in (path[:length], _split(path[:length])):
                for spans in (wanted, self.keys, self.values) if length == len(path) else (self.keys, self.values):
                    if known in spans:
                        return spans[known].start
        return 0

    def _walk(self) -> None:
        text, at = self.text, 0
        table: Path = ()
        while (at := _after(_GAP, text, at)) < len(text):
            if text[at] == "[":
                table, at = self._header(at)
            else:
                at = self._pair(table, at)
            at = _after(_REST_OF_LINE, text, at)

    def _header(self, at: int) -> tuple[Path, int]:
        many = self.text.startswith("[[", at)
        parts, at = self._dotted(at + 1 + many)
        path: Path = ()
        for number, (part, span) in enumerate(parts, 1):
            last = number == len(parts)
            path = _longer(path, part)
            self.written.append((path, span))
            if last and not many and path in self.values:
                self.twice.append((path, self.values[path], span))
            self.keys.setdefault(path, span)
            if last and not many:                     # its own header, not one that only passes through
                self.keys[path] = self.values[path] = span
            if last and many:
                self._tables[path] = self._tables.get(path, 0) + 1
            if path in self._tables:
                path = _longer(path, self._tables[path] - 1)
                self.keys.setdefault(path, span)
        return path, at + 1 + many

    def _pair(self, table: Path, at: int) -> int:
        """Note one `key = value`; return the offset after it."""
        parts, at = self._dotted(at)
        path = table
        for number, (part, span) in enumerate(parts, 1):
            path = _longer(path, part)
            self.written.append((path, span))
            if number == len(parts) and path in self.keys and len(path) < DEEPEST:
                self.twice.append((path, self.keys[path], span))
            self.keys.setdefault(path, span)
        if not self.text.startswith("=", at):
            raise _Lost
        return self._value(path, _after(_SPACE, self.text, at + 1))

    def _dotted(self, at: int) -> tuple[list[tuple[str, Span]], int]:
        parts = []
        while True:
            key = _KEY.match(self.text, _after(_SPACE, self.text, at))
            if key is None:
                raise _Lost
            parts.append((_plain(key[0]), Span(*key.span())))
            at = _after(_SPACE, self.text, key.end())
            if not self.text.startswith(".", at):
                return parts, at
            at += 1

    def _value(self, path: Path, start: int) -> int:
        first = self.text[start : start + 1]
        if first == "[":
            end = self._items(path, start + 1, "]")
        elif first == "{":
            end = self._items(path, start + 1, "}")
        else:
            scalar = _SCALAR.match(self.text, start)
            if scalar is None:
                raise _Lost
            end = scalar.end()
        self.values.setdefault(path, Span(start, end))
        return end

    def _items(self, path: Path, at: int, close: str) -> int:
        """Note the items of a list or inline table; return the offset after its closing bracket."""
        number = 0
        while True:
            at = _after(_GAP, self.text, at)
            if self.text.startswith(close, at):
                return at + 1
            at = self._value(_longer(path, number), at) if close == "]" else self._pair(path, at)
            number += 1
            at = _after(_GAP, self.text, at)
            if self.text.startswith(",", at):
                at += 1
            elif not self.text.startswith(close, at):
                raise _Lost


def _after(pattern: re.Pattern[str], text: str, at: int) -> int:
    """Return the offset after a pattern that may be empty, or `at` where it is not found."""
    match = pattern.match(text, at)
    return match.end() if match else at


def _longer(path: Path, part: str | int) -> Path:
    return (*path, part) if len(path) < DEEPEST else path


def _plain(key: str) -> str:
    if key[0] == '"':
        try:
            return str(loads(f"key = {key}")["key"])
        except ValueError:
            raise _Lost from None
    return key[1:-1] if key[0] == "'" else key


def _split(path: Path) -> Path:
    """Return a path with keys joined by dots taken apart again."""
    parts: list[str | int] = []
    for part in path:
        parts += part.split(".") if isinstance(part, str) else [part]
    return tuple(parts)
