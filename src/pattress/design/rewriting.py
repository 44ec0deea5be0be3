"""Writing changes into a job file: comments, order and everything else stay as they were.

The new text is read back before it goes anywhere: it must give exactly the job that was meant.
"""

from collections.abc import Iterable, Mapping, MutableMapping
from pathlib import Path as FilePath
from typing import Any

from pattress.design.choices import Edit
from pattress.errors import UseError
from pattress.job import Job, JobError, read
from pattress.job.problem import Path, key_path
from pattress.whole import write_whole

BYTE_ORDER_MARK = "\ufeff"


def write_changes(file: FilePath, edits: Iterable[Edit], meant: Job) -> None:
    """Write edits into a job file, whole or not at all.

    Raises UseError, and leaves the file alone, when the changed text would not read back as the
    job that was meant, would lose a comment, or cannot be written.
    """
    text = file.read_bytes().decode("utf-8")
    write_whole(file, rewritten(text, tuple(edits), meant, str(file)))


def rewritten(text: str, edits: tuple[Edit, ...], meant: Job, file: str) -> str:
    """Return a job file's text with edits.

    Raises UseError when it would not read back as the job that was meant, or would lose a comment.
    """
    changed = edited(text, edits, file)
    try:
        again, _ = read(changed.removeprefix(BYTE_ORDER_MARK), file)
    except JobError as problem:
        raise _left_alone(file, edits, str(problem)) from None
    if again != meant:
        raise _left_alone(file, edits, "the changed text would mean another job")
    return changed


def edited(text: str, edits: tuple[Edit, ...], file: str) -> str:
    """Return a job file's text with edits, comments and order kept; whether it can be used is not asked.

    Raises UseError when an edit cannot be made, or a comment would be lost.
    """
    from tomlkit import dumps, parse
    from tomlkit.exceptions import TOMLKitError

    mark, plain = (BYTE_ORDER_MARK, text[1:]) if text.startswith(BYTE_ORDER_MARK) else ("", text)
    windows = "\r\n" in plain
    plain = plain.replace("\r\n", "\n")
    try:
        document = parse(plain)
        for path, value in edits:
            _edit(document, path, value)
        changed = dumps(document)
    except (TOMLKitError, LookupError, TypeError, ValueError) as problem:
        raise _left_alone(file, edits, str(problem)) from None
    if _comments(changed) != _comments(plain):       # of a table that goes, the library takes the comments after it along
        raise _left_alone(file, edits, "a comment would be lost")
    return mark + (changed.replace("\n", "\r\n") if windows else changed)


def _comments(text: str) -> list[str]:
    """Return the lines that are comments only."""
    return [line for line in text.splitlines() if line.lstrip().startswith("#")]


def _left_alone(file: str, edits: tuple[Edit, ...], why: str) -> UseError:
    by_hand = "; ".join(f"take away {key_path(path)}" if value is None else f'{key_path(path)} = "{value}"' for path, value in edits)
    return UseError(f"{file} is left as it is: the changes cannot be written into it: {why}\n  change it by hand: {by_hand}")


def _edit(table: MutableMapping[str, Any], path: Path, value: str | None) -> None:
    """Set the value at a path, or take the key away. A key joined by dots may stand apart in the file."""
    from tomlkit.items import InlineTable

    key, rest = _split(table, path)
    if value is None and rest and isinstance(table[key], InlineTable):
        table[key] = _on_one_line(_without(table[key].unwrap(), rest))     # the library would leave a comma behind
    elif rest:
        _edit(table[key], rest, value)
        if value is None and len(path) == 1 and not table[key]:            # the last of "relay.": its table goes too
            del table[key]
    elif value is None:
        del table[key]
    elif key in table:
        table[key] = value
    else:
        _add(table, key, value)


def _split(table: Mapping[str, Any], path: Path) -> tuple[str, Path]:
    """Return the first key of a path as the table has it, and the rest."""
    key, rest = str(path[0]), path[1:]
    if not rest and "." in key and key not in table:
        first, _, tail = key.partition(".")
        return first, (tail,)
    return key, rest


def _without(table: dict[str, Any], path: Path) -> dict[str, Any]:
    key, rest = _split(table, path)
    left = {name: inner for name, inner in table.items() if name != key}
    inner = _without(table[key], rest) if rest else {}
    return {name: inner if name == key else table[name] for name in table if name in left or inner}


def _on_one_line(table: Mapping[str, Any]) -> Any:
    from tomlkit import inline_table

    line = inline_table()
    for name, inner in table.items():
        line.append(name, _on_one_line(inner) if isinstance(inner, Mapping) else inner)
    return line


def _add(table: MutableMapping[str, Any], key: str, value: str) -> None:
    """Add a key after the last one, before the comments that introduce the next table."""
    from tomlkit.items import Table

    if not isinstance(table, Table):
        table[key] = value
        return
    body, after = table.value.body, []
    while body and body[-1][0] is None:
        after.insert(0, body.pop())
    table.append(key, value)
    body.extend(after)
