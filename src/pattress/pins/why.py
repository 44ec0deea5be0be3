"""Why a wire sits on its pin and not on another: one sentence for every pin of a board.

Says nothing that the rules and prices do not say: `best` chose by them, `conflict` failed by them.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from pattress.pins.best import Assignment, Placement, price
from pattress.pins.conflict import Conflict
from pattress.pins.demands import Demand
from pattress.pins.rules import Weight, objections, reluctances, rule
from pattress.stock.boards import Board, Pin


class Standing(StrEnum):
    """How a pin stands to a wire, best first."""

    HERE = "here"
    FREE = "free"
    TAKEN = "taken"
    PRICE = "at a price"     # possible when it is named in [board.pins]
    REFUSED = "refused"      # can be wired so, but a check fails
    CANNOT = "cannot"


@dataclass(frozen=True, slots=True)
class Choice:
    """A pin for a wire: how it stands, in words why, and the wire that holds it already, "" for none."""

    pin: Pin
    standing: Standing
    words: str
    holder: str = ""


def choices(wire: Demand, board: Board, placed: Iterable[Placement]) -> tuple[Choice, ...]:
    """Return how every pin at the board's edge stands to a wire, in order along the edges.

    `placed` are the wires that have a pin: all of them, or the soldered ones of a conflict.
    """
    placed = tuple(placed)
    here = next((one for one in placed if one.demand.name == wire.name), None)
    holders = {one.pin.gpio: one for one in placed}
    return tuple(_choice(wire, pin, here, holders.get(pin.gpio)) for pin in board.pins if pin.edge)


def standing_wires(result: Assignment | Conflict) -> tuple[Placement, ...]:
    """Return the wires that have a pin: of an assignment all, of a conflict those soldered by hand."""
    return result.pins if isinstance(result, Assignment) else result.soldered


def _choice(wire: Demand, pin: Pin, here: Placement | None, holder: Placement | None) -> Choice:
    if here is not None and here.pin.gpio == pin.gpio:
        kept = "; kept, because [board.pins] names it" if here.fixed else "; no assignment costs less (proven)"
        return Choice(pin, Standing.HERE, here.reason + kept, wire.name)
    broken = objections(wire.need, pin)
    held = holder.demand.name if holder else ""
    if broken:
        weights = {rule(name).weight for name in broken}
        standing = next(standing for weight, standing in (
            (Weight.CANNOT, Standing.CANNOT), (Weight.REFUSED, Standing.REFUSED), (Weight.PRICE, Standing.PRICE)) if weight in weights)
        return Choice(pin, standing, "; ".join(broken.values()), held)
    if holder:
        return Choice(pin, Standing.TAKEN, f"holds {held}" + (", which [board.pins] keeps there" if holder.fixed else ""), held)
    return Choice(pin, Standing.FREE, _free(wire, pin, here))


def _free(wire: Demand, pin: Pin, here: Placement | None) -> str:
    """Return in words why a free pin that would do was not taken."""
    dislikes = "; ".join(reluctances(wire.need, pin))
    if here is None:
        return f"would do, but: {dislikes}" if dislikes else "would do"
    more = price(wire.need, pin) - price(wire.need, here.pin)
    if more > 0:
        return f"would do, but: {dislikes}"
    beside = "wires of a kind are kept side by side, earlier ones further up"
    if more < 0:
        return "would do better by itself" + (f" ({dislikes})" if dislikes else "") + f"; {beside}"
    return f"would do as well{f' ({dislikes})' if dislikes else ''}; {beside}"
