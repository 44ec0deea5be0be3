"""Writing changes into a job file: comments, order and everything else stay as they were.

The new text is read back before it goes anywhere: it must give exactly the job that was meant.
"""

from collections.abc import Callable, Iterable, Mapping, MutableMapping
from pathlib import Path as FilePath
from tomllib import loads
from typing import Any

from pattress.atomic_write import rewrite
from pattress.design.choices import Edit
from pattress.errors import UseError
from pattress.job import Job, JobError, read
from pattress.job.places import Places
from pattress.job.problem import Path, key_path
from pattress.job.reading import BYTE_ORDER_MARK, text_as_written


def write_changes(file: FilePath, edits: Iterable[Edit], meant: Job) -> None:
    """Write edits into a job file, whole or not at all; where the file is a link, into the one it leads to.

    Raises UseError, and leaves the file alone, when the changed text would not read back as the
    job that was meant, would lose a comment, or cannot be written.
    """
    rewrite(file, rewritten(text_as_written(file), tuple(edits), meant, str(file)))


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


def edited(text: str, edits: Iterable[tuple[Path, Any]], file: str) -> str:
    """Return a job file's text with edits, comments and order kept; whether it can be used is not asked.

    A value may be anything TOML has; a table on the way that is not there is made. Raises UseError
    when an edit cannot be made, would change something else too, or would lose a comment.
    """
    edits = tuple(edits)

    def change(plain: str) -> str:
        from tomlkit import dumps, nl, parse, table
        from tomlkit.exceptions import TOMLKitError

        wanted = loads(plain)
        try:
            for path, value in edits:
                _edit_plainly(wanted, path, value)
            changed = _spliced(plain, edits)
            if changed is None:
                document = parse(plain)
                for path, value in edits:
                    if value is not None and path[0] not in document:
                        document.add(nl())
                        document.append(str(path[0]), table())
                    _edit(document, path, value)
                changed = dumps(document)
            read_back = loads(changed)
        except (TOMLKitError, LookupError, TypeError, ValueError) as problem:
            raise _left_alone(file, edits, str(problem)) from None
        if _comments(changed) != _comments(plain):   # of a table that goes, the library takes the comments after it along
            raise _left_alone(file, edits, "a comment would be lost")
        if _filled(read_back) != _filled(wanted):
            raise _left_alone(file, edits, "something else would change with it")
        return changed

    return on_plain(text, change)


def _spliced(text: str, edits: tuple[tuple[Path, Any], ...]) -> str | None:
    """Return a text with the value of one key replaced in place, the quickest way; None where it takes more."""
    if len(edits) != 1 or not isinstance(edits[0][1], (str, int, float)) or "\n" in str(edits[0][1]):
        return None
    span = Places(text).values.get(edits[0][0])
    if span is None or text[span.start] in "[{" or text.startswith(('"""', "'''"), span.start):
        return None
    return f"{text[: span.start]}{_on_one_line(edits[0][1])}{text[span.end :]}"


def on_plain(text: str, change: Callable[[str], str]) -> str:
    """Return a text changed by a function that sees no byte order mark and plain line ends only; both are put back."""
    mark, plain = (BYTE_ORDER_MARK, text[1:]) if text.startswith(BYTE_ORDER_MARK) else ("", text)
    changed = change(plain.replace("\r\n", "\n"))
    return mark + (changed.replace("\n", "\r\n") if "\r\n" in plain else changed)


def _comments(text: str) -> list[str]:
    """Return the lines that are comments only."""
    return [line for line in text.splitlines() if line.lstrip().startswith("#")]


def _left_alone(file: str, edits: tuple[Edit, ...], why: str) -> UseError:
    by_hand = "; ".join(f"take away {key_path(path)}" if value is None else f'{key_path(path)} = "{value}"' for path, value in edits)
    return UseError(f"{file} is left as it is: the changes cannot be written into it: {why}\n  change it by hand: {by_hand}")


def _edit(table: Any, path: Path, value: Any) -> None:
    """Set the value at a path of a table or list, or take the key away. A key joined by dots may stand apart in the file."""
    from tomlkit.items import InlineTable

    key, rest = _split(table, path)
    if value is None and rest and isinstance(table[key], InlineTable):
        table[key] = as_written(_without(table[key].unwrap(), rest))     # the library would leave a comma behind
    elif rest and value is not None and not (_has(table, key) and isinstance(table[key], (MutableMapping, list))):
        _put(table, key, as_written(_nested(rest, value)))
    elif rest:
        _edit(table[key], rest, value)
        if value is None and len(path) == 1 and not table[key]:            # the last of "relay.": its table goes too
            del table[key]
    elif value is None:
        del table[key]
    else:
        _put(table, key, as_written(value))


def _nested(path: Path, value: Any) -> Any:
    """Return the tables and lists that a path goes through, holding only the value."""
    for part in reversed(path):
        value = [value] if isinstance(part, int) else {part: value}
    return value


def _put(table: Any, key: str | int, value: Any) -> None:
    if isinstance(key, int) and key == len(table):
        table.append(value)
    elif _has(table, key):
        table[key] = value
    else:
        _add(table, key, value)


def _has(table: Any, key: str | int) -> bool:
    return 0 <= key < len(table) if isinstance(key, int) else key in table


def _edit_plainly(table: Any, path: Path, value: Any) -> None:
    """Do to plain dictionaries and lists what `_edit` does to the document."""
    key, rest = _split(table, path)
    if rest and value is not None and not (_has(table, key) and isinstance(table[key], (dict, list))):
        _put_plainly(table, key, _nested(rest, value))
    elif rest:
        _edit_plainly(table[key], rest, value)
        if value is None and isinstance(table[key], dict) and not table[key] and len(path) == 1:
            del table[key]
    elif value is None:
        del table[key]
    else:
        _put_plainly(table, key, value)


def _put_plainly(table: Any, key: str | int, value: Any) -> None:
    if isinstance(key, int) and key == len(table):
        table.append(value)
    else:
        table[key] = value


def _split(table: Any, path: Path) -> tuple[str | int, Path]:
    """Return the first key of a path as the table has it, and the rest."""
    key, rest = path[0], path[1:]
    if isinstance(key, str) and "." in key and key not in table and key.partition(".")[0] in table:
        first, _, tail = key.partition(".")
        return first, (tail, *rest)
    return key, rest


def _without(table: Any, path: Path) -> dict[str, Any]:
    key, rest = _split(table, path)
    left = {name: inner for name, inner in table.items() if name != key}
    inner = _without(table[key], rest) if rest else {}
    return {name: inner if name == key else table[name] for name in table if name in left or inner}


def _filled(value: Any) -> Any:
    """Return a document without its empty tables, which come and go with the keys joined by dots."""
    if not isinstance(value, dict):
        return value
    filled = {key: _filled(inner) for key, inner in value.items()}
    return {key: inner for key, inner in filled.items() if inner != {}}


def as_written(value: Any) -> Any:
    """Return a value as people write it: tables and lists on one line, texts of several lines between triple quotes."""
    from tomlkit import string
    from tomlkit import value as parsed

    if isinstance(value, str):
        return string(value, multiline="\n" in value)
    return parsed(_on_one_line(value)) if isinstance(value, (Mapping, list)) else value


def _on_one_line(value: Any) -> str:
    from tomlkit import item

    if isinstance(value, list):
        return f"[{', '.join(map(_on_one_line, value))}]"
    if isinstance(value, Mapping):
        rows = ", ".join(f"{key_path((name,))} = {_on_one_line(inner)}" for name, inner in value.items())
        return f"{{ {rows} }}" if rows else "{}"
    return str(item(value).as_string())


def _add(table: Any, key: str | int, value: Any) -> None:
    """Add a key after the last one, before the comments that introduce the next table."""
    from tomlkit.items import Item, Key, Table

    if not isinstance(table, Table):
        table[key] = value
        return
    body = table.value.body
    after: list[tuple[Key | None, Item]] = []
    while body and body[-1][0] is None:
        after.insert(0, body.pop())
    table.append(str(key), value)
    body.extend(after)
