"""The minimal program: wall switches and regulators, nothing else. It runs after repeated crashes, or when the supply sags.

No radio, no infra-red, no sensor, no snapshot. Channels start as their policy says without one; all off on
a supply at fault. It answers at the console, too. After HEALTHY_S, twice as long each time that was too early, it makes way for
the full program, which begins with the same parts.
"""

import json

from . import core
from .core.cells import BY_RESTORE
from .request_queue import FAULT, STARTED, STARTS, RequestQueue
from .drivers import clock
from .drivers.pins import MINIMAL, Inputs, Lamp, Outputs, Watchdog
from .loop import HEALTHY_S, LIT_S, RECORD_FAULT, SUPPLY_FAULT, Loop

TEND_MS = 50
SAG_S = 2               # a supply that has stood a relay's closing or the radio's start for longer has stood it
SOON_MS = 10_000        # a closing that is due within so long is waited for; a quiet moment to say so comes before it
TRIES = 3               # `start`'s FULL_TRIES and SAGS: one more of either, and the minimal program is back
DOUBLINGS = 6           # of the time for which the minimal program runs: 64 min at most
AGAIN_S = 3600          # a healthy report that the flash did not keep is tried again after so long
FAR = 1 << 29           # a second that never comes
SUPPLY = "supply fault" # why the board started, before anything the chip may say
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
    """What every program has: plan, queue, loop, lamp and watchdog, from a site as `start` makes it.

    `radio_at` is the second in which the radio was started: FAR while it is still to come.
    """

    def __init__(self, site, sensors=(), radio_at=0):
        with open(site.folder + "/plan.json") as file:
            table = json.load(file)
        board, pin_class = site.board, site.machine.Pin
        self.site = site
        self.plan, self.readings = core.Plan(table), table.get("readings", ())
        self.outputs = Outputs(pin_class, board["relays"], board["relay_level"])
        inputs = Inputs(pin_class, board["switches"], board["regulators"], board.get("feedback", ()), board.get("inputs", ()))
        self.lamp = Lamp(pin_class, board["status"])
        self.watchdog = Watchdog(site.watchdog)
        self.queue = RequestQueue(core, self.plan, table, sensors, SUPPLY if site.has_sagged else cause_of_reset(site.machine))
        self.queue.counts[STARTS] = site.record["starts"]
        self.queue.note(STARTED, 0, 0, 0)
        if site.has_sagged:
            self.queue.note(FAULT, SUPPLY_FAULT, 0, 0)
        if site.slots.failed:
            self.queue.note(FAULT, RECORD_FAULT, 0, 0)
        self.loop = Loop(self.plan, self.outputs, inputs, clock, self.queue)
        self.is_healthy = self.is_steady = False
        self.radio_at, self._closed_at, self._closings, self._due = radio_at, 0, 0, HEALTHY_S

    def is_idle(self, is_silent=True):
        """Return whether nothing would mind the processor being held for a few milliseconds; `is_silent` as in `Loop.tend`."""
        now = clock.ms()
        return self.loop.is_still(now) and self.loop.is_quiet(now, is_silent)

    def tend(self, is_silent=True, is_missing=False):
        """See to what can wait; report the supply steady or in doubt, and once the program healthy, unless something of it `is_missing`."""
        self.loop.tend(is_silent, self.watchdog, self.lamp)
        seconds, closings = self.queue.seconds, sum(self.outputs.operations)
        if closings != self._closings:
            self._closings, self._closed_at = closings, seconds
        is_steady = self.is_steady      # a closing that nobody could know of comes too soon to be put down first
        if self.loop.is_closing_within(SOON_MS):
            is_steady = False
        elif seconds - max(self._closed_at, self.radio_at) > SAG_S:
            is_steady = True
        is_due = not (self.is_healthy or is_missing) and seconds >= self._due
        if (is_due or is_steady != self.is_steady) and self.is_idle(is_silent):
            if is_due:
                self.is_healthy = self._kept(self.site.slots.healthy())
                self._due = seconds + AGAIN_S
            else:
                self.is_steady = is_steady
                self._kept(self.site.slots.keep({"sags": 0 if is_steady else self.site.record["sags"]}))

    def _kept(self, is_kept):
        if not is_kept:
            self.queue.note(FAULT, RECORD_FAULT, 0, 0)
        return is_kept


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
