"""What every program has: plan, queue, loop, lamp and watchdog, and what is told of the supply and of health while it runs."""

import json

from . import core
from .request_queue import FAULT, STARTED, STARTS, RequestQueue
from .drivers import clock
from .drivers.pins import Inputs, Lamp, Outputs, Watchdog
from .loop import HEALTHY_S, RECORD_FAULT, SUPPLY_FAULT, Loop

TEND_MS = 50
SAG_S = 2               # a supply that has stood a relay's closing or the radio's start for longer has stood it
SOON_MS = 10_000        # a closing that is due within so long is waited for; a quiet moment to say so comes before it
AGAIN_S = 3600          # a healthy report that the flash did not keep is tried again after so long
FAR = 1 << 29           # a second that never comes
SUPPLY = "supply fault" # why the board started, before anything the chip may say
CAUSES = "PWRON power,WDT watchdog,HARD restart,DEEPSLEEP sleep,SOFT console"       # by the beginnings of their names


def cause_of_reset(machine):
    """Return a word for why the board started. Boards tell some causes apart no better than this.

    On ESP32 a sagging supply reads as power; on RP2040 and RP2350 a restart reads as watchdog.
    """
    cause = machine.reset_cause()
    for row in CAUSES.split(","):       # one text costs less memory than ten
        name, word = row.split(" ")
        if getattr(machine, name + "_RESET", None) == cause:
            return word
    return "unknown"


class Parts:
    """From a site as `start` makes it.

    `radio_at` is the second in which the radio was started: FAR while it is still to come.
    """

    def __init__(self, site, sensors=(), radio_at=0):
        with open(site.folder + "/plan.json") as file:
            table = json.load(file)
        board, pin_class = site.board, site.machine.Pin
        self.site = site
        self.plan, self.readings = core.Plan(table), table.get("readings")
        self.outputs = Outputs(pin_class, board["relays"], board["relay_level"])
        inputs = Inputs(pin_class, board["switches"], board["regulators"], board.get("feedback", ()), board.get("inputs", ()))
        self.lamp = Lamp(pin_class, board["status"])
        self.watchdog = Watchdog(site.watchdog)
        self.queue = RequestQueue(core, self.plan, table, sensors, SUPPLY if site.has_sagged else cause_of_reset(site.machine))
        if self.plan.inputs:
            from .inputs import InputNews

            self.queue.inputs = InputNews(table["inputs"], self.queue)
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
