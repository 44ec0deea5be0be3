"""Does the exploration see what really happens? Days with true durations must stay within it.

Each part claims to know every state its cells can be in. Here whole jobs run with true waits,
everything at once, and after every step each part is asked whether it has seen that state.
"""

from random import Random

import pytest

from pattress.controller import core
from pattress.controller.core import CODE, COMMAND, CONTACT, ROTOR, TIME
from pattress.proof.exploration import RUNNING, Exploration
from pattress.proof.parts import parts_of
from pattress.proof.subject import Subject

from .plans import GROUPS, MIDDLE, SEWING_ROOM


def projected(part, state):
    """Return the live cells of a part as the exploration keeps them."""
    cells = list(state)
    for cell in part.blank:
        cells[cell] = 0
    for cell in part.waits:
        cells[cell] = RUNNING if cells[cell] else 0
    return tuple(cells[cell] for start, stop in part.live for cell in range(start, stop))


def seen_states(part):
    explored = Exploration(part).run()
    return {tuple(memoryview(key[:part.live_bytes]).cast("i")) for key in explored.parents} if part.live else {()}


def random_event(subject, random):
    table = subject.table
    kinds = [CONTACT, COMMAND] + [ROTOR] * bool(table["regulators"]) + [CODE] * bool(table["buttons"])
    kind = random.choice(kinds)
    if kind == CONTACT:
        return (CONTACT, random.choice(subject.switches), random.randrange(2), 0, 0)
    if kind == ROTOR:
        return (ROTOR, 0, random.randrange(table["regulators"][0]["contacts"]), random.randrange(2), 0)
    if kind == CODE:
        row = random.choice(table["buttons"])
        return (CODE, row["protocol"], row["address"], row["command"], random.randrange(3))
    channel = random.choice(subject.channels)
    return (COMMAND, channel, random.randrange(6), random.randint(0, subject.tops[channel]), 0)


def live(subject, random, steps):
    """Yield the state after each step of a random life: events, exact and late wake-ups, news, power cuts."""
    plan, state, flash = subject.plan, core.new_state(subject.plan), None
    power_is_off = True
    for _ in range(steps):
        if power_is_off or random.random() < 0.01:
            contacts = [random.randrange(1 << row["contacts"]) for row in subject.table["regulators"]]
            core.begin(plan, state, flash, [random.randrange(2) for _ in subject.switches], contacts)
            power_is_off, event = False, (TIME, 0, 0, 0, 0)
        elif random.random() < 0.5:
            due = core.due_in(plan, state)
            late = random.choice((0, 0, 1, 40, 3000))
            event = (TIME, random.choice((max(due, 1) + late, random.randint(1, 400))), 0, 0, 0)
        else:
            event = random_event(subject, random)
        if core.step(plan, state, event) & core.SAVE_NOW:
            flash = bytearray(core.size(plan))
            core.write(plan, state, flash)
        yield state
        if random.random() < 0.3:
            while core.next_news(plan, state) >= 0:
                pass
            yield state


@pytest.mark.parametrize("table", [GROUPS, MIDDLE, SEWING_ROOM], ids=lambda table: table["title"])
def test_every_state_of_a_true_life_was_explored(table):
    subject = Subject(table)
    parts = [(part, seen_states(part)) for part in parts_of(subject)]
    met = [set() for _ in parts]
    for state in live(subject, Random(table["title"]), 4000):
        for place, (part, seen) in enumerate(parts):
            now = projected(part, state)
            assert now in seen, f"{part.name}: {now} was never explored"
            met[place].add(now)
    # And the exploration is no wild overestimate: a short life meets a good part of it.
    assert sum(map(len, met)) > 0.3 * sum(len(seen) for _, seen in parts)
