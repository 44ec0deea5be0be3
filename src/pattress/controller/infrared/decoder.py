"""The infra-red decoder of the board: durations in, button codes out.

    decoder = Decoder()                     # of every protocol; a board has decoder_of(codes of its buttons)
    for duration in durations:              # us: marks (carrier) positive, spaces negative
        for place in range(decoder.feed(duration)):
            frame = decoder.frames[place]   # protocol, address, command, repeat, toggle, confidence

A burst ends at a silence of `GAP`. When the receiver falls silent, feed the silence so far, or call
`idle()`: the last burst is decoded then. Frames stay valid until the next feed that ends a burst.

A loop that must not be held up calls `take` instead of `feed` and, when that is True, `think` once per round
until it is False, before it takes the next duration: each call looks at one place of the burst only.

How sure. `confidence` is 0 to 100; act on `TRUSTED` and above, here and nowhere else is the limit. It starts
from what the protocol can check (12 bits or more: 99; 8: 97; none: 80; half a pair: 30), loses a fifth of the residual
r.m.s. in us and 4 per merged disturbance (20 more without a check if they are over two), and gains 10 when the same code came just before.
A pattern of no known protocol checks nothing, and noise may have one: 40. But where it is one of the `patterns`
that were learnt, both its hashes compare, and noise does not hit them: 70.

Which reading wins: a strict reading of the whole burst; else the best alignment that passes a check; else
the best without one, if its frame ends in silence. Further rules are stated in `code_fields`. A held key:
equal code within `KEY_UP` of the last (and equal toggle, where there is one), or NEC's ditto, which
alone means nothing. JVC's headless word needs an equal word before it. Sharp and Denon need both halves;
a half alone is told with confidence 30 when `idle` is called or the time for the other has passed.

A board wants the protocols of its plan only. What no wanted protocol needs is then neither loaded nor held:
the bi-phase aligner, which is most of the memory, and the hash. Frames of wanted protocols are told as ever.

Never raises for any integers. Time per burst is bounded by its at most `SIZE` durations, memory is fixed.
"""

from . import protocols as p
from . import timings as t
from .reading import Frame, Reader

SIZE = 208               # durations kept of one burst
FRAMES = 4               # frames told per burst
TRUSTED = 50
_NAMED, _LEARNT = 40, 70 # how sure a pattern of no known protocol is
_PAIRED = (p.SHARP, p.DENON)
_WITH_DITTO = (p.NEC, p.NECX, p.NEC32)
_CLOCK = 0x1FFFFFFF      # the running time in us wraps here
_MOST = 1000000          # longer durations count as this


def decoder_of(protocols, addresses, commands):
    """Return the decoder of a board whose buttons have these codes: three columns, a place for each button."""
    patterns = [(addresses[i], commands[i]) for i in range(len(protocols)) if protocols[i] == p.HASH]
    return Decoder(list(protocols), patterns)


class Decoder:
    """The stream decoder; `feed` it signed durations, read `frames`.

    `wanted` are numbers of protocols, None for all; `patterns` the (address, command) that were learnt of no protocol.
    """

    def __init__(self, wanted=None, patterns=()):
        self.frames = [Frame() for _ in range(FRAMES)]
        self.found = 0           # frames told by the last feed
        self._d = [0] * (SIZE + 2)
        self._n = 0
        self._size = self._silence = 0
        self._place = -1         # where in the burst to think next; -1: strictly about the whole
        self._understood = False
        self._reader = Reader(wanted)
        self._best = self._reader.best
        self._patterns = patterns
        self._fallback = None    # names what is of no known protocol
        if wanted is None or p.HASH in wanted:
            from .fallback import Fallback

            self._fallback = Fallback(SIZE)
        self._last = Frame()     # the key that may still be held
        self._last_end = 0
        self._clock = 0          # time of the start of the burst [us]
        self._waiting = 0        # SHARP, DENON or JVC: a half or a headless word waits for its other
        self._half = Frame()
        self._word = self._word_start = self._word_end = 0
        self._told = False       # the waiting half was part of a pair already told

    def reset(self):
        """Forget everything heard so far."""
        self._n = self.found = self._clock = self._waiting = 0
        self._last.protocol = p.NONE

    def feed(self, duration):
        """Take one duration [us], marks positive, spaces negative. Return how many frames it completed."""
        if self.take(duration):
            while self.think():
                pass
        return self.found

    def idle(self):
        """The receiver has fallen silent for good: decode what is left. Return how many frames that gave."""
        self.found = 0
        n = self._n
        if n:
            self._begin(n if n & 1 else n - 1, 0)
            while self.think():
                pass
        self._expire(True)
        return self.found

    def take(self, duration):
        """Take one duration [us] as `feed` does, but only note it. True: a burst has ended, now call `think`."""
        n, d = self._n, self._d
        self.found = 0
        if duration > 0:
            if n & 1:
                d[n - 1] = min(d[n - 1] + duration, _MOST)
                return False
            d[n] = min(duration, _MOST)
            self._n = n + 1
            if n < SIZE:
                return False
            self._begin(SIZE - 1, 0)           # full, without any silence
            return True
        if duration < 0:
            duration = min(-duration, _MOST)
            if n == 0:
                self._clock = self._clock + duration & _CLOCK
                self._expire(False)
                return False
            if n & 1:
                d[n] = duration
                self._n = n = n + 1
            else:
                duration = d[n - 1] = min(d[n - 1] + duration, _MOST)
            if duration >= t.GAP:
                self._begin(n - 1, duration)
                return True
        return False

    def think(self):
        """Do one bounded part of reading the burst. True: there is more to do. `found` counts the frames."""
        reader, best = self._reader, self._best
        n, at = self._size, self._place
        if at < 0:
            reader.in_pair = self._waiting in _PAIRED
            if reader.strict(self._d, n):
                self._confirm(reader.row)
                return self._finish()
            self._place = 0
            return True
        if at < n and self.found < FRAMES:
            if self._ditto(at, n):
                return self._finish()
            if reader.aligned(self._d, at, n):
                before = self.found
                self._confirm(reader.row)
                # what merely waits may be a part of something longer that is of no known protocol
                self._understood = self._understood or at < 6 or self.found > before
                at = best.end - 1
            self._place = at + 2
            return True
        if self._fallback is not None and not self._understood and self._fallback.name(self._d, n):
            best.protocol, best.address, best.command = p.HASH, self._fallback.address, self._fallback.command
            best.toggle, best.confidence, best.merged = -1, _LEARNT if self._is_learnt(best) else _NAMED, 0
            best.scale, best.stretch = 1024, 0
            best.start, best.end = 0, n
            self._waiting = 0
            self._tell()
        return self._finish()

    def _is_learnt(self, frame):
        for address, command in self._patterns:
            if address == frame.address and command == frame.command:
                return True
        return False

    # --- bursts ---

    def _begin(self, size, silence):
        """A burst of `size` durations has ended: `think` starts with it."""
        self._size, self._silence = size, silence
        self._place = -1
        self._understood = False

    def _finish(self):
        """The burst is read: forget it, or, if the buffer was full, keep its later half unless a frame was found."""
        d, n = self._d, self._n
        if n > SIZE:
            dropped = SIZE if self.found else SIZE // 2
            self._clock = self._time(dropped)
            for at in range(dropped, n):
                d[at - dropped] = d[at]
            self._n = n - dropped
        else:
            self._clock = self._time(self._size) + self._silence & _CLOCK
            self._n = 0
            self._expire(False)
        return False

    def _time(self, place):
        """When `d[place]` begins, on the running clock."""
        time = self._clock
        for at in range(place):
            time += self._d[at]
        return time & _CLOCK

    # --- what confirms a reading ---

    def _ditto(self, start, n):
        """NEC's repeat without data: the key of the last frame is still held. Alone it means nothing."""
        d, best, last = self._d, self._best, self._last
        if last.protocol not in _WITH_DITTO or start + 2 >= n:
            return False
        period = d[start] + d[start + 1]
        if not (abs(period - 11250) < 1300 and abs(d[start + 1] - 2250) < 450 and 200 < d[start + 2] < 1000):
            return False
        if start + 3 < n and d[start + 3] < 4000 or self._time(start) - self._last_end & _CLOCK > t.KEY_UP:
            return False
        best.copy(last)
        best.confidence, best.merged = 85, 0
        best.start, best.end = start, start + 3
        self._tell()
        return True

    def _confirm(self, row):
        """Tell the best frame, or let it wait for what must confirm it."""
        protocol = self._best.protocol
        if row is t.JVC_AGAIN_ROW:
            self._headless()
        elif protocol in _PAIRED:
            self._pair()
        else:
            self._tell()

    def _headless(self):
        """A JVC word without leader repeats the last one; at the start of a press it takes two equal ones."""
        best, last = self._best, self._last
        start = self._time(best.start)
        word = best.command << 8 | best.address
        held = last.protocol == p.JVC and last.command == best.command and last.address == best.address
        period = start - self._word_start & _CLOCK
        twice = self._waiting == p.JVC and word == self._word and 41000 <= period <= 51500
        if twice or (held and (start - self._last_end & _CLOCK) <= t.KEY_UP):
            self._tell()
        else:
            self._waiting, self._word, self._word_start = p.JVC, word, start

    def _pair(self):
        """A half of Sharp or Denon: tell the code when the other half came before it, else wait."""
        best, half = self._best, self._half
        gap = self._time(best.start) - self._word_end & _CLOCK
        kind = best.toggle                         # 0 normal, 1 inverted
        best.toggle = -1
        best.confidence -= 50
        if (
            self._waiting == best.protocol and half.address == best.address and half.command == best.command
            and self._word != kind and t.PAIR_LEAST <= gap <= t.PAIR_MOST
        ):
            best.confidence += 69
            self._told = True
            self._tell()
        else:
            self._expire(True)
            self._told = False
        half.copy(best)
        self._waiting, self._word, self._word_end = best.protocol, kind, self._time(best.end)

    def _expire(self, now):
        """Tell a half whose other has not come in time (or, `now`, will not come)."""
        if self._waiting in _PAIRED:
            if now or (self._clock - self._word_end & _CLOCK) > t.PAIR_MOST:
                self._waiting = 0
                if not self._told and self.found < FRAMES:
                    self.frames[self.found].copy(self._half)
                    self.frames[self.found].repeat = False
                    self.found += 1

    def _tell(self):
        """Hand the best frame out; note whether its key was already held."""
        best, last = self._best, self._last
        if self.found >= FRAMES:
            return
        since = self._time(best.start) - self._last_end & _CLOCK
        same = last.protocol == best.protocol and last.address == best.address and last.command == best.command
        best.repeat = same and since <= t.KEY_UP and last.toggle == best.toggle
        if same and since <= t.KEY_UP:
            best.confidence += 10
        best.confidence = max(1, min(99, best.confidence))
        self.frames[self.found].copy(best)
        self.found += 1
        last.copy(best)
        self._last_end = self._time(best.end)


