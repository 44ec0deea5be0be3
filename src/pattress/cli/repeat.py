"""Publishing a job for others, and adopting one that others published."""

from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pattress.atomic_write import write_atomically
from pattress.cautions import CAUTIONS
from pattress.cli import differences, text
from pattress.cli.plain import plain
from pattress.cli.terminal import ALL_HOLDS, exit_code, print_json, say
from pattress.design import Design, design_of
from pattress.design.tally import tally_of
from pattress.errors import UseError
from pattress.finding import Verdict
from pattress.incoming import FileRefusal, text_of, toml_of
from pattress.plural import counted
from pattress.repeat.folder import Folder, read_folder, write_folder
from pattress.stock.own import Own
from pattress.stock.record import own_text
from pattress.visible import shown

if TYPE_CHECKING:
    from pattress.design.comparison import Comparison

ANSWERS = "an answers file; `pattress adopt FOLDER --list` prints one to fill in"
OPENING = ("Adopted from a published job by `pattress adopt`. What it says of mains, devices and cables is what",
           "whoever adopted it answered. Mains can kill and burn; the verdicts are an engineer's aid, not an approval.")


def publish(job: Path, design: Design, folder: Path, title: str, *, as_json: bool) -> int:
    """Write a job for others into a folder, and say which of its owner's words are in it."""
    from pattress.job.reading import BYTE_ORDER_MARK, text_as_written
    from pattress.repeat.publishing import publish as published

    document = toml_of(text_as_written(job).removeprefix(BYTE_ORDER_MARK))
    named = design.job.board.file
    publication = published(document, design, CAUTIONS, title, own_text(job.parent / named, "a board file") if named else "")
    write_folder(folder, publication)
    if as_json:
        print_json({"folder": str(folder), "files": sorted(publication.files), "program": publication.program,
                    "names": list(publication.names), "suspects": list(publication.suspects)})
        return ALL_HOLDS
    say(f"published: {folder}, {counted(len(publication.files), 'file')}; program and plan {publication.program[:12]}")
    say("Left out: comments, note, title unless given, acceptances, addresses, places, measured fans, soldered pins.")
    say("Your own words in it, to be read by everybody:")
    say("\n".join(f"  {line}" for line in text.wrapped(", ".join(publication.names))))
    if publication.suspects:
        say(f"Look twice, they share a word with what was left out: {', '.join(publication.suspects)}")
    return ALL_HOLDS


def adopt(folder: Path, answers: Path | None, into: Path, own: Own, *, listed: bool, as_json: bool) -> int:
    """Make a published job one's own: ask or read the answers, check everything, write the job file, say what moved."""
    from pattress.repeat.adopting import adopted, blank, with_own_board
    from pattress.repeat.points import points_of

    found = read_folder(folder)
    if listed:
        if as_json:
            print_json([asdict(point) | {"key": point.key, "costs": found.costs.get(point.key, ())} for point in points_of(found.document)])
        else:
            click.echo(shown(blank(found.document, found.costs)), nl=False)
        return ALL_HOLDS
    if into.exists():
        raise UseError(f"{into} is there already; choose another name with --into")
    if as_json and answers is None:
        raise UseError("--json was given without --answers\n  allowed: pattress adopt FOLDER --answers FILE --json, or --list --json")
    document, unanswered = adopted(found.document, _text(answers), str(answers)) if answers else (with_own_board(_interviewed(found), found.document), ())
    return _check_and_write(found, document, into, own, unanswered, as_json=as_json)


def _check_and_write(found: Folder, document: dict[str, Any], into: Path, own: Own, unanswered: tuple[str, ...], *, as_json: bool) -> int:
    from pattress.design import build, refuse_slips
    from pattress.design.comparison import compare
    from pattress.job import read
    from pattress.repeat.publishing import JOB
    from pattress.repeat.writing import job_text

    before = design_of(found.path / JOB, own)
    board = None
    if "file" in document["board"]:                  # it goes along, under a name of the adopter's job
        board = into.with_name(f"{into.stem}-board.toml")
        if board.exists():
            raise UseError(f"{board} is there already, and the board of this job goes there; choose another name with --into")
        board_content = own_text(found.path / document["board"]["file"], "a board file")
        document = {**document, "board": document["board"] | {"file": board.name}}
    content = job_text(document, *OPENING)
    job, source = read(content, str(into))
    refuse_slips(job, source, before.results["parts"], before.results["boards"])
    after = build(job, before.results["parts"], before.results["boards"], before)
    moved = compare(before, after)
    if board:
        write_atomically(board, board_content)
    try:
        write_atomically(into, content)
    except BaseException:
        if board:
            board.unlink()
        raise
    tally = tally_of(after)
    failing = [finding for finding in after.findings if finding.verdict is Verdict.FAILS]
    unknown = [finding.id for finding in after.findings if finding.verdict is Verdict.UNKNOWN]
    if as_json:
        print_json({"job": str(into), "verdict": str(tally.verdict), **differences.comparison_facts(moved),
                    "failing": plain(failing), "unknown": unknown, "names": plain(tally.names), "not_answered": unanswered})
    else:
        if unanswered:
            say(f"\nNot answered, and so unknown: {', '.join(unanswered)}")
        say("\n" + _verdicts(moved, found.path / JOB, into))
        for finding in failing:
            say(text.brief(finding))
        if board:
            say(f"\nWritten: {board}: the board that the job names")
        say(f"\nWritten: {into}: {tally}. Look: pattress check {into}")
        say("\n".join(CAUTIONS))
    return exit_code(after, tally)


def _verdicts(moved: "Comparison", original: Path, into: Path) -> str:
    """Return the moves that change a verdict; figures, parts and plan are for `pattress compare`."""
    from pattress.design.comparison import Direction

    told = [move for move in moved.moves if move.direction in (Direction.WORSE, Direction.BETTER)
            or (move.direction is Direction.NEW and move.after is not None and move.after.verdict is not Verdict.HOLDS)]
    lines = [*(differences.move(move) for move in told), *([""] if told else [])]
    lines.append(f"{counted(len(told), 'verdict moves', 'verdicts move')} against the original; "
                 f"{counted(len(moved.moves) - len(told), 'finding keeps its own', 'findings keep theirs')} with another figure, or come or go with what they are about.\nAll of it: pattress compare {original} {into}")
    return "\n".join(lines)


def _interviewed(found: Folder) -> dict[str, Any]:
    from pattress.repeat.interview import interview

    def ask() -> str:
        return str(click.prompt("", prompt_suffix="> ", default="", show_default=False))

    try:
        return interview(found.document, found.costs, ask, say)
    except click.Abort:
        raise UseError("\nstopped before the last answer; nothing is written") from None


def _text(answers: Path) -> str:
    try:
        return text_of(answers, ANSWERS)
    except FileRefusal as refusal:
        raise UseError(refusal.at(answers)) from None
