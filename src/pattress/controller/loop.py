"""The loop: what stands between the pins and the control program, turn by turn.

`turn` does all that matters between a contact and its relay: it reads the contacts, passes
the time, steps the program and drives the relays. It allocates nothing, waits for nothing and
never raises, so it may also run in an interrupt: where the board has a timer whose interrupt
runs at once, `stand_by` takes the turn whenever something else holds the processor. Only
`turn` touches the program's state; everybody else sees what it lays down.

`tend` does what can wait: snapshot, watchdog, lamp, memory. While flash is erased the
processor stands still, so nothing is saved within `QUIET_MS` of an edge, a relay's move or an
infra-red signal, nor shortly before a wait of the program ends.
"""

import gc
from array import array

from . import core
from .core.cells import APPLIED, HOLD, INPUT_MOVED, LEVEL, SENSED, TURN, WANTED
from .request_queue import FAULT, HEAP_LOW, REFUSED, SAVES, TURNS, WORST_US
from .drivers.pins import MOST_COUNTED

LOOK_MS = 1             # waited between two looks at the contacts; a look takes another millisecond of an RP2040
LATE_MS = 6             # after so long without a turn the stand-by takes one
QUIET_MS = 250          # longer than a contact or a rotor settles, and than the pause between infra-red frames
FLASH_MS = 400          # the longest erase of one sector (W25Q64JV, as printed in a public note of its parameters); 45 ms is usual
OVERDUE_MS = 60_000     # a snapshot that found no quiet for so long is written at the next still moment
MEMORY_MS = 10_000      # between two looks at the memory
HEALTHY_S = 60          # a program that has lived so long is reported healthy
LIT_S = 3600            # the minimal program stays so much longer while a load is on that a hand has switched on
JOINED_S = 900          # one that must join the network for that, and has not by then, is given up
CODES = 8               # infra-red codes that may wait for a turn

# What a FAULT note on the queue is about: its first number.
FLASH_FAULT, CODES_FAULT, TASK_FAULT, RESTORE_FAULT, FELL_BACK, RECORD_FAULT, SUPPLY_FAULT, UNLOCKED = range(8)
FAULTS = ("a snapshot was not kept by the flash", "more infra-red codes than turns", "a task failed and was started anew",
          "a damaged snapshot was found at power-up", "a new program did not report healthy: the former one runs",
          "the start record or the Wi-Fi was not kept by the flash",
          "the power went three times as a relay closed or the radio started: supply too weak, or a fault behind it",
          "the access point could not be locked: set the Wi-Fi over USB")


class Loop:
    """One control program on one board.

    `plan` a ready Plan, `outputs` and `inputs` as in `drivers.pins`, `clock` as `drivers.clock`,
    `queue` as in `request_queue`, `store` as in `drivers.store` or None.
    """

    def __init__(self, plan, outputs, inputs, clock, queue, store=None):
        self.plan, self.outputs, self.inputs, self.clock = plan, outputs, inputs, clock
        self.queue, self.store = queue, store
        self.reader = None              # as in `readings`, where rules wait for some
        self.state = core.new_state(plan)
        self.snapshot = bytearray(core.size(plan))
        self.worst_gap = 0              # longest time between two turns [ms]
        self.taken_over = 0             # turns that the stand-by took
        self.has_failed = False         # a turn raised: the relays are open, and nothing turns any more
        self.error = None
        self._event, self._request = [0, 0, 0, 0, 0], [0, 0, 0, 0, 0]
        self._codes, self._codes_in, self._codes_out = array("i", [0] * (4 * CODES)), 0, 0
        self._copy = bytearray(core.size(plan))
        self._written = self._saved = 0         # counts of snapshots laid down by `turn`, and dealt with by `tend`
        self._is_turning = False
        self._due = -1
        self._told_at = self._turned_at = self._stirred_at = self._tended_at = self._unsaved_at = self._measured_at = 0

    def begin(self, snapshot):
        """Learn where the contacts stand and begin from `snapshot`, bytes or None."""
        closed, contacts = self.inputs.learn()
        core.begin(self.plan, self.state, snapshot, closed, contacts)
        now = self.clock.ms()
        self._told_at = self._turned_at = self._stirred_at = self._tended_at = self._measured_at = now
        self._step(core.TIME, 0, 0, 0, 0)
        self._drive(now)
        self._tell()

    # Between a contact and its relay.

    def turn(self):
        """Do what is due now. Return how long the next turn may wait [ms]."""
        self._is_turning = True
        try:
            return self._turn()
        except Exception as error:      # a bug must not leave a relay closed; the watchdog then starts anew
            self.stop(error)
            return LOOK_MS
        finally:
            self._is_turning = False

    def stand_by(self, timer=None):
        """Take a turn if none was taken for too long. For a timer's interrupt."""
        if not self._is_turning and self.clock.since(self.clock.ms(), self._turned_at) >= LATE_MS:
            self.taken_over += 1
            self.turn()

    def hear(self, protocol, address, command, freshness):
        """Let an infra-red code wait for the next turn; return whether there was room."""
        after = (self._codes_in + 1) % CODES
        if after == self._codes_out:
            self.queue.note(FAULT, CODES_FAULT, 0, 0)
            return False
        at, codes = 4 * self._codes_in, self._codes
        codes[at], codes[at + 1] = protocol, address
        codes[at + 2], codes[at + 3] = command, freshness
        self._codes_in = after
        return True

    def _turn(self):
        if self.has_failed:
            return LOOK_MS
        clock, queue, inputs = self.clock, self.queue, self.inputs
        now, started = clock.ms(), clock.us()
        gap = clock.since(now, self._turned_at)
        self._turned_at = now
        if gap > self.worst_gap:
            self.worst_gap = gap
        queue.advance(gap)
        is_stepped = False
        elapsed = clock.since(now, self._told_at)
        if 0 < self._due <= elapsed:        # with nothing due the clock may wrap unseen: no wait is running
            is_stepped = self._pass_time(now)
        if self._codes_out != self._codes_in:
            at, codes = 4 * self._codes_out, self._codes
            self._stirred_at = now
            self._pass_time(now)
            self._step(core.CODE, codes[at], codes[at + 1], codes[at + 2], codes[at + 3])
            self._codes_out = (self._codes_out + 1) % CODES
            is_stepped = True
        if self.reader and self.reader.has_news:
            is_stepped = self._pass_time(now)
            self.reader.tell(self._step)
        if queue.take(self._request):
            self._pass_time(now)
            self._do(self._request)
            is_stepped = True
        if is_stepped:
            self._drive(now)
        for i in range(inputs.count):       # after the relays: a contact that has just moved must settle first
            closed = inputs.closed(i)
            if closed != inputs.seen[i]:
                inputs.seen[i] = closed
                self._stirred_at = now
                self._pass_time(now)
                if i < inputs.switches:
                    self._step(core.CONTACT, inputs.owner[i], closed, 0, 0)
                elif i < inputs.contacts:
                    self._step(core.ROTOR, inputs.owner[i], inputs.number[i], closed, 0)
                else:
                    self._step(SENSED if i < inputs.inputs_at else INPUT_MOVED, inputs.owner[i], closed, 0, 0)
                is_stepped = True
        if is_stepped:
            self._drive(now)
            self._tell()
        if queue.counts[TURNS] < MOST_COUNTED:
            queue.counts[TURNS] += 1
        took = clock.since(clock.us(), started)
        if took > queue.counts[WORST_US]:
            queue.counts[WORST_US] = took
        if self._due < 0:
            return LOOK_MS
        left = self._due - clock.since(clock.ms(), self._told_at)
        return LOOK_MS if left > LOOK_MS else left if left > 0 else 0

    def _pass_time(self, now):
        """Tell the program the time that has passed since it was last told."""
        elapsed = self.clock.since(now, self._told_at)
        self._told_at = now
        if elapsed > 0:
            self._step(core.TIME, elapsed, 0, 0, 0)
        return True

    def _step(self, kind, first, second, third, fourth):
        event = self._event
        event[0], event[1] = kind, first
        event[2], event[3] = second, third
        event[4] = fourth
        self._do(event)

    def _do(self, event):
        todo = core.step(self.plan, self.state, event)
        if todo & core.SAVE_NOW:
            core.write(self.plan, self.state, self.snapshot)
            self._written = self._written + 1 & MOST_COUNTED
        if todo & core.REFUSED and event[0] == core.COMMAND:
            self.queue.counts[REFUSED] += 1

    def _drive(self, now):
        """Bring the relays to where the program wants them now."""
        closed = core.relays(self.plan, self.state)
        if closed != self.outputs.closed:
            self.outputs.drive(closed)
            self._stirred_at = now

    def _tell(self):
        """Find out when something is due, and tell the news."""
        if self.queue.inputs:
            for i in range(self.plan.inputs):
                self.queue.inputs.news(i, self.state[self.plan.input_at[i] + LEVEL])
        self._due = core.due_in(self.plan, self.state)
        channel = core.next_news(self.plan, self.state)
        while channel >= 0:
            at = self.plan.channel_at[channel]
            cause = self.plan.watch.cause(self.plan, self.state, channel) if self.plan.watch else self.state[at + core.CAUSE]
            self.queue.news(channel, self.state[at + core.APPLIED], cause)
            channel = core.next_news(self.plan, self.state)

    # What can wait.

    def tend(self, is_silent=True, watchdog=None, lamp=None):
        """See to snapshot, watchdog, lamp and memory; `is_silent`: no infra-red signal is arriving."""
        now = self.clock.ms()
        if lamp is not None:
            lamp.advance(self.clock.since(now, self._tended_at))
        self._tended_at = now
        if watchdog is not None and not self.has_failed:
            watchdog.feed(self.queue.counts[TURNS])
        if self._saved == self._written:
            self._unsaved_at = now
        elif self.is_still(now) and (
                self.is_quiet(now, is_silent) or self.clock.since(now, self._unsaved_at) >= OVERDUE_MS):
            self._save()
        elif self.clock.since(now, self._unsaved_at) >= 2 * OVERDUE_MS:
            self._unsaved_at = now      # the clock must not wrap
        if self.clock.since(now, self._measured_at) >= MEMORY_MS and self.is_still(now) and self.is_quiet(now, is_silent):
            self._measured_at = now
            self._measure()

    def is_closing_within(self, ms):
        """Return whether a channel that shall be on comes on by then: its turn comes, or it has been off for long enough."""
        state, most = self.state, ms + self.clock.since(self.clock.ms(), self._told_at)
        for at in self.plan.channel_at:
            if state[at + WANTED] and not state[at + APPLIED] and 0 < max(state[at + TURN], state[at + HOLD]) <= most:
                return True
        return False

    def is_saved(self):
        """Return whether the flash has, or was offered, the newest snapshot."""
        return self._saved == self._written

    def stop(self, reason):
        """Stop for good, every relay open; whoever turns the loop then raises the reason."""
        self.has_failed = True
        self.outputs.release()
        self.error = reason

    def flush(self):
        """The power is failing: let every relay go, which spares what is left, and save what is now."""
        self.outputs.release()
        core.write(self.plan, self.state, self.snapshot)
        self._written = self._written + 1 & MOST_COUNTED
        self._save()

    def is_still(self, now):
        """Return whether no contact has just moved and no wait of the program is about to end."""
        left = self._due - self.clock.since(now, self._told_at)
        return (self._due < 0 or left > FLASH_MS) and self.inputs.is_still()

    def is_quiet(self, now, is_silent=True):
        """Return whether nothing has stirred for a while."""
        return is_silent and self.clock.since(now, self._stirred_at) >= QUIET_MS

    def _save(self):
        while True:                     # the stand-by may lay down a newer one meanwhile
            written = self._written
            self._copy[:] = self.snapshot
            if written == self._written:
                break
        self._saved = written
        if self.store is None:
            return
        if self.store.save(self._copy):
            self.queue.counts[SAVES] = self.store.saves
        else:
            self.queue.note(FAULT, FLASH_FAULT, self.store.failed, 0)

    def _measure(self):
        gc.collect()
        if hasattr(gc, "mem_free"):
            free = gc.mem_free()
            counts = self.queue.counts
            if not counts[HEAP_LOW] or free < counts[HEAP_LOW]:
                counts[HEAP_LOW] = free
