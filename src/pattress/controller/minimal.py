"""The minimal program: wall switches and regulators, nothing else. It runs after repeated crashes.

No radio, no infra-red, no sensor, no snapshot. Channels start as their policy says without one. It answers
at the console, too. The full program begins with the same parts.
"""

import json

from . import core
from .request_queue import STARTED, STARTS, RequestQueue
from .drivers import clock
from .drivers.pins import MINIMAL, Inputs, Lamp, Outputs, Watchdog
from .loop import HEALTHY_S, Loop

TEND_MS = 50
CAUSES = (("PWRON_RESET", "power"), ("WDT_RESET", "watchdog"), ("HARD_RESET", "restart"),
          ("DEEPSLEEP_RESET", "sleep"), ("SOFT_RESET", "console"))


def cause_of_reset(machine):
    """Return a word for why the board started. Boards tell some causes apart no better than this.

    On ESP32 a sagging supply reads as power; on RP2040 and RP2350 a restart reads as watchdog.
    """
    cause = machine.reset_cause()
    for name, word in CAUSES:
        if hasattr(machine, name) and getattr(machine, name) == cause:
            return word
    return "unknown"


class Parts:
    """What every program has: plan, queue, loop, lamp and watchdog, from a site as `start` makes it."""

    def __init__(self, site, sensors=()):
        with open(site.folder + "/plan.json") as file:
            table = json.load(file)
        board, pin_class = site.board, site.machine.Pin
        self.site = site
        self.plan = core.Plan(table)
        self.outputs = Outputs(pin_class, board["relays"], board["relay_level"])
        inputs = Inputs(pin_class, board["switches"], board["regulators"], board.get("feedback", ()))
        self.lamp = Lamp(pin_class, board["status"])
        self.watchdog = Watchdog(site.watchdog)
        self.queue = RequestQueue(core, self.plan, table, sensors, cause_of_reset(site.machine))
        self.queue.counts[STARTS] = site.record["starts"]
        self.queue.note(STARTED, 0, 0, 0)
        self.loop = Loop(self.plan, self.outputs, inputs, clock, self.queue)
        self.is_healthy = False

    def is_idle(self, is_silent=True):
        """Return whether nothing would mind the processor being held for a few milliseconds; `is_silent` as in `Loop.tend`."""
        now = clock.ms()
        return self.loop.is_still(now) and self.loop.is_quiet(now, is_silent)

    def tend(self, is_silent=True, is_missing=False):
        """See to what can wait; once, at a quiet moment, report the program healthy, unless something of it `is_missing`."""
        self.loop.tend(is_silent, self.watchdog, self.lamp)
        if not (self.is_healthy or is_missing) and self.queue.seconds >= HEALTHY_S and self.is_idle(is_silent):
            self.is_healthy = True
            self.site.slots.healthy()


def run(site):
    """Live until a turn fails. Raises what it failed with."""
    from time import sleep_ms

    from .answering import Answering        # only here: the full program has no use for it

    parts = Parts(site)
    parts.lamp.show(MINIMAL)
    loop = parts.loop
    loop.begin(None)
    tended, answering = clock.ms(), Answering(parts)
    try:
        while not loop.has_failed:
            wait = loop.turn()
            if clock.since(clock.ms(), tended) >= TEND_MS:
                tended = clock.ms()
                parts.tend()
                answering.tend()
            sleep_ms(wait)
    finally:
        parts.outputs.release()
    raise loop.error
