"""Infra-red: an interrupt notes when the line moved, the loop reads codes from that later.

The receiver module's output is low while it sees carrier. The interrupt writes the time and
the new level of each edge into a ring made once; `drain` turns edges into durations for the
decoder, a bounded part of the work in each call. Edges that come faster than they are drained,
or with a level seen twice, are lost and counted; the decoder joins what is left.
"""

from array import array

from ..core import CANNOT_TELL, NEW_PRESS, REPEAT
from ..infrared.decoder import TRUSTED
from ..infrared.timings import GAP

EDGES = 256             # a power of two; more than two frames
SOME = 16               # edges taken in one go
DITTO = 3               # durations of a mark that only says "still held"
SILENT_MS = 150         # after so long without an edge no frame is arriving: beyond every pause between repeats
LONG_US = 1_000_000     # a longer silence tells the decoder nothing more


class Ear:
    """One receiver. `hear(protocol, address, command, freshness)` takes each code that is trusted."""

    def __init__(self, clock, decoder, hear):
        self.clock, self.decoder, self.hear = clock, decoder, hear
        self.lost = self.heard = self.distrusted = 0
        self.pin = None
        self._times, self._levels = array("i", [0] * EDGES), bytearray(EDGES)
        self._noted = self._drained = 0
        self._last = clock.us()             # of the last edge drained
        self._told = 0                      # of the silence since then, what the decoder knows already [us]
        self._level = 1
        self._is_thinking = False
        self._now = clock.us                # bound once: an interrupt makes nothing

    def listen(self, pin_class, number):
        """Take the interrupt of a pin: at once where the board can, else as soon as it does."""
        pin = pin_class(number, pin_class.IN, pin_class.PULL_UP)
        edges = pin_class.IRQ_RISING | pin_class.IRQ_FALLING
        try:
            pin.irq(handler=self.edge, trigger=edges, hard=True)
        except TypeError:                   # a port without `hard`
            pin.irq(handler=self.edge, trigger=edges)
        self.pin = pin

    def edge(self, pin):
        """The interrupt: note the time and the level, nothing else."""
        self._note(self._now(), pin.value())

    def is_silent(self):
        """Return whether no signal is arriving, nor waiting to be read."""
        return not self._is_thinking and self._noted == self._drained and self._silence() >= 1000 * SILENT_MS

    def drain(self):
        """Do a bounded part of what waits. Return whether there is more to do now."""
        decoder = self.decoder
        if self._is_thinking:
            self._is_thinking = decoder.think()
            if not self._is_thinking:
                self._tell()
            return True
        waiting = self._noted - self._drained & 0x3FFFFFFF
        if waiting > EDGES:
            self.lost += waiting
            self._drained = self._noted
            at = self._noted - 1 & EDGES - 1
            self._last, self._level, self._told = self._times[at], self._levels[at], 0
            decoder.reset()
            return False
        for _ in range(min(waiting, SOME)):
            at = self._drained & EDGES - 1
            time, level = self._times[at], self._levels[at]
            self._drained = self._drained + 1 & 0x3FFFFFFF
            left = min(self.clock.since(time, self._last), LONG_US) - self._told
            if level == self._level:        # the edge between was lost
                self.lost += 1
            self._last, self._level, self._told = time, level, 0
            if left > 0 and self._take(left if level else -left):
                return True
        if waiting:
            return waiting > SOME
        silence = self._silence()           # looked at far more often than the clock wraps
        if silence >= LONG_US > self._told or (self._level and not self._told and silence >= GAP):
            left, self._told = silence - self._told, silence
            return self._take(-left if self._level else left)
        return False

    def _note(self, time, level):
        at = self._noted & EDGES - 1
        self._times[at], self._levels[at] = time, level
        self._noted = self._noted + 1 & 0x3FFFFFFF

    def _take(self, duration):
        self._is_thinking = self.decoder.take(duration)
        return self._is_thinking

    def _silence(self):
        """Return the time since the last edge [us], at most LONG_US."""
        if self._told >= LONG_US:
            return LONG_US
        return min(self.clock.since(self._now(), self._last), LONG_US)

    def _tell(self):
        for i in range(self.decoder.found):
            frame = self.decoder.frames[i]
            if frame.confidence < TRUSTED:
                self.distrusted += 1
                continue
            self.heard += 1
            self.hear(frame.protocol, frame.address, frame.command, freshness(frame))


def freshness(frame):
    """Return what the program must know of a frame: a new press, a mere repeat mark, or the same code again.

    A whole frame again is left to the program: if the first was not understood, it is the press.
    """
    if not frame.repeat:
        return NEW_PRESS
    return REPEAT if frame.end - frame.start == DITTO else CANNOT_TELL
