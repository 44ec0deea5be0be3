"""The hand-over page: one self-contained HTML file that says what was asked, checked and proven.

The context is frozen and only words; the template only prints it. Nothing is computed here
that the design, the proof or the rehearsal does not already know.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from importlib.metadata import version

from markupsafe import Markup

from pattress.finding import Figure, Finding, Verdict
from pattress.handover import templates
from pattress.handover.bars import Bar, bar_of
from pattress.quantity import show


@dataclass(frozen=True, slots=True)
class Table:
    """A table as printed; the first cell of a row names it."""

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class Line:
    """A finding as one line of the page, and what opens under it."""

    verdict: str
    thing: str
    figures: str
    bar: Bar | None           # None where a share of the limit makes no sense
    rows: tuple[tuple[str, str], ...]
    open: bool


@dataclass(frozen=True, slots=True)
class Group:
    """The findings that answer one question."""

    question: str
    findings: tuple[Line, ...]


@dataclass(frozen=True, slots=True)
class Page:
    """Everything the page prints, in the order it prints it."""

    title: str
    note: str
    version: str
    digest: str                                   # of control program and plan
    design: str                                   # code of the whole job and design
    stopped: str                                  # why nothing of it may be built; "" where it may
    cautions: tuple[str, ...]
    tally: tuple[tuple[str, int], ...]            # verdict, how many findings, names and claims of the proof; worst first
    names: tuple[str, ...]                        # that may be misheard
    acceptances: tuple[str, ...]                  # failed checks somebody answers for
    unknowns: tuple[object, ...]                  # Assumptions, each key once
    asked: tuple[Table, ...]
    groups: tuple[Group, ...]
    pins: tuple[Table, ...]
    board: Markup                                 # the board with its wires as SVG; empty when not every wire finds a pin
    parts: tuple[Table, ...]
    proof_line: str
    properties: Table
    stories: tuple[str, ...]
    rehearsal_line: str
    timeline: Markup                              # the day as SVG
    timeline_caption: str
    wear: Table | None
    footer: str

    @property
    def contents(self) -> tuple[tuple[str, str], ...]:
        """Return the anchors and headings of the page."""
        return (
            ("summary", "What was checked"), ("asked", "What was asked for"), ("findings", "Findings"),
            ("pins", "Pins"), ("parts", "Parts"), ("proof", "Proof"), ("day", "A rehearsed day"),
        )


def render(page: Page) -> str:
    """Return the page as HTML that needs nothing from outside."""
    return templates.render("page.html", page=page)


def groups(findings: Iterable[Finding], names: Mapping[str, str]) -> tuple[Group, ...]:
    """Return the findings gathered by the question they answer, in the order they came.

    `names` are what people call things, by their last key; the heading of several findings is
    their question with the name left open.
    """
    gathered: dict[str, list[Finding]] = {}
    for finding in findings:
        gathered.setdefault(_open_question(finding, names), []).append(finding)
    return tuple(
        Group(question if len(some) > 1 else some[0].question, tuple(line(finding, names) for finding in some))
        for question, some in gathered.items()
    )


def line(finding: Finding, names: Mapping[str, str]) -> Line:
    """Return one finding as printed."""
    thing = finding.id.partition(".")[2]
    figures = ""
    if finding.value is not None and finding.limit is not None:
        figures = f"{_show(finding.value)}, {finding.sense} {_show(finding.limit)}"
    rows = [("Question", finding.question), ("Detail", finding.detail), ("Corner", finding.corner),
            ("Nominal", _show(finding.nominal)), ("Formula", finding.formula)]
    rows += [("Put in", f"{put_in.name} = {_show(put_in.figure)} ({put_in.origin}"
                        f"{f'; {put_in.source}' if put_in.source else ''})") for put_in in finding.inputs]
    rows += [("Not known", f"{assumption.key}; taken: {assumption.taken} ({assumption.why})") for assumption in finding.assumptions]
    rows += [("Source", str(source)) for source in finding.sources]
    rows += [("Change", change) for change in finding.change]
    rows += [("Left out", finding.covers_not)]
    return Line(
        verdict=str(finding.verdict),
        thing=names.get(thing, thing.replace("_", " ")),
        figures=figures or finding.detail,
        bar=bar_of(finding),
        rows=tuple((name, words) for name, words in rows if words),
        open=finding.verdict is Verdict.FAILS,
    )


def program_version() -> str:
    """Return the version of this program."""
    return version("pattress")


def _open_question(finding: Finding, names: Mapping[str, str]) -> str:
    """Return a question with the names of things left open, longest names first."""
    question = finding.question
    for name in sorted({*names.values(), finding.id.partition(".")[2]}, key=len, reverse=True):
        question = question.replace(name, "…")
    return question


def _show(figure: Figure | str | None) -> str:
    if figure is None or isinstance(figure, str):
        return figure or ""
    return show(figure.value, figure.unit)
