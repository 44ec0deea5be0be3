"""The home view: the room as a drawing that is the navigation, the feeds as a single line above it."""

from collections.abc import Iterable
from dataclasses import dataclass

from pattress.design import Design
from pattress.design.tally import tally_of
from pattress.finding import Verdict
from pattress.spoken.clashes import Clash
from pattress.web.job import things
from pattress.web.job.findings import Shown, shown
from pattress.web.job.things import Thing
from pattress.web.job.walls import Wall, walls_of
from pattress.web.program.proving import Claim, broken, proof_of
from pattress.web.sheet import Asked


@dataclass(frozen=True, slots=True)
class Room:
    """The drawing."""

    supply: Thing
    feeds: tuple[tuple[Thing, tuple[Thing, ...]], ...]
    walls: tuple[Wall, ...]
    controls: tuple[Thing, ...]
    rest: tuple[Thing, ...]
    chosen: str                   # path of the thing whose sheet lies beside it, or ""


@dataclass(frozen=True, slots=True)
class Home:
    """The home view: the drawing, and beside it what does not hold."""

    room: Room
    wanting: tuple[Shown, ...]    # findings that fail, are unknown or tight, worst first
    misheard: tuple[tuple[str, str], ...]     # verdict and words of each name that fails
    names: tuple[tuple[str, str], ...]    # of each other one that may be misheard
    claims: tuple[Claim, ...]     # of the proof, those that do not hold
    note: str


def room_of(design: Design, chosen: str = "") -> Room:
    """Return the drawing of a design."""
    return Room(things.supply(design), tuple(things.feeds(design)), walls_of(design, chosen), tuple(things.controls(design)),
                tuple(things.rest(design)), chosen)


def view(asked: Asked) -> Home:
    """Return the home view."""
    design = asked.design
    wanting = sorted((f for f in design.findings if f.verdict is not Verdict.HOLDS), key=lambda finding: -finding.verdict.severity)
    found = tally_of(design, proof_of(asked))
    return Home(room_of(design), tuple(shown(finding, design.accepted) for finding in wanting), _told(found.failing_names),
                _told(one for one in found.names if one not in found.failing_names),
                broken(found.claims), design.job.job.note.strip())


def _told(names: Iterable[Clash]) -> tuple[tuple[str, str], ...]:
    return tuple((str(one.verdict), one.told) for one in names)
