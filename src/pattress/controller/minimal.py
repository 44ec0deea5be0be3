"""The minimal program: wall switches and regulators, nothing else. It runs after repeated crashes, or when the supply sags.

No radio, no infra-red, no sensor, no snapshot. Channels start as their policy says without one; all off on
a supply at fault. It answers at the console, too. After HEALTHY_S, twice as long each time that was too early, it makes way for
the full program, which begins with the same parts.
"""

from .core.cells import BY_RESTORE
from .drivers import clock
from .drivers.pins import MINIMAL
from .loop import HEALTHY_S, LIT_S
from .parts import FAR, TEND_MS, Parts

TRIES = 3               # `start`'s FULL_TRIES and SAGS: one more of either, and the minimal program is back
DOUBLINGS = 6           # of the time for which the minimal program runs: 64 min at most


def held_for(record, queue):
    """Return the time after which the minimal program makes way for the full one [s]."""
    time = HEALTHY_S << min(record["returns"], DOUBLINGS)
    for channel in range(len(queue.level)):
        if queue.level[channel] and queue.cause[channel] != BY_RESTORE:
            return time + LIT_S
    return time


def run(site):
    """Live until a turn fails, and raise what it failed with; or until the full program may be tried again."""
    from time import sleep_ms

    from .answering import Answering        # only here: the full program has no use for it

    parts = Parts(site)
    parts.lamp.show(MINIMAL)
    if site.has_sagged:
        parts.radio_at = FAR                # a supply that stands no load says nothing
        parts.plan.restore = bytes(parts.plan.channels)
    loop, queue, record = parts.loop, parts.queue, site.record
    loop.begin(None)
    tended, answering = clock.ms(), Answering(parts)
    try:
        while not loop.has_failed:
            wait = loop.turn()
            if clock.since(clock.ms(), tended) >= TEND_MS:
                tended = clock.ms()
                parts.tend(is_missing=True)
                answering.tend()
                if queue.seconds >= held_for(record, queue) and parts.is_idle():
                    record.update({"tries": min(record["tries"], TRIES), "sags": min(record["sags"], TRIES), "returns": record["returns"] + 1})
                    site.slots.keep(record)
                    return
            sleep_ms(wait)
    finally:
        parts.outputs.release()
    raise loop.error
