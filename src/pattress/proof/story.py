"""A story: the shortest way from power-up to a broken property, told as a timeline and replayable.

A story is told in one part of the job, with everything else dark and quiet. Its waits run out
in the order it says, which true durations need not allow; that the program must be right in
any order is the stronger claim.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, fields
from textwrap import wrap
from types import ModuleType
from typing import TYPE_CHECKING, Any

from pattress.controller.core.cells import APPLIED, CAUSES, LEVEL, POSITION, STUCK, WANTED
from pattress.designators import closed

from .moves import CUT, PASS, TELL, Move
from .subject import Subject

if TYPE_CHECKING:
    from pattress.proof.exploration import Exploration, Filling, Trace
    from pattress.proof.properties import Failure

WIDTH = 80


@dataclass(frozen=True, slots=True)
class Step:
    """One step of a story.

    `sets` holds (cell, value) set before the event: hidden contacts, and waits brought to their end;
    `row` is the core's event. A power cut has `begin`: snapshot, contacts of switches and inputs and of
    regulators, as bytes; what is set comes after it. `relays` are those closed afterwards.
    """

    words: str
    outcome: str
    row: tuple[int, ...]
    sets: tuple[tuple[int, int], ...] = ()
    begin: tuple[bytes | None, bytes, bytes] | None = None
    tells: bool = False
    relays: int = 0


@dataclass(frozen=True, slots=True)
class Story:
    """How a property breaks: id and sentence, the part it was found in, the steps, what is wrong at the end.

    `moves` are those of the exploration that the steps tell; none where it was found by a run.
    """

    property_id: str
    sentence: str
    part: str
    steps: tuple[Step, ...]
    found: str
    moves: tuple[Move, ...] = ()

    @property
    def events(self) -> tuple[tuple[int, ...], ...]:
        """Return the core's events of the story, in order."""
        return tuple(step.row for step in self.steps)

    def __str__(self) -> str:
        lines = wrap(f"Broken: {self.sentence} [{self.property_id}]", WIDTH)
        for number, step in enumerate(self.steps, 1):
            lines += wrap(f"{number:>3}. {step.words}", WIDTH, subsequent_indent=" " * 5)
            if step.outcome:
                lines += wrap(step.outcome, WIDTH, initial_indent=" " * 8 + "-> ", subsequent_indent=" " * 11)
        return "\n".join(lines + wrap(f"Found: {self.found}", WIDTH, subsequent_indent=" " * 7))

    def to_json(self) -> dict[str, Any]:
        """Return the story as plain values, from which `story_of` makes it again."""
        return {
            "property": self.property_id, "sentence": self.sentence, "part": self.part, "found": self.found,
            "steps": [
                {"words": step.words, "outcome": step.outcome, "event": list(step.row), "relays": step.relays,
                 "sets": [list(one) for one in step.sets], "tells": step.tells,
                 "begin": [None if one is None else one.hex() for one in step.begin] if step.begin else None}
                for step in self.steps
            ],
            "moves": [{name: value for name, value in asdict(move).items() if value != _PLAIN[name]} for move in self.moves],
        }


_PLAIN = {field.name: field.default for field in fields(Move)}


def story_of(value: Mapping[str, Any]) -> Story:
    """Return the story that `Story.to_json` wrote. Raises KeyError, TypeError or ValueError when it is none."""
    steps = tuple(
        Step(row["words"], row["outcome"], tuple(row["event"]), tuple((cell, number) for cell, number in row["sets"]),
             _begun(*row["begin"]) if row["begin"] else None,
             row["tells"], row["relays"])
        for row in value["steps"])
    moves = tuple(Move(**{name: _frozen(one) for name, one in row.items()}) for row in value["moves"])
    return Story(value["property"], value["sentence"], value["part"], steps, value["found"], moves)


def _begun(snapshot: str | None, switches: str, regulators: str) -> tuple[bytes | None, bytes, bytes]:
    return None if snapshot is None else bytes.fromhex(snapshot), bytes.fromhex(switches), bytes.fromhex(regulators)


def _frozen(value: Any) -> Any:
    """Return a value of a JSON file with its lists as tuples."""
    return tuple(map(_frozen, value)) if isinstance(value, list) else value


@dataclass(frozen=True, slots=True)
class Standing:
    """How everything stands after a step: by place in the plan, relays as a mask.

    `positions` are those last believed of the regulators, NOWHERE before any was.
    """

    relays: int
    levels: tuple[int, ...]
    wanted: tuple[int, ...]
    contacts: tuple[int, ...]
    positions: tuple[int, ...]


def standings(story: Story, table: Mapping[str, Any], core: ModuleType | None = None) -> tuple[Standing, ...]:
    """Play a story again and return how everything stands after each step."""
    subject = Subject(table, core)
    core, plan = subject.core, subject.plan
    state, stood = subject.reference(), []
    for step in story.steps:
        if step.begin:
            snapshot, switches, regulators = step.begin
            core.begin(plan, state, None if snapshot is None else bytearray(snapshot), list(switches), list(regulators))
        for cell, value in step.sets:
            state[cell] = value
        if step.tells:
            for _ in subject.channels:
                core.next_news(plan, state)
        else:
            core.step(plan, state, step.row)
        stood.append(Standing(
            core.relays(plan, state), tuple(state[at + APPLIED] for at in subject.channel_at), tuple(state[at + WANTED] for at in subject.channel_at),
            tuple(state[at + LEVEL] for at in subject.switch_at), tuple(state[at + POSITION] for at in subject.regulator_at)))
    return tuple(stood)


def tell(exploration: Exploration, failure: Failure, parent: bytes | None, move: Move, filling: Filling | None, sentence: str) -> Story:
    """Return the Story that ends with a failing move from the state `parent` (None = at power-up)."""
    part = exploration.part
    chain: list[tuple[bytes | None, Move, Filling | None]] = [(parent, move, filling)]
    while parent is not None:
        earlier, move = exploration.parents[parent]
        chain.append((earlier, move, None))
        parent = earlier
    subject, steps = part.subject, []
    state: Sequence[int] = subject.reference()
    for key, move, filling in reversed(chain):
        trace = exploration.retrace(key, move, filling)
        sets = move.poke if move.kind == CUT else tuple((cell, value) for cell, value in enumerate(trace.start) if state[cell] != value)
        state = trace.end
        words = _words(subject, move) + (" (the rest of the job in a random state)" if filling else "")
        steps.append(Step(words, _outcome(subject, trace), trace.row, sets, trace.begin, move.kind == TELL, trace.relays))
    moves = tuple(move for _, move, _ in reversed(chain))
    return Story(failure.id, sentence, part.name, tuple(steps), failure.detail, moves)


def _words(subject: Subject, move: Move) -> str:
    """Return a move as a person tells it; a wait that the move's own words explain is not told again."""
    told = [move.words] if move.words else []
    settled = {cell for cell, _ in move.poke}
    for cell in move.expire:
        if cell - 1 not in settled:         # a SETTLE cell lies after the contact that was set
            told.append(subject.waits[cell])
    if move.kind == PASS and not told:
        return "time passes"
    return "; ".join(told)


def _outcome(subject: Subject, trace: Trace) -> str:
    """Return what the relays of each channel do in a step, what is believed of stuck ones, and whether the program stops."""
    return "; ".join(filter(None, (relays_moved(subject, trace.before, trace.relays), *_believed(subject, trace), trace.error)))


def _believed(subject: Subject, trace: Trace) -> Iterator[str]:
    """Yield what came to be believed of channels with feedback."""
    for channel, at in subject.feedback_at.items():
        was, now = trace.start[at + STUCK], trace.end[at + STUCK]
        if was != now:
            yield f"{subject.channel_name(channel)}: {f'believed {CAUSES[now]}' if now else 'no longer believed stuck'}"


def relays_moved(subject: Subject, before: int, after: int) -> str:
    """Return in words what the relays of each channel did."""
    moved = []
    for channel in subject.channels:
        own = subject.own_relays[channel]
        was, now = before & own, after & own
        if was != now and subject.table["channels"][channel].get("is_mode"):
            moved.append(f"{subject.channel_name(channel)}: {'on' if now else 'off'}")
        elif was != now:
            moved.append(f"{subject.channel_name(channel)}: {closed(was)} -> {closed(now)}")
    return "; ".join(moved)
