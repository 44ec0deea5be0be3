"""Questions at random, sense and nonsense, for the program under any plan: far more orders of events than any home sees."""

from random import Random

from pattress.controller.core import CODE, COMMAND, CONTACT, ROTOR, TIME
from pattress.controller.core.cells import INPUT_MOVED, READ
from pattress.controller.replay import begin_line, step_line

LONGEST = 2**31 - 1
POWER_CUT = 0.002           # of the questions


def questions(table, count, seed):
    """Yield `count` questions, a power-up first; the same seed gives the same."""
    rng = Random(seed)
    yield _power_up(table, rng)
    for _ in range(count - 1):
        yield _power_up(table, rng) if rng.random() < POWER_CUT else step_line(_event(table, rng), rng.random() < 0.3, rng.random() < 0.8)


def _durations(table):
    """Return every wait that the plan knows [ms]."""
    return [table["held_ms"], table["save_ms"], *(row["settle_ms"] for kind in ("switches", "regulators") for row in table[kind]),
            *(row[wait] for row in table["channels"] for wait in ("dead_ms", "minimum_off_ms", "restore_delay_ms", "kick_ms")),
            *(row[wait] for row in table.get("rules", ()) for wait in ("limit_ms", "stay_ms")),
            *(row["settle_ms"] for row in table.get("inputs", ())), *(row["stale_ms"] for row in table.get("readings", ())),
            *(row[wait] for row in table.get("conditions", ()) for wait in ("from_ms", "after_ms"))]


def _power_up(table, rng):
    """A snapshot that is lost, whole, or rubbish of any length; contacts as they may stand."""
    size = 2 * len(table["channels"]) + sum("released_by" in row for row in table.get("conditions", ()))
    snapshot = rng.choice((None, rng.randbytes(size), bytes(rng.randrange(4) for _ in range(size)), rng.randbytes(rng.randrange(3 * size))))
    return begin_line(snapshot, [rng.randrange(2) for _ in (*table["switches"], *table.get("inputs", ()))],
                      [rng.randrange(1 << row["contacts"]) for row in table["regulators"]])


def _event(table, rng):
    if table.get("conditions") and rng.random() < 0.4:
        kind, those = rng.choice(((INPUT_MOVED, table.get("inputs", ())), (READ, table.get("readings", ()))))
        return kind, rng.randrange(-1, len(those) + 1), rng.choice((0, 1, -1, 2, rng.randrange(-3, 9))), 0, 0
    what = rng.random()
    if what < 0.40:
        exact = rng.choice(_durations(table)) + rng.choice((-1, 0, 0, 1))       # where off by one would show
        return TIME, rng.choice((exact, exact, 0, 1, 5, 200_000, rng.randrange(400), rng.randrange(LONGEST), -rng.randrange(9))), 0, 0, 0
    if what < 0.60:
        return CONTACT, rng.randrange(-1, len(table["switches"]) + 1), rng.choice((0, 1, rng.randrange(-2, 9))), 0, 0
    if what < 0.75:
        return ROTOR, rng.randrange(-1, len(table["regulators"]) + 1), rng.randrange(-1, 6), rng.choice((0, 1, rng.randrange(-2, 9))), 0
    if what < 0.87 and table["buttons"]:
        row = rng.choice(table["buttons"])
        return CODE, row["protocol"], row["address"], row["command"] + rng.choice((0, 0, 0, 40)), rng.randrange(4)
    if what < 0.98:
        return COMMAND, rng.randrange(-1, len(table["channels"]) + 1), rng.randrange(-1, 8), rng.choice((0, 1, 2, rng.randrange(-LONGEST, LONGEST))), 0
    return tuple(rng.randrange(-LONGEST, LONGEST) for _ in range(5))
