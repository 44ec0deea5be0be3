"""What may happen next: the moves of an exploration, with the words a story tells them in.

A move first sets some hidden cells (which contact has settled, whether a neighbour is on),
then lets chosen waits run out or hands one event to the core. Any running wait may run out at
any time, alone or together with others: more orders than true durations allow, never fewer.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, replace
from itertools import combinations, product
from typing import TYPE_CHECKING, Any

from pattress.controller.core import CODE, COMMAND, CONTACT, NEW_PRESS, ROTOR, TIME
from pattress.controller.core.cells import (
    BY_NETWORK,
    BY_REGULATOR,
    BY_REMOTE,
    BY_SWITCH,
    CONDITION,
    CONTACTS,
    DOWN,
    INPUT_MOVED,
    LAST,
    LEVEL,
    LIMIT,
    MET,
    NOWHERE,
    OFF,
    ON,
    POSITION,
    READ,
    RUN,
    SENSED,
    SET,
    SETTLE,
    STAY,
    TAKEN,
    TOGGLE,
    TURN,
    UNDECIDED,
    UNTIL,
    UP,
    VERBS,
    WANTED,
)
from pattress.controller.core.conditions import PAST, WHEN

if TYPE_CHECKING:
    from pattress.proof.subject import Subject

Row = tuple[int, ...]                        # an event of the core
Poke = tuple[tuple[int, int], ...]           # (cell, value) set before it
Act = tuple[int, int, int]                   # channel, verb, level
Ask = tuple[tuple[Act, ...], int]            # acts, and their cause

HAPPEN, PASS, CUT, TELL = range(4)      # an event, time, a power cut, the network fetches its news
TOO_MANY = 96                           # combinations of things that settle together, before only pairs are taken


@dataclass(frozen=True, slots=True)
class Move:
    """One thing the world does.

    `row` is the core's event; `poke` holds (cell, value) of hidden cells set before; `expire`
    the waits that run out during it; `asks` who asks for what, as `wishes_after` takes it;
    `known` whether the plan has a meaning for it; `snapshot` what a power cut finds, as
    (wanted, last) of the channel or None, or a word the part understands; `mover` names what
    must be able to move a relay. `broken` is the claim that fails when something without a meaning is not refused.
    """

    words: str
    kind: int = HAPPEN
    row: Row = (TIME, 0, 0, 0, 0)
    poke: Poke = ()
    expire: tuple[int, ...] = ()
    asks: tuple[Ask, ...] = ()
    known: bool = True
    snapshot: Any = None
    mover: str = ""
    broken: str = "unknown-refused"


# What a difference of clock readings can come to at most, either way: half the turn of a counter of 30 bits [ms].
CLOCK_HALF = 1 << 29
BACKWARDS = (
    Move("time seems to go backwards", row=(TIME, -7, 0, 0, 0)),
    Move("time seems to go backwards by six days", row=(TIME, -CLOCK_HALF, 0, 0, 0)),
)


@dataclass(frozen=True, slots=True)
class Settling:
    """A switch or regulator that settles, ready to be part of a move of time."""

    words: str
    poke: Poke
    cell: int
    ask: Ask | None          # (acts, cause), or None when it does not act
    mover: str


def passing(settlings: Sequence[Settling] = (), poke: Poke = (), words: Iterable[str] = ()) -> Move:
    """Return the move in which time passes and these things settle."""
    return Move(
        "; ".join(filter(None, [*(settling.words for settling in settlings), *words])),
        PASS,
        poke=tuple(cell for settling in settlings for cell in settling.poke) + tuple(poke),
        expire=tuple(settling.cell for settling in settlings),
        asks=tuple(settling.ask for settling in settlings if settling.ask),
        mover=settlings[0].mover if len(settlings) == 1 else "",
    )


def running_out(move: Move, running: Sequence[int]) -> Iterator[Move]:
    """Yield a move of time with every set of the running waits running out in it."""
    for size in range(len(running) + 1):
        for chosen in combinations(running, size):
            yield Move(move.words, PASS, move.row, move.poke, move.expire + chosen, move.asks, True, None, move.mover)


def with_waits(moves: Sequence[Move], running: Sequence[int], backwards: Sequence[Move] = BACKWARDS) -> list[Move]:
    """Return every move of time in `moves` with every set of the running waits running out in it; and time gone wrong."""
    return [one for move in moves for one in running_out(move, running)] + [*backwards]


def switch_settlings(subject: Subject, switch: int) -> list[Settling]:
    """Return how a switch acts: its contact, pressed or thrown, has kept still long enough; or each press that it tells apart."""
    at, name, acts = subject.switch_at[switch], subject.table["switches"][switch]["name"], subject.switch_acts[switch]
    if switch not in subject.press_at:
        return [Settling(f"{name} is operated and settles", ((at + LEVEL, 0),), at + SETTLE, (acts, BY_SWITCH), name)]
    press, told = subject.press_at[switch], subject.press_acts(switch)

    def decided(closed: int, cell: int) -> tuple[Poke, int]:
        return ((at + LEVEL, closed), (at + SETTLE, 0), (press + UNDECIDED, 1), (press + UNTIL, 0)), cell

    short = decided(0, press + UNTIL) if "twice" in told else decided(1, at + SETTLE)
    settlings = [Settling(f"{name} was pressed shortly", *short, (acts, BY_SWITCH), f"{name}, a short press")]
    if "held" in told:
        settlings.append(Settling(f"{name} is held", *decided(1, press + UNTIL), (told["held"], BY_SWITCH), f"{name}, held"))
    if "twice" in told:
        settlings.append(Settling(f"{name} is pressed twice", *decided(0, at + SETTLE), (told["twice"], BY_SWITCH), f"{name}, pressed twice"))
    return settlings


def over(subject: Subject, channel: int) -> Settling:
    """Return how a channel goes off by itself: it is on, and a time of its rules runs out."""
    words, place = ("limit", LIMIT) if subject.rules[channel]["limit_ms"] else ("stay", STAY)
    return Settling(f"the time of {subject.channel_name(channel)} runs out", ((subject.channel_at[channel] + WANTED, 1),),
                    subject.rule_at[channel] + place, (((channel, OFF, 0),), subject.time_cause(channel, words)), "")


def changing(subject: Subject, condition: int) -> Settling:
    """Return how a condition begins, or ends if it is met. What it then asks is told here of a WHEN only, of others with their channel: here they ask nothing."""
    at = subject.condition_at[condition]
    if subject.conditions[condition]["kind"] == WHEN:
        return Settling(f"{subject.condition_name(condition)} begins", ((at + MET, 0), (at + TAKEN, 0)), at + RUN,
                        (subject.condition_acts(condition), subject.cause_of(condition)), subject.condition_name(condition))
    return Settling("", (), at + RUN, ((), subject.cause_of(condition)), "")


def ending(subject: Subject, condition: int) -> list[Settling]:
    """Return how a WHEN ends, which asks nothing; of other conditions `changing` is the end, too."""
    at = subject.condition_at[condition]
    if subject.conditions[condition]["kind"] != WHEN:
        return []
    return [Settling(f"{subject.condition_name(condition)} ends", ((at + MET, 1), (at + TAKEN, 1)), at + RUN, ((), subject.cause_of(condition)), "")]


def regulator_settlings(subject: Subject, regulator: int) -> list[Settling]:
    """Return one settling for each position of a regulator, come to from another one."""
    at = subject.regulator_at[regulator]
    row = subject.table["regulators"][regulator]
    settlings = []
    for position, level in enumerate(row["levels"]):
        place = position - 1 if row["off_is_open"] else position
        contacts = 1 << place if place >= 0 else 0
        settlings.append(Settling(
            f"{row['name']} settles in position {position}",
            ((at + CONTACTS, contacts), (at + POSITION, NOWHERE)), at + SETTLE,
            (((row["channel"], SET, level),), BY_REGULATOR), f"{row['name']}, position {position}",
        ))
    return settlings


def settlings_on(subject: Subject, channels: frozenset[int]) -> list[tuple[Settling, ...]]:
    """Return the sets of switches and regulators asking these channels that may settle in one step."""
    choices = [
        (None, changing(subject, condition), *ending(subject, condition)) for condition in range(len(subject.conditions))
        if channels & subject.trigger_channels("condition", condition)
    ] + [
        (None, *switch_settlings(subject, switch)) for switch in subject.switches
        if channels & subject.trigger_channels("switch", switch)
    ] + [
        (None, *regulator_settlings(subject, regulator)) for regulator in subject.regulators
        if channels & subject.trigger_channels("regulator", regulator)
    ]
    together = [tuple(filter(None, chosen)) for chosen in product(*choices)]
    if len(together) > TOO_MANY:
        together = [chosen for chosen in together if len(chosen) <= 2]
    return together


def with_neighbours(subject: Subject, channels: frozenset[int], move: Move) -> list[Move]:
    """Return the move with the other channels toggled in the same breath dark, each alone lit, and all lit."""
    peers = sorted({
        peer for acts, _ in move.asks for peer, verb, _ in acts
        if verb == TOGGLE and peer not in channels and any(one in channels for one, _, _ in acts)
    })
    if not peers:
        return [move]
    moves = []
    for lit in [(), *([(peer,) for peer in peers] if len(peers) > 1 else []), tuple(peers)]:
        poke = []
        for peer in peers:
            at = subject.channel_at[peer]
            poke += [(at + WANTED, int(peer in lit)), (at + TURN, 0)]
            poke += [(subject.condition_at[one] + place, 0) for one in subject.conditions_on(peer) for place in range(CONDITION)]
            if peer in lit:
                poke.append((at + LAST, 1))
        names = ", ".join(subject.channel_name(peer) for peer in lit) or "none"
        moves.append(Move(f"{move.words} (on beside it: {names})", move.kind, move.row, move.poke + tuple(poke),
                          move.expire, move.asks, move.known, move.snapshot, move.mover if not lit else ""))
    return moves


def commands_on(subject: Subject, channel: int) -> list[Move]:
    """Return everything the network can ask of one channel, with and without meaning."""
    name, top = subject.channel_name(channel), subject.tops[channel]
    asked = [(verb, 0) for verb in (OFF, ON, TOGGLE, UP, DOWN)] + [(SET, level) for level in range(top + 1)]
    moves = [
        Move(f"network asks {name}: {VERBS[verb]}{f' {level}' if verb == SET else ''}",
             row=(COMMAND, channel, verb, level, 0), asks=((((channel, verb, level),), BY_NETWORK),))
        for verb, level in asked if not is_barred(subject, channel, verb, level)
    ]
    moves += [
        Move(f"network asks {name}: {VERBS[verb]}{f' {level}' if verb == SET else ''}, though it is put on at the wall only",
             row=(COMMAND, channel, verb, level, 0), known=False, broken="wall-only")
        for verb, level in asked if is_barred(subject, channel, verb, level)
    ]
    moves += [
        Move(f"network asks {name}: {words}, which it does not have", row=(COMMAND, channel, verb, level, 0), known=False)
        for words, verb, level in ((f"set {top + 1}", SET, top + 1), ("set -1", SET, -1), ("verb 6", 6, 0), ("verb -1", -1, 0))
    ]
    return moves


def is_barred(subject: Subject, channel: int, verb: int, level: int) -> bool:
    """Return whether the network may not ask this of a channel: it may switch off what is put on at the wall only, and nothing else."""
    return subject.wall_only(channel) > 1 or (subject.wall_only(channel) > 0 and (verb, level) not in ((OFF, 0), (SET, 0)))


def sensed_on(subject: Subject, channel: int) -> list[Move]:
    """Return what the feedback of a channel can tell, nothing when it has none."""
    if channel not in subject.feedback_at:
        return []
    return [Move(f"the line of {subject.channel_name(channel)} is sensed {words}", row=(SENSED, channel, live, 0, 0))
            for live, words in ((0, "dead"), (1, "live"))]


def code_row(subject: Subject, button: int, freshness: int) -> tuple[int, ...]:
    """Return the event of a received code."""
    row = subject.table["buttons"][button]
    return (CODE, row["protocol"], row["address"], row["command"], freshness)


def presses_on(subject: Subject, channels: frozenset[int]) -> list[Move]:
    """Return a new press of every remote button that asks one of these channels."""
    return [
        Move(f"remote: {subject.table['buttons'][button]['name']} is pressed", row=code_row(subject, button, NEW_PRESS),
             asks=((subject.button_acts[button], BY_REMOTE),), mover=subject.table["buttons"][button]["name"])
        for button in subject.buttons if channels & subject.trigger_channels("button", button)
    ]


def foreign_moves(subject: Subject, channels: AbstractSet[int], but: Collection[tuple[str, int]] = ()) -> list[Move]:
    """Return what others do that never asks `channels`: time in which they settle, codes, contacts, commands.

    `but` holds (kind, number) of switches and regulators that are not others.
    """
    others, moves = [], []
    for switch in subject.switches:
        if ("switch", switch) not in but:
            name = subject.table["switches"][switch]["name"]
            moves.append(Move(f"contact of {name} closes", row=(CONTACT, switch, 1, 0, 0)))
            if not channels & subject.trigger_channels("switch", switch):
                others.append(switch_settlings(subject, switch)[-1])
    for regulator in subject.regulators:
        if ("regulator", regulator) not in but:
            name = subject.table["regulators"][regulator]["name"]
            moves.append(Move(f"first contact of {name} closes", row=(ROTOR, regulator, 0, 1, 0)))
            if not channels & subject.trigger_channels("regulator", regulator):
                others.append(regulator_settlings(subject, regulator)[-1])
    others += [over(subject, channel) for channel in subject.rule_at if channel not in channels]
    others += [changing(subject, condition) for condition in range(len(subject.conditions))
               if ("condition", condition) not in but and not channels & subject.trigger_channels("condition", condition)]
    for kind, rows, told in (("input", subject.inputs, (INPUT_MOVED, 1)), ("reading", subject.readings, (READ, PAST))):
        for number in range(len(rows)):
            if (kind, number) not in but:
                moves.append(Move(f"{kind} {number} tells", row=(told[0], number, told[1], 0, 0)))
                break
    if others:
        moves.append(replace(passing(others), mover=""))        # they need not move what they do not ask
    for button in subject.buttons:
        if not channels & subject.trigger_channels("button", button):
            moves.append(Move(f"remote: {subject.table['buttons'][button]['name']} is pressed",
                              row=code_row(subject, button, NEW_PRESS), asks=((subject.button_acts[button], BY_REMOTE),)))
            break
    for channel in subject.channels:
        if channel not in channels and subject.wall_only(channel) < 2:
            verb = OFF if subject.is_wall_only(channel) else TOGGLE
            moves.append(Move(f"network asks {subject.channel_name(channel)}: {VERBS[verb]}", row=(COMMAND, channel, verb, 0, 0),
                              asks=((((channel, verb, 0),), BY_NETWORK),)))
            break
    for channel in subject.feedback_at:
        if channel not in channels:
            moves += sensed_on(subject, channel)
            break
    return moves
