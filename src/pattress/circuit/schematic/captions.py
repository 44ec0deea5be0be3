"""What is printed for a net and for a pin: short enough for its room, and never the same for two."""

from collections.abc import Mapping, Sequence

from pattress.circuit.model import Circuit

LONGEST = 18                             # letters of a net's name on a sheet
UNKNOWN = "?"                            # the number of a pin that was not found


def captions(circuit: Circuit) -> Mapping[str, str]:
    """Return what is printed for each net: its name, or the head of a long one with an ellipsis, told apart from its like by a number."""
    names = [*circuit.net_by_name, *(name for name in circuit.by_net if name not in circuit.net_by_name)]
    return told_apart(names)


def told_apart(names: Sequence[str]) -> dict[str, str]:
    """Return each name as it is printed, none longer than `LONGEST`; a number at the end of a name is kept."""
    found: dict[str, str] = {}
    taken = {name for name in names if len(name) <= LONGEST}
    for name in names:
        short, place = name, 0
        if len(name) > LONGEST:
            last = name.rpartition(".")[2]
            own = f"\u2026.{last}" if last.isdigit() else "\u2026"
            while short == name or short in taken:
                tail = f"\u2026{place}{own[1:]}" if place else own
                short, place = name[:LONGEST - len(tail)] + tail, place + 1
        taken.add(short)
        found[name] = short
    return found


def printed_number(number: str) -> str:
    """Return the number of a pin as it is printed: one that was not found is a question mark, the net beside it tells which."""
    return UNKNOWN if number.startswith(UNKNOWN) else number
