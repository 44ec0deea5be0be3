"""From a job file to a `Job`, or to everything that is wrong with it at once."""

from dataclasses import dataclass
from os import PathLike
from typing import Any

from pydantic import ValidationError

from pattress.incoming import FileRefusal, content_of, decoded
from pattress.job import model
from pattress.job.agreement import disagreements
from pattress.job.places import Places
from pattress.job.problem import JobError, Path, Problem, key_path
from pattress.job.syntax import document, refused
from pattress.job.translation import refusals
from pattress.refusal import Refusal

JOB_FILE = "a job file; `pattress new` writes one to start from"
BYTE_ORDER_MARK = "\ufeff"


@dataclass(frozen=True, slots=True)
class Source:
    """A job file's name and text, and where each key stands in it."""

    file: str
    places: Places

    def problem(self, path: Path, refusal: Refusal, *, at_key: bool = False) -> Problem:
        """Return a refusal of the value (or key) at a path as a problem with line and column."""
        if path and isinstance(path[-1], int) and path not in self.places.values:      # one item without its brackets
            path = path[:-1]
        line, column = (self.places.of_key if at_key else self.places.of_value)(path)
        return Problem(self.file, line, column, key_path(path), refusal.found, refusal.allowed, refusal.nearest)


def load(path: str | PathLike[str]) -> model.Job:
    """Return the job in a file.

    Raises
    ------
    JobError
        The file cannot be read or the job not be used; carries every problem found.
    """
    return load_with_source(path)[0]


def load_with_source(path: str | PathLike[str]) -> tuple[model.Job, Source]:
    """Return the job in a file and its source, for problems that only a later package can find."""
    return read(text_as_written(path).removeprefix(BYTE_ORDER_MARK), str(path))


def read(text: str, file: str) -> tuple[model.Job, Source]:
    """Return the job in a text that came from `file`, and its source; raises JobError."""
    text = text.replace("\r\n", "\n")
    found = document(text, file)
    source = Source(file, Places(text))
    try:
        job = model.Job.model_validate(found)
        problems = []
    except ValidationError as error:
        wrong = list(refusals(error))
        problems = [source.problem(path, refusal, at_key=at_key) for path, refusal, at_key in wrong]
        job = _sound_part(found, [path for path, _, _ in wrong])
    problems += [source.problem(path, refusal, at_key=at_key) for path, refusal, at_key in disagreements(job, found)]
    if problems:
        raise JobError(problems)
    return job, source


def _sound_part(found: dict[str, Any], wrong: list[Path]) -> model.Job:
    """Return what can be read of a job with faults, so that the rest is checked in the same run."""
    faulty = {path[:2] for path in wrong} | {path[:4] for path in wrong if path[0] == "remote"}
    sound: dict[str, Any] = {}
    for section, record in _SINGLE.items():
        try:
            sound[section] = record.model_validate(found.get(section, {}))
        except ValidationError:
            sound[section] = None
    for section, record in _SECTIONS.items():
        rows = found.get(section)
        sound[section] = {}
        for name, row in rows.items() if isinstance(rows, dict) else ():
            if section == "remote" and isinstance(row, dict) and isinstance(row.get("button"), dict):
                row = row | {"button": {k: b for k, b in row["button"].items() if ("remote", name, "button", k) not in faulty}}
            try:
                sound[section][name] = record.model_validate(row)
            except ValidationError:
                continue
    return model.Job.model_construct(**sound)


_SINGLE: dict[str, type[model.Record]] = {
    "supply": model.Supply, "board": model.Board, "network": model.Network, "site": model.Site, "receiver": model.Receiver,
}
_SECTIONS: dict[str, type[model.Record]] = {
    "wall": model.Wall, "feed": model.Feed, "load": model.Load, "fan": model.Fan, "switch": model.Switch, "input": model.Input,
    "regulator": model.Regulator, "remote": model.Remote, "sensor": model.Sensor, "rule": model.Ruled, "wish": model.Wished,
}


def text_as_written(path: str | PathLike[str]) -> str:
    """Return the text of a job file with its line ends and byte order mark as they are. Raises JobError."""
    try:
        return decoded(content_of(path, JOB_FILE))
    except FileRefusal as refusal:
        raise JobError([refused(refusal, str(path))]) from None
