"""What one burst of marks and spaces says: the best reading among all protocols, with how sure it is.

`Reader.strict` reads a burst that is one undisturbed frame; `Reader.aligned` finds the best frame that
begins at a given mark of a disturbed one. Both leave it in `best`, a `Frame`. Time is not known here:
repeats, pairs and confirmations are the decoder's.
"""

from . import protocols as p
from . import timings as t
from .distance import Distance
from .code_fields import Fields

_LOST = 1 << 29

# read strictly, in this order, where a burst has as many durations as the row
STRICT = (t.NEC_ROW, t.SAMSUNG_ROW, t.SANYO_ROW, t.KASEIKYO_ROW, t.RCA_ROW, t.JVC_ROW, t.JVC_AGAIN_ROW, t.SIRC12_ROW,
          t.SIRC15_ROW, t.SHARP_ROW, t.SIRC20_ROW)
# found by their leader; those with the same one follow each other
_LED = (t.KASEIKYO_ROW, t.NEC_ROW, t.SANYO_ROW, t.SAMSUNG_ROW, t.RCA_ROW, t.JVC_ROW, t.SIRC20_ROW, t.SIRC15_ROW, t.SIRC12_ROW)
_MERGED = 420            # widest disturbance merged behind a leader [us]
_MUCH, _LITTLE = 64, 160 # of 256: what must be left of a leader's mark, where check bits tell chance from a frame and where they do not
_CHECKED = (t.KASEIKYO_ROW, t.NEC_ROW)
_PAIR_ROWS = (t.SHARP_ROW, t.DENON_ROW, t.SHARP_WIDE_ROW)
_UNLED_CHECKED = (t.NEC_ROW, t.KASEIKYO_ROW, t.RCA_ROW)   # read without leader at the start of a burst only


def durations_of(row):
    """Return how many durations an undisturbed frame of a row has."""
    return (2 if row[0] else 0) + 2 * row[6] + (1 if row[7] else -1)


class Frame:
    """One decoded frame. `start` and `end` are places in the burst, of its first duration and after its last."""

    def __init__(self):
        self.protocol = self.address = self.command = 0
        self.repeat = False      # the same key is still held
        self.toggle = -1         # 0 or 1 where the protocol has one
        self.confidence = 0
        self.scale = 1024        # clock of the remote: 1024 is nominal, 1100 is 7 % slow; 1024 if not measured
        self.stretch = 0         # marks came out longer by this [us]
        self.merged = 0          # disturbances taken out
        self.start = self.end = 0


    def copy(self, source):
        """Become equal to `source`."""
        self.protocol, self.address, self.command = source.protocol, source.address, source.command
        self.repeat, self.toggle, self.confidence = source.repeat, source.toggle, source.confidence
        self.scale, self.stretch, self.merged = source.scale, source.stretch, source.merged
        self.start, self.end = source.start, source.end


class Reader:
    """The readers of the `wanted` protocols, None for all, and their last answer.

    That is `best`, and the `row` it was read by (None: bi-phase). The rows of pulse-distance and
    pulse-width are all read, whatever is wanted: they cost little, and keep one from being taken for another.
    """

    def __init__(self, wanted=None):
        self._distance = Distance()
        self.fields = Fields()
        self._biphase = None
        if wanted is None or any([protocol in p.BIPHASE for protocol in wanted]):
            from .biphase_reading import BiphaseReading

            self._biphase = BiphaseReading(self)
        self.best = Frame()
        self.row = None
        self._d = None
        self._rank = _LOST
        self.scale, self.leader_mark, self.leader_space, self.merged = 1024, 0, 0, 0     # of the leader found last
        self.in_pair = False     # set by who knows the time: the second half of a pair may be due

    def strict(self, d, n):
        """Read the whole burst as one undisturbed frame."""
        distance, biphase, fields = self._distance, self._biphase, self.fields
        for row in STRICT:
            if durations_of(row) == n and distance.strict(d, n, row) and self._identify(row, d[0]):
                self._keep(0, n, _base(fields.checked), 0, 1024, 0)
                self.row = row
                return True
        if biphase is not None and biphase.strict(d, n):
            self._keep(0, n, _base(fields.checked), 0, 1024, 0)
            self.row = None
            return True
        return False

    def aligned(self, d, start, n):
        """Find the best frame that begins at the mark `d[start]` among `n` durations. True when there is one."""
        self._rank = _LOST
        self._d = d
        first = d[start]
        after = d[start + 1] if start + 1 < n else 0
        mark = place = 0
        for row in _LED:
            if row[0] != mark:
                mark, place = row[0], 0
                clip = _MUCH if row in _CHECKED else _LITTLE
                if first >= mark * clip >> 8 or after <= _MERGED:       # else too short, and not by a drop-out
                    place = self.leader(start, n, mark, row[1], _MERGED, clip)
            if place:
                self._try_distance(start, n, place, row, self.scale, self.leader_mark, _MERGED)
        if self._biphase is not None:
            self._biphase.led(d, start, n)
        if self._rank == _LOST and self._may_begin(start):
            if start == 0:
                for row in _UNLED_CHECKED:
                    self.merged = 0
                    if _in_periods(d, 0, n, row, 300):
                        self._try_distance(0, n, 0, row, 1024, 0, 300)
            self.merged = 0
            for row in _PAIR_ROWS:
                if _in_periods(d, start, n, row, 200):
                    self._try_distance(start, n, start, row, 1024, 0, 200)
            if _in_periods(d, start, n, t.JVC_AGAIN_ROW, 300):
                self._try_distance(start, n, start, t.JVC_AGAIN_ROW, 1024, 0, 300)
            if self._biphase is not None:
                self._biphase.unled(d, start, n)
        return self._rank < _LOST

    def _may_begin(self, start):
        """A frame without leader begins a burst, follows a long space, or hides behind a little noise."""
        return start <= 12 or self._d[start - 1] > 2200

    def leader(self, start, n, mark_nominal, space_nominal, limit, clip):
        """Return the place after the best-fitting leader at `start`, 0 if there is none.

        Its mark may be clipped to `clip` (of 256) of nominal, as automatic gain does after silence.
        Sets scale, leader_mark, leader_space, merged.
        """
        d = self._d
        mark, after, merged = d[start], start + 1, 0
        nominal = mark_nominal + space_nominal
        wide = (space_nominal >> 3) + 200
        after_silence = start == 0 or d[start - 1] > 2000     # only then is a clipped or mended leader believed
        place, best = 0, _LOST
        while after < n:
            space, then, merged_ = d[after], after + 1, merged
            while then < n:
                scale = (mark + space) * 1024 // nominal
                whole = 900 <= scale <= 1150
                if not whole:
                    scale = 1024
                off = abs(space - (space_nominal * scale >> 10))
                if off <= wide and (whole or after_silence and mark_nominal * clip >> 8 <= mark < mark_nominal):
                    off += 100 * merged_
                    if not whole:
                        off += 300
                    if off < best:
                        place, best = then, off
                        self.scale, self.leader_mark = scale, mark         # four at once would take memory
                        self.leader_space, self.merged = space, merged_
                if after_silence and merged_ < 2 and then + 1 < n and d[then] <= limit:
                    space += d[then] + d[then + 1]
                    then += 2
                    merged_ += 1
                else:
                    break
            if after_silence and merged < 2 and after + 1 < n and d[after] <= limit:
                mark += d[after] + d[after + 1]
                after += 2
                merged += 1
            else:
                break
        return place

    def _try_distance(self, start, n, place, row, scale, leader_mark, limit):
        distance, led = self._distance, self.merged
        if place + 2 * row[6] + row[7] > n + 1 or not distance.align(self._d, n, place, row, scale, limit, 4 if row[7] and row[0] else 2):
            return
        leader = leader_mark * 1024 // distance.scale if leader_mark else 0
        if not self._identify(row, leader):
            return
        checked = self.fields.checked
        if not leader and row in _UNLED_CHECKED and checked < 12:
            return
        half = (row[3] - row[2] or row[5] - row[4]) >> 1
        if distance.worst * 4 > 3 * half:
            return
        if checked < 16 and not (self.in_pair and row in _PAIR_ROWS) and self._goes_on(n, distance, row, half):
            return
        self.judge(start, distance, 2 * row[6] + row[7], row, led, row[6] if row[0] else 15)

    def _goes_on(self, n, distance, row, half):
        """Whether another bit may follow the frame just read, and not silence or noise."""
        end, d = distance.end, self._d
        if end >= n:
            return False
        space, longest = d[end] + distance.stretch, row[5] * distance.scale >> 10
        window = half * 3 // 4
        if space >= (row[4] * distance.scale >> 10) + window and abs(space - longest) >= window:
            return False
        if end + 2 < n and d[end + 2] < longest + window:
            return True                        # mark and space follow that may be a bit, a broken one too
        return end + 1 >= n or d[end + 1] * 10 >= row[2] * 7

    def judge(self, start, reading, durations, row, led, bits):
        """Keep this reading if it is the best so far.

        More check bits go before fewer; of those without a check the longer frame (the shorter may be its
        prefix); then the lesser residual.
        """
        checked = self.fields.checked
        residual = max(0, reading.cost - 20000 * reading.merged) // max(1, durations)
        if residual > (22500 if checked >= 8 else 12100):
            return
        rank = residual + (32 - checked << 15 if checked >= 8 else (1 << 22) + (64 - bits << 15))
        if rank >= self._rank:
            return
        self._rank, self.row = rank, row
        merged = reading.merged + led
        confidence = _base(checked) - _root(residual) // 5 - 4 * merged
        if checked < 8 and merged > 2:
            confidence -= 20                   # so mended, and nothing to confirm it
        self._keep(start, reading.end, confidence, merged, reading.scale, reading.stretch)

    # --- what a reading means ---

    def _identify(self, row, leader_mark):
        """Bits of `distance` to fields. False when a check fails."""
        distance, fields = self._distance, self.fields
        first, second = distance.first, distance.second
        bits = row[6]
        if bits == 32:
            return fields.nec(first, second, leader_mark)
        if bits == 48:
            return fields.kaseikyo(first, second)
        if bits == 42:
            return fields.sanyo(first, second)
        if bits == 24:
            return fields.rca(first)
        if bits == 16:
            return fields.jvc(first)
        return fields.sirc(first, bits) if row[0] else fields.half(first)

    def _keep(self, start, end, confidence, merged, scale, stretch):
        """Note the fields as the best frame so far."""
        best, fields = self.best, self.fields
        best.protocol, best.address, best.command = fields.protocol, fields.address, fields.command
        best.toggle, best.confidence, best.merged = fields.toggle, confidence, merged
        best.scale, best.stretch = scale, stretch
        best.start, best.end = start, end

def _base(checked):
    return 99 if checked >= 12 else 97 if checked >= 8 else 80


def _in_periods(d, start, n, row, limit):
    """A quick look: the next three marks and periods could be bits of the row, or be broken by a disturbance."""
    if start + 2 * row[6] >= n:
        return False
    longest = (row[3] + row[5]) * 5 >> 2
    for at in range(start, start + 6, 2):
        if d[at] <= limit or d[at + 1] <= limit:
            return True
        if d[at] > row[3] + 300 or d[at] + d[at + 1] > longest:
            return False
    return True


def _root(square):
    """Return the integer square root, at most 255."""
    root = 0
    for bit in (128, 64, 32, 16, 8, 4, 2, 1):
        if (root + bit) * (root + bit) <= square:
            root += bit
    return root
