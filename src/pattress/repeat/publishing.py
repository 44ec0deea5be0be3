"""A job for the public: without secrets, persons, places, prose and comments; and the folder around it.

The text is written anew from what `fields.toml` lets through, so whatever that list does not
name stays at home: comments, keys of a later version, a file of secrets. Everything in the
folder is made from that stripped job, never from the publisher's own.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from hashlib import sha256
from typing import Any

from pattress.controller.digest import digest
from pattress.design import Design, build
from pattress.design.comparison import Direction, compare
from pattress.errors import UseError
from pattress.finding import Verdict
from pattress.handover.findings_page import program_version
from pattress.handover.imprint import imprint_of
from pattress.handover.pack import drawings_and_schedules
from pattress.handover.schedules import schedules
from pattress.handover.wiring import wiring_of
from pattress.incoming import toml_of
from pattress.job import read
from pattress.job.agreement import NAMED_SECTIONS
from pattress.job.model import UNKNOWN
from pattress.job.problem import JobError, key_path
from pattress.plural import counted
from pattress.refusal import as_found
from pattress.repeat.field_policy import Path, is_published, set_at, value_at
from pattress.repeat.points import NOT_SAID, Point, points_of
from pattress.repeat.writing import as_toml, job_text

FORMAT = 1
JOB, BOARD, POINTS, README = "job.toml", "board.toml", "points.toml", "README.md"
MOST_COSTS = 6                 # worsened checks told of one "unknown"
_WORD = re.compile(r"[^\W\d_]{3,}")


@dataclass(frozen=True, slots=True)
class Publication:
    """What is written: files by their place in the folder, the names in them, and those to look at twice."""

    files: Mapping[str, str]
    names: tuple[str, ...]
    suspects: tuple[str, ...]
    program: str


def stripped(document: Mapping[str, Any], title: str = "") -> dict[str, Any]:
    """Return a job's document as others may see it; without a title, with one made from what it holds."""
    left = _stripped(document, ())
    left["job"] = {"title": title or _title(left)}
    return {"job": left.pop("job"), **left}


def publish(document: Mapping[str, Any], like: Design, cautions: tuple[str, ...], title: str = "", board: str = "") -> Publication:
    """Return what to publish of a job's document, with the stock of a design of it.

    `board` is the text of the board file that the job names; it goes with the job, without its comments.
    Raises JobError when the stripped job does not stand by itself, UseError when its board is of neither
    the stock nor such a file.
    """
    type_, boards = like.board.type, like.results["boards"]
    if type_ in boards.own and not board:
        raise UseError(f"the board {as_found(type_)} is of a file that the job does not name, and would not be in the folder\n"
                       '  allowed: a board of the stock, or [board] file = "my-board.toml" in the job, with that file beside it')
    public = stripped(document, title)
    if board:
        public["board"] = public["board"] | {"file": BOARD}
    text = job_text(public, "A controller to repeat. Written anew by `pattress bundle --publish`: no comment, note, acceptance,",
                    "address or measurement of the publisher's is in it.", f"Take it with `pattress adopt`; {POINTS} lists what is asked then.",
                    "Mains can kill and burn. Devices, cables and earthing in here are the publisher's, not yours.")
    design = _design(text, like)
    wiring = wiring_of(design)
    program = digest(design.plan)
    own_board = toml_of(board) if board else {}
    files = {JOB: text, **({BOARD: board_text(own_board)} if own_board else {}), README: _readme(design, cautions, program), **drawings_and_schedules(design, wiring, schedules(design, wiring), cautions, imprint=imprint_of(design, None))}
    points = tuple(_with_costs(point, public, design) for point in points_of(public))
    files[POINTS] = points_text(points, {name: sha256(content.encode()).hexdigest() for name, content in sorted(files.items())})
    names = tuple(dict.fromkeys((*_names(public), *_board_names(own_board))))
    return Publication(files, names, _suspects(names, document), program)


def board_text(document: Mapping[str, Any]) -> str:
    """Return the document of a board file as TOML, without comments."""
    plain = [f"{key_path((key,))} = {as_toml(value)}" for key, value in document.items() if not isinstance(value, Mapping)]
    tables = [[f"\n[{key_path((key,))}]", *(f"{key_path((inner,))} = {as_toml(value)}" for inner, value in table.items())]
              for key, table in document.items() if isinstance(table, Mapping)]
    return "\n".join(["# A board of the publisher's own, written anew without comments: the job names it.", *plain, *(line for table in tables for line in table)]) + "\n"


def _board_names(document: Mapping[str, Any]) -> Iterator[str]:
    """Yield what the publisher wrote of a board in words of their own: its names, and titles and notes."""
    yield from (str(document[key]) for key in ("type", "title", "view") if key in document)
    yield from (str(name) for name in document.get("called", ()))
    yield from (str(source["title"]) for source in document.get("sources", {}).values())
    yield from (str(pin["note"]) for pin in document.get("pins", {}).values() if "note" in pin)


def points_text(points: tuple[Point, ...], digests: Mapping[str, str]) -> str:
    """Return the list of points with the SHA-256 of every other file, as TOML."""
    lines = ["# Where whoever adopts this job puts their own, for `pattress adopt` and for other programs.",
             '# "anew": the original is shown and never kept. "own": may be kept. A key without `original` is not said in the job.',
             f"format = {FORMAT}", f"job = {as_toml(JOB)}", "", "[files]", *(f"{as_toml(name)} = {as_toml(one)}" for name, one in digests.items())]
    for point in points:
        lines += ["", "[[point]]", f"key = {as_toml(point.key)}", f"adopted = {as_toml('anew' if point.anew else 'own')}",
                  f"question = {as_toml(point.question)}", f"allowed = {as_toml(point.allowed)}"]
        lines += [f"original = {as_toml(point.original)}"] if point.original is not None else []
        lines += [f"unknown_costs = {as_toml(list(point.costs))}"] if point.may_be_unknown else []
    return "\n".join(lines) + "\n"


def with_unknown(document: Mapping[str, Any], point: Point) -> dict[str, Any]:
    """Return a document with "unknown" at a point, or in place of the table around it."""
    path = point.path[:-1] if UNKNOWN in point.words else point.path
    return set_at(document, path, UNKNOWN)


def _stripped(document: Mapping[str, Any], path: Path) -> dict[str, Any]:
    left = {}
    for key, value in document.items():
        place = (*path, key)
        if not is_published(place):
            continue
        inner = _stripped(value, place) if isinstance(value, Mapping) else value
        if inner != {} or value == {}:
            left[key] = inner
    return left


def _title(document: Mapping[str, Any]) -> str:
    counts = [(len(document.get(section, {})), section) for section in ("load", "fan")]
    return "Controller for " + " and ".join(f"{number} {word}{'' if number == 1 else 's'}" for number, word in counts if number)


def _design(text: str, like: Design) -> Design:
    return build(read(text, JOB)[0], like.results["parts"], like.results["boards"], like)


def _with_costs(point: Point, document: Mapping[str, Any], design: Design) -> Point:
    """Return a point with what "unknown" would cost there: what is taken instead, and the checks that get worse."""
    if not point.may_be_unknown:
        return point
    if value_at(document, point.path) == UNKNOWN:
        return replace(point, costs=("it is unknown in the original, too",))
    try:
        there = _design(job_text(with_unknown(document, point)), design)
    except JobError:               # it does not fit the rest of the original; the adopter's own job is checked anyway
        return point
    taken = dict.fromkeys(f"taken instead: {one.taken}; to settle it: {one.measure}" for finding in there.findings
                          for one in finding.assumptions if one.key == point.key)
    worse = [(move, move.after.verdict) for move in compare(design, there).moves if move.direction in (Direction.WORSE, Direction.NEW)
             and move.after is not None and move.after.verdict is not Verdict.HOLDS]
    told = [f"{move.id}: {move.before.verdict if move.before else NOT_SAID} -> {after}" for move, after in worse[:MOST_COSTS]]
    if len(worse) > MOST_COSTS:
        told.append(f"and {counted(len(worse) - MOST_COSTS, 'check')} more")
    return replace(point, costs=(*taken, *told) or ("no verdict of the original changes",))


def _names(document: Mapping[str, Any]) -> Iterator[str]:
    """Yield every word of the publisher's own that is in a document: title, keys of things, names, spoken names, buttons."""
    yield document["job"]["title"]
    for section in NAMED_SECTIONS:
        for key, row in document.get(section, {}).items():
            spoken = row.get("spoken", ())
            yield from (key, *([row["name"]] if "name" in row else []), *([spoken] if isinstance(spoken, str) else spoken), *row.get("button", ()))


def _suspects(names: tuple[str, ...], document: Mapping[str, Any]) -> tuple[str, ...]:
    """Return the names that share a capitalised word with what was kept back: title, note, who accepted."""
    about = document.get("job", {})
    kept_back = [about.get("title", ""), about.get("note", ""), *(one.get("by", "") for one in _acceptances(document.get("accept", {})))]
    words = {word.casefold() for text in kept_back for word in _WORD.findall(text) if word[0].isupper()}
    return tuple(name for name in names if any(word.casefold() in words for word in _WORD.findall(name.replace("_", " "))))


def _acceptances(table: Mapping[str, Any]) -> Iterator[Mapping[str, Any]]:
    if "by" in table:
        yield table
    else:
        for inner in table.values():
            if isinstance(inner, Mapping):
                yield from _acceptances(inner)


def _readme(design: Design, cautions: tuple[str, ...], program: str) -> str:
    job = design.job
    fails = [finding for finding in design.findings if finding.verdict is Verdict.FAILS]
    unknown = [finding for finding in design.findings if finding.verdict is Verdict.UNKNOWN]
    lines = [f"# {job.job.title}", "", *(f"> {line}" for line in cautions), "",
             "This is a design to repeat, published by somebody else. Nothing in it was approved, and none of it was checked for your home.",
             "Protective devices, cables, earthing and the place are the publisher's: never take them over.", "",
             "## To make it yours", "", "```sh", "pattress adopt .                    # asks what you have, writes your own job.toml where you stand",
             "pattress adopt . --list > answers.toml   # or: write the answers into a file", "pattress adopt . --answers answers.toml", "```", "",
             "Then `pattress check`, `prove`, `rehearse`, `bundle` and `handover` with your own job file. The compiled bundle is not in here: "
             "it would carry the publisher's plan. Build your own, and run nobody's compiled program on mains.", "", "## What is in it", "",
             f"- `{JOB}`: the job, written anew", *([f"- `{BOARD}`: the controller board, which is none of the stock"] if job.board.file else []), f"- `{POINTS}`: every point at which you put your own, what the original had, what is allowed, what "
             "\"unknown\" costs; and the SHA-256 of every other file", "- `drawings/`, `schedules/`: as the publisher's job gives them", "",
             "## What its checks say", "", f"pattress {program_version()}; control program and plan of the unchanged job: `{program}`", ""]
    lines += [f"{counted(len(design.findings), 'finding')}; {counted(len(fails), 'fails', 'fail')}, {counted(len(unknown), 'is unknown', 'are unknown')}."]
    lines += [f"- **fails**: {finding.question} [{finding.id}]" for finding in fails]
    lines += [f"- unknown: {finding.question} [{finding.id}]" for finding in unknown]
    lines += ["", "An acceptance of a failing check, if the publisher wrote one, is not in here: who builds it answers for it."] if fails else []
    lines += ["", "No figure in it was measured on a built controller."]
    return "\n".join(lines) + "\n"
