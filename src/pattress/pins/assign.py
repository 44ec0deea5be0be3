"""A pin for every wire of a job, or why there is none and what would help."""

from collections.abc import Iterable, Mapping
from dataclasses import replace

from pattress.pins.best import Assignment, best
from pattress.pins.conflict import Conflict, conflict
from pattress.pins.demands import Demand
from pattress.pins.problem import NOTHING, problem
from pattress.pins.relaxations import relaxations
from pattress.pins.solver import Unproven
from pattress.stock.boards import Board


def assign(
    wanted: Iterable[Demand],
    board: Board,
    fixed: Mapping[str, int] = NOTHING,
    boards: Iterable[Board] = (),
) -> Assignment | Conflict:
    """Return the best assignment, or the smallest conflict with the cheapest ways out.

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
    found = best(asked)
    if found is not None:
        return found
    why = conflict(asked)
    if why is None:
        raise Unproven("no assignment and no conflict: the two models disagree")
    return replace(why, relaxations=relaxations(asked, boards))
