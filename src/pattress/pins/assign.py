"""A pin for every wire of a job, or why there is none and what would help."""

from collections.abc import Iterable, Mapping
from dataclasses import replace

from pattress.pins.best import Assignment, as_soldered, best
from pattress.pins.conflict import Conflict, conflict, together
from pattress.pins.demands import Demand
from pattress.pins.problem import NOTHING, Problem, problem
from pattress.pins.relaxations import relaxations, resoldered
from pattress.pins.solver import Unproven
from pattress.stock.boards import Board


def assign(
    wanted: Iterable[Demand],
    board: Board,
    fixed: Mapping[str, int] = NOTHING,
    boards: Iterable[Board] = (),
) -> Assignment | Conflict:
    """Return the best assignment, or every conflict with the cheapest ways out.

    Soldered wires that cannot stay where they are are told each by itself; then all wires are
    assigned as if those were free to move, so that nothing else stays untold.

    Parameters
    ----------
    wanted : iterable of Demand
        From `demands`, in the order of the job.
    board : Board
        The board of the job.
    fixed : mapping
        GPIO number by wire for what is already soldered ([board.pins]). Such a wire stays where it
        is unless the hardware cannot do it; what else speaks against its pin is for `findings`.
    boards : iterable of Board
        Others to offer when this one does not fit.

    Raises
    ------
    UseError
        `fixed` names a wire that the job does not ask for.
    """
    asked = problem(wanted, board, fixed)
    found = None if asked.is_short() else best(asked)
    if found is not None:
        return found
    told, rest = _one_by_one(asked, fixed)
    if not told:
        raise Unproven("no assignment and no conflict: the two models disagree")
    why = together(told, as_soldered(asked), rest)
    moved = {demand.name for demand in why.demands}
    if rest is not None and not any("shared" in one.broken for one in why.soldered):       # slips of the soldering iron, not a board too small
        return replace(why, relaxations=(resoldered(rest, asked, {name: gpio for name, gpio in fixed.items() if name not in moved}),))
    return replace(why, relaxations=relaxations(asked, boards))


def _one_by_one(asked: Problem, fixed: Mapping[str, int]) -> tuple[list[Conflict], Assignment | None]:
    """Return the conflicts of soldered wires alone, each once, then that of all wires or, without one, the assignment that is left."""
    told, stays = [], dict(fixed)
    while (why := conflict(asked)) is not None:
        told.append(why)
        names = {demand.name for demand in why.demands}
        if not names <= stays.keys():
            return told, None
        stays = {name: gpio for name, gpio in stays.items() if name not in names}
        asked = problem(asked.wanted, asked.board, stays)
    return told, best(asked)
