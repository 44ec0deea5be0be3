"""What exploring channels together may cost, as said on the command line."""

from difflib import get_close_matches
from typing import TYPE_CHECKING

from pattress.errors import UseError

if TYPE_CHECKING:
    from pattress.design import Design
    from pattress.proof.product.search import Effort

ALL = "all"
SIZES = {"k": 1 << 10, "m": 1 << 20, "g": 1 << 30}
LEAST = 64 << 10        # memory in which a search is of any use [bytes]


def channels_of(design: "Design", together: str | None) -> tuple[tuple[int, ...], ...]:
    """Return the group of channels that is asked for by keys, separated by commas, or `all`; none when nothing is asked for."""
    if together is None:
        return ()
    keys = [channel["key"] for channel in design.plan["channels"]]
    asked = keys if together == ALL else [key.strip() for key in together.split(",")]
    for key in asked:
        if key not in keys:
            nearest = get_close_matches(key, keys, 1)
            raise UseError(f"--together names '{key}'\n  allowed: {', '.join(keys)}, or {ALL}"
                           + (f"\n  nearest: {nearest[0]}" if nearest else ""))
    if len(set(asked)) < 2:
        raise UseError("--together needs two channels or more, separated by commas")
    return (tuple(keys.index(key) for key in dict.fromkeys(asked)),)


def effort_of(workers: int | None, memory: str | None, compact: bool) -> "Effort":
    """Return what a search may cost. `memory` is a number with K, M or G behind it, such as 512M."""
    from pattress.proof.product.search import Effort

    if memory is None:
        return Effort(workers, compact=compact)
    number, size = memory[:-1], SIZES.get(memory[-1:].lower())
    if size is None or not number.isdecimal() or int(number) * size < LEAST:
        raise UseError(f"--memory is '{memory}'\n  allowed: a whole number with K, M or G behind it, from 64K, such as 512M")
    return Effort(workers, int(number) * size, compact)
