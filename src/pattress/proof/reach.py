"""Which levels of a channel can its controls ask for, from the first power-up on?

Told from the plan and the account of wishes alone (`wishes`): every wish of a channel's own switches, regulators and
buttons, its rules, and of the network where there is one, in any order, with power cuts between. That the program does what they
ask is judged in every transition of the parts; here it is only who can ask for what.
"""

from collections.abc import Mapping
from typing import Any

from pattress.controller.core.cells import DOWN, OFF, ON, SET, TOGGLE, UP
from pattress.controller.core.conditions import HOLDS
from pattress.controller.core.plan import top_of

from .wishes import restored, wish_after

NETWORK = (OFF, ON, TOGGLE, UP, DOWN)


def askable(table: Mapping[str, Any], has_network: bool = True) -> list[set[int]]:
    """Return for each channel of a plan's table the set of levels that something can ask for."""
    starts = {row["channel"]: row["start_most"] for row in table.get("rules", ()) if row.get("start_most")}
    return [_of_channel(row, _wishes(table, channel, has_network), starts.get(channel, 0)) for channel, row in enumerate(table["channels"])]


def _wishes(table: Mapping[str, Any], channel: int, has_network: bool) -> set[tuple[int, int]]:
    """Return the wishes, as (verb, level), that something in the plan has for a channel."""
    top = top_of(table["channels"][channel])
    acts = [act for control in (*table["switches"], *table["buttons"]) for act in control["acts"]]
    acts += [act for row in table.get("presses", ()) for name in ("held", "twice") for act in row[name]]
    wishes = {(verb, level) for one, verb, level in acts if one == channel}
    wishes |= {(SET, level) for row in table["regulators"] if row["channel"] == channel for level in row["levels"]}
    wishes |= {(verb, level) for row in table.get("conditions", ()) for one, verb, level in row["acts"] if one == channel}
    if any(row["kind"] == HOLDS and row["acts"][0][0] == channel for row in table.get("conditions", ())):
        wishes.add((OFF, 0))            # as it ends
    rule = next((row for row in table.get("rules", ()) if row["channel"] == channel), None)
    if has_network:
        wishes |= set() if rule and rule["wall_only"] > 1 else {(OFF, 0)} if rule and rule["wall_only"] else {(verb, 0) for verb in NETWORK} | {(SET, level) for level in range(top + 1)}
    if rule and (rule["limit_ms"] or rule["stay_ms"]):
        wishes.add((OFF, 0))
    return wishes


def _of_channel(row: Mapping[str, Any], wishes: set[tuple[int, int]], start_most: int) -> set[int]:
    top, asked = top_of(row), set()
    new, seen = {restored(row["restore"], None, None, row["on_level"], top, start_most)}, set()
    while new:
        wanted, last = new.pop()
        seen.add((wanted, last))
        saved: tuple[tuple[int | None, int | None], ...] = ((wanted, last), (None, None))
        after = {restored(row["restore"], *one, row["on_level"], top, start_most) for one in saved}
        for verb, level in wishes:
            for plain in (OFF, ON) if verb == TOGGLE else (verb,):
                then = wish_after(plain, level, wanted, last, top, start_most)
                after.add((then, then or last))
                if plain in (OFF, ON, SET) or then != wanted:       # up and down that change nothing ask for nothing
                    asked.add(then)
        new |= after - seen
    return asked
