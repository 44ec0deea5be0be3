"""TOML text into a document, or what is wrong with the text, in plain words."""

import re
import tomllib
from collections.abc import Iterator
from typing import Any

from pattress.incoming import FileRefusal, refuse_depths, refuse_walls
from pattress.job.places import Places
from pattress.job.problem import JobError, Problem, key_path

MOST_SLIPS = 20              # of syntax, reported in one go

VALUES = 'text in quotes such as "75 W", a number, true or false, a [list], or a { table }'
_AT = re.compile(r" \(at (?:line (\d+), column (\d+)|end of document)\)$")
_STATEMENT = re.compile(r"""\s*[\w."'-]+(?:\s*\.\s*[\w"'-]+)*\s*=\s*([^#\n]*)""")
_BARE_VALUE = re.compile(r"""[^\s"'\[\]{}=,#](?:[^"'\[\]{}=#]*[^\s"'\[\]{}=,#])?""")
_CURLY = "“”„‟«»‘’‚‛"        # what a word processor makes of quotes
_OPEN = 'a table on one line such as { section = "1.5 mm2", length = "8 m" }'
_NUMBER_LIKE = re.compile(r"[-+0-9.:_]+")

# What tomllib says, and what we say: the thing found, then what is allowed.
_WORDS = (
    ("Invalid value", "a value that is not written as one", VALUES),
    ("Expected newline or end of document", "something more after a value", "one value on a line"),
    ("Expected '='", "a key without '='", 'key = value, such as power = "75 W"'),
    ("Invalid statement", "neither a key nor a [table]", 'key = value, or a [table] header such as [load.pendant]'),
    ("Invalid initial character for a key part", "a key that starts with a sign", "letters, digits, _ and -, or a key in quotes"),
    ("Unclosed array", "a list that is not closed", 'a list such as ["toggle pendant"]'),
    ("Unclosed inline table", "a table that is not closed", _OPEN),
    ("Expected ']'", "a [table] header that is not closed", "a header such as [load.pendant]"),
    ("Unterminated string", "a text that is not closed", "text in quotes, closed on the same line"),
    ("Unescaped '\\'", "a backslash in a text", "\\\\ for a backslash, or the text between single quotes"),
    ("Invalid date or datetime", "a day or time that does not exist", "a day such as 2026-11-25"),
    ("Invalid hex value", "an escape that is not hexadecimal", "\\u with four or \\U with eight hexadecimal digits"),
    ("Escaped character is not", "an escape that names no character", "\\u with four or \\U with eight hexadecimal digits"),
    ("Illegal character '\\n'", "a text that is not closed", "text in quotes, closed on the same line"),
    ("Illegal character", "a character that cannot be seen", "text without control characters"),
    ("Cannot", "a key or table that is there already", "each key once, and all keys of a { table } inside its brackets"),
    ("Found invalid character", "a character that may not stand here", "text without control characters or open quotes"),
)
_TWICE = ("Cannot overwrite a value", "Cannot declare", "Duplicate inline table key", "Cannot mutate", "Cannot redefine")
_GO_ON = ("Invalid value", "Expected newline or end of document", "Expected '='", "Invalid statement")


def document(text: str, file: str) -> dict[str, Any]:
    """Return the document a TOML text holds, raising JobError with every slip that can be told apart."""
    try:
        refuse_walls(text)
        return refuse_depths(tomllib.loads(text))
    except FileRefusal as wall:
        raise JobError([refused(wall, file)]) from None
    except (ValueError, RecursionError):
        raise JobError(_slips(text, file)) from None


def refused(refusal: FileRefusal, file: str) -> Problem:
    """Return what the guard of files that come in has refused as a problem of the job file."""
    return Problem(file, refusal.line, refusal.column, "", refusal.found, refusal.allowed)


def _slips(text: str, file: str) -> Iterator[Problem]:
    """Yield the slips of syntax: after one that spoils only its own line, that line is left out."""
    lines, last = text.split("\n"), 0
    for _ in range(MOST_SLIPS):
        whole = "\n".join(lines)
        try:
            tomllib.loads(whole)
            return
        except tomllib.TOMLDecodeError as error:
            message = str(error)
            line, column = _where(message, lines)
            problem = _twice(whole, file) if message.startswith(_TWICE) else None
            problem = problem or _problem(message, lines, file, line, column)
        except (ValueError, RecursionError):       # a number of thousands of digits, a nesting the guard missed
            yield Problem(file, 1, 1, "", "something that cannot be read as TOML", "numbers and lists of an ordinary size")
            return
        if problem.line is None or problem.line <= last:
            return
        yield problem
        last = problem.line
        if not message.startswith(_GO_ON) or not _STATEMENT.match(lines[last - 1]):
            return
        lines[last - 1] = ""


def _where(message: str, lines: list[str]) -> tuple[int, int]:
    """Return line and column that tomllib names; the end of the text is the last line with something on it."""
    at = _AT.search(message)
    if at and at[1]:
        return int(at[1]), int(at[2])
    number = next((n for n in range(len(lines), 0, -1) if lines[n - 1].strip()), 1)
    return number, len(lines[number - 1]) + 1


def _problem(message: str, lines: list[str], file: str, line: int, column: int) -> Problem:
    found, allowed = next(
        ((found, allowed) for start, found, allowed in _WORDS if message.startswith(start)),
        (f"not TOML: {_AT.sub('', message)}", VALUES),
    )
    found, allowed = _in_a_key(message, lines[line - 1], column) or (found, allowed)
    statement = _STATEMENT.match(lines[line - 1])
    likely = ""
    if message.startswith(("Unescaped", "Invalid hex value", "Escaped character")):
        column = lines[line - 1].rfind("\\", 0, column - 1) + 1 or column
    elif message.startswith("Unclosed"):
        number, statement = next(
            ((n, opening) for n in range(line, 0, -1) if (opening := _STATEMENT.match(lines[n - 1]))), (line, None)
        )
        if statement:
            line, column = number, statement.start(1) + 1
    elif statement and message.startswith(("Invalid value", "Expected newline")):
        value = statement[1].strip()
        if value.strip(_CURLY) != value:
            found, column = f"curly quotes around a text: {value[:60]}", statement.start(1) + 1
            allowed, likely = 'plain quotes, "', f'"{value.strip(_CURLY)[:60]}"'
        elif _NUMBER_LIKE.fullmatch(value):
            found, column = f"a number or day that is not written as one: {value[:60]}", statement.start(1) + 1
            allowed = "a number without leading zeros, such as 7 or 0.5, or a day such as 2026-11-25"
        elif _BARE_VALUE.fullmatch(value):
            found, column = f"text without quotes: {value[:60]}", statement.start(1) + 1
            allowed, likely = VALUES, f'"{value[:60]}"'
    return Problem(file, line, column, "", found, allowed, likely)


def _in_a_key(message: str, line: str, column: int) -> tuple[str, str] | None:
    """Return what stands in a key, or in the name of a table, that may not stand there, and what may; None for any other slip."""
    if not message.startswith(("Expected '='", "Expected ']'", "Invalid initial character", "Invalid statement")):
        return None
    here, before = line[column - 1 : column], line[: column - 1]
    if not here.strip() and message.startswith("Invalid initial"):
        return "a table that goes on in the next line", _OPEN
    is_header = line.lstrip().startswith("[")
    where = "the name of a [table]" if is_header else "a key"
    letters = f"{'a header such as [load.pendant]' if is_header else 'a key'} of the letters a to z, digits, _ and -"
    if here.isalnum() and not here.isascii():
        return f"{here!r} in {where}", letters
    if is_header and before.endswith((" ", "\t")) and "]" in line:
        return f"a space in {where}", letters
    return None


def _twice(text: str, file: str) -> Problem | None:
    """Return the first key that is given twice, with where it was given first."""
    places = Places(text)
    if not places.twice:
        return None
    path, first, second = places.twice[0]
    line, column = places.position(second.start)
    return Problem(
        file, line, column, key_path(path), f"given twice, first in line {places.position(first.start)[0]}", "each key once"
    )
