"""The design of a job: everything that follows from it. The only place where the engineering meets.

`design_of(path)` reads a job file and returns its `Design`; `build(job, ...)` is the same from
values, and with an earlier design computes only what has changed.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from types import MappingProxyType
from typing import Any, cast

from pattress.circuit.assembly import assemble
from pattress.circuit.findings import findings as circuit_findings
from pattress.circuit.fitted import Fitted
from pattress.circuit.model import Circuit
from pattress.design.identity import identity_of
from pattress.design.plan import plan_table
from pattress.design.stages import Stage, run
from pattress.fan.answers import findings as fan_findings
from pattress.fan.design import FanDesign, fan_designs, fan_drives, relays_for
from pattress.fan.drive import FanDrive
from pattress.finding import Finding, Verdict, worst
from pattress.job import Job, JobError, Problem, load_with_source
from pattress.job.reading import Source
from pattress.job.wish import Wish
from pattress.pins.assign import assign
from pattress.pins.best import Assignment
from pattress.pins.conflict import Conflict
from pattress.pins.demands import Demand, demands
from pattress.pins.findings import findings as pin_findings
from pattress.refusal import Refusal, as_found, nearest, word_list
from pattress.sizing.choice import choose_parts
from pattress.sizing.chosen import Chosen
from pattress.sizing.fitting import fitted
from pattress.sizing.inrush import stagger
from pattress.sizing.pulls import pull_ups
from pattress.sizing.questions import QUESTIONS
from pattress.sizing.wear import allowances
from pattress.stock.boards import Board, Boards, load_boards, nearest_type, read_board
from pattress.stock.own import NOTHING, Own
from pattress.stock.parts import Parts, load_parts
from pattress.stock.record import own_text


def _board(job: Job, boards: Boards) -> Board:
    return boards[job.board.type]


def _fan_part(job: Job) -> Job:
    """Return the part of a job that fans are designed from, so that an edit of anything else designs no fan anew."""
    return job.model_copy(update={name: None for name in Job.model_fields if name not in ("fan", "supply")})


def _fan_designs(fan_part: Job, parts: Parts) -> dict[str, FanDesign]:
    return fan_designs(fan_part, parts)


def _wires(job: Job, fan_drives: Mapping[str, FanDrive], pull_ups: Mapping[str, float]) -> tuple[Demand, ...]:
    return demands(job, {key: drive.relays for key, drive in fan_drives.items()}, pull_ups)


def _fixed(job: Job) -> Mapping[str, int]:
    return job.board.pins


def _pins(wires: tuple[Demand, ...], board: Board, fixed: Mapping[str, int], boards: Boards) -> Assignment | Conflict:
    return assign(wires, board, fixed, boards.values())


def _pin_findings(pins: Assignment | Conflict, board: Board, boards: Boards) -> tuple[Finding, ...]:
    return pin_findings(pins, board, boards.values())


def _circuit(job: Job, board: Board, fitted: Fitted, wires: tuple[Demand, ...], pins: Assignment | Conflict) -> Circuit:
    placed = {one.demand.name: one.pin for one in pins.pins} if isinstance(pins, Assignment) else {}
    return assemble(job, board, fitted, {wire.name: placed.get(wire.name) for wire in wires})


STAGES = (
    Stage("board", _board),
    Stage("fan_part", _fan_part),
    Stage("fan_designs", _fan_designs),
    Stage("fan_drives", fan_drives),
    Stage("chosen", choose_parts),
    Stage("stagger", stagger),
    Stage("pull_ups", pull_ups),
    Stage("wires", _wires),
    Stage("fixed", _fixed),
    Stage("pins", _pins),
    Stage("fitted", fitted),
    Stage("circuit", _circuit),
    Stage("allowances", allowances),
    Stage("plan", plan_table),
    *(Stage(name, question, answers=True) for name, question in QUESTIONS.items()),
    Stage("fans", fan_findings, answers=True),
    Stage("pin findings", _pin_findings, answers=True),
    Stage("circuit findings", circuit_findings, answers=True),
)


@dataclass(frozen=True, eq=False)
class Design:
    """A job and everything that follows from it, by stage name in `results`."""

    results: Mapping[str, Any]

    @property
    def job(self) -> Job:
        """Return the job this was made from."""
        return cast(Job, self.results["job"])

    @property
    def board(self) -> Board:
        """Return the record of the controller board."""
        return cast(Board, self.results["board"])

    @property
    def chosen(self) -> Chosen:
        """Return the parts that were chosen, with reasons."""
        return cast(Chosen, self.results["chosen"])

    @property
    def circuit(self) -> Circuit:
        """Return every part, pin and wire."""
        return cast(Circuit, self.results["circuit"])

    @property
    def pins(self) -> Assignment | Conflict:
        """Return the pin of every wire, or what stands in the way."""
        return cast("Assignment | Conflict", self.results["pins"])

    @property
    def plan(self) -> dict[str, Any]:
        """Return the table that the control program reads."""
        return cast("dict[str, Any]", self.results["plan"])

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Return the answers to all questions, in the order of the stages."""
        return tuple(finding for stage in STAGES if stage.answers for finding in self.results[stage.name])

    @property
    def replaced(self) -> tuple[str, ...]:
        """Return the designations of the stock for which a part of the person's own file stands."""
        return cast("tuple[str, ...]", self.results["parts"].replaced)

    @property
    def verdict(self) -> Verdict:
        """Return the worst verdict of all findings."""
        return worst(self.findings)

    @property
    def accepted(self) -> frozenset[str]:
        """Return the ids of findings that fail, or are unknown and stop the bundle, and that somebody answers for in the job file."""
        return frozenset(finding.id for finding in self.findings if finding.wants_answer and finding.id in self.job.accept)

    @property
    def unanswered(self) -> tuple[Finding, ...]:
        """Return the findings that fail, or are unknown and stop the bundle, and that nobody answers for."""
        return tuple(finding for finding in self.findings if finding.wants_answer and finding.id not in self.job.accept)

    @cached_property
    def identity(self) -> str:
        """Return the short code that tells this job and design from any other."""
        return identity_of(self)

    @property
    def wishes(self) -> dict[str, Wish]:
        """Return the owner's wishes by name, as the proof takes them."""
        return {name: wished.says for name, wished in self.job.wish.items()}

    @property
    def facts(self) -> dict[str, Any]:
        """Return what the bundle carries beside the plan: board and pins, as plain values."""
        pins = self.pins.by_name() if isinstance(self.pins, Assignment) else {}
        sensors = {key: {"name": sensor.name, "kind": sensor.kind} for key, sensor in self.job.sensor.items()}
        said = self.job.network
        network = {"broker": said.broker} | ({"name": said.name} if said.name else {}) | ({"over_tls": True} if said.broker_authority else {})
        return {"title": self.job.job.title, "design": self.identity, "board": self.board.type, "port": self.board.micropython["port"].value, "pins": pins, "sensors": sensors, "network": network if said.wifi else None} | (
            {"setup_switch": said.setup_switch} if said.setup_switch else {})


def build(
    job: Job, parts: Parts, boards: Boards, earlier: Design | None = None,
    progress: Callable[[str], None] | None = None,
) -> Design:
    """Return the design of a job from this stock.

    Stages whose inputs are equal to those of `earlier` are taken from there. Raises StockError
    when the job names a part that is not in stock, KeyError when it names such a board.
    """
    given = {"job": job, "parts": parts, "boards": boards}
    return Design(MappingProxyType(run(STAGES, given, earlier.results if earlier else None, progress)))


def design_of(path: Path, own: Own = NOTHING) -> Design:
    """Return the design of a job file, with the stock and a person's own parts and boards.

    Raises JobError, StockError or UseError, all for a person to read.
    """
    job, source = load_with_source(path)
    parts, boards = load_parts(own.parts), boards_of(job, source, load_boards(own.boards))
    refuse_slips(job, source, parts, boards)
    return build(job, parts, boards)


def boards_of(job: Job, source: Source, boards: Boards) -> Boards:
    """Return the boards that a job can name: those given, and the one in its own board file, which lies beside it and wins.

    Raises JobError when there is no such file, StockError when it is none of a board.
    """
    named = job.board.file
    if named is None:
        return boards
    folder = Path(source.file).parent
    if Path(named).is_absolute() or ".." in Path(named).parts:
        raise JobError([source.problem(("board", "file"), Refusal(f"{as_found(named)}, which does not lie beside the job file", "the name of a board file beside it, such as \"my-board.toml\""))])
    file = folder / named
    if not file.is_file():
        there = sorted(path.name for path in folder.glob("*.toml") if path.name != Path(source.file).name)
        found = f"{as_found(named)}, {'a folder' if file.is_dir() else 'and there is no such file beside the job file'}"
        raise JobError([source.problem(("board", "file"), Refusal(found, "the name of a board file beside it", nearest(named, there)))])
    return boards.beside(read_board(own_text(file, "a board file"), str(file)))


def refuse_slips(job: Job, source: Source, parts: Parts, boards: Boards) -> None:
    """Raise JobError with what only the stock can tell to be wrong in a job file."""
    slips = tuple(_slips(job, source, parts, boards))
    if slips:
        raise JobError(slips)


def _slips(job: Job, source: Source, parts: Parts, boards: Boards) -> Iterator[Problem]:
    """Yield what only the stock can tell to be wrong in a job file: names of boards, relays and wires."""
    if job.board.type not in boards:
        yield source.problem(("board", "type"), Refusal(as_found(job.board.type), word_list(boards), nearest_type(job.board.type, boards)))
    elif job.board.file is not None and job.board.type != boards.own[0]:
        yield source.problem(("board", "type"), Refusal(f"{as_found(job.board.type)}, and board.file gives another board",
                                                        f"{boards.own[0]}; or a board of the stock without board.file", boards.own[0]))
    relays = ("auto", *(part.designation for part in parts.of("relay")))
    for kind, things in (("load", job.load), ("fan", job.fan)):
        for key, thing in things.items():
            if thing.relay not in relays:
                yield source.problem((kind, key, "relay"), _unknown(thing.relay, relays))
    if job.board.pins:
        wires = [wire.name for wire in demands(job, {key: relays_for(fan.steps) for key, fan in job.fan.items()})]
        for wire in job.board.pins:
            if wire not in wires:
                yield source.problem(("board", "pins", wire), _unknown(wire, wires), at_key=True)


def _unknown(found: str, allowed: Iterable[str]) -> Refusal:
    words = tuple(allowed)
    return Refusal(as_found(found), word_list(words), nearest(found, words))
