"""Bi-phase frames (RC-5, RC-6): durations to bits, first strictly, then by best alignment.

A bit is two halves of opposite level, so the middle of each bit is always an edge and a duration covers
one half, or two when neighbouring bits differ. The alignment is a shortest path over (duration, halves
covered); a short disturbance may be merged at a price, as in `distance`. The middle edges leave no room
for a single misread duration: it would take two that cancel.

Allocates no growing object; at most `DURATIONS` durations and 75 halves.
"""

from array import array

DURATIONS = 96
_HALVES = 76
_CELLS = (("i", 4), ("i", 4), ("H", 2), ("i", 4), ("B", 1))
_LOST = 1 << 29
_PRICE = 20000
_ALLOWED = 24000         # mean squared residual of a path in progress: 155 us
_SCALE_LEAST, _SCALE_MOST = 880, 1168
_STRETCH_LEAST, _STRETCH_MOST = -200, 260


class Biphase:
    """The aligner's workspace and its last answer."""

    def __init__(self):
        # rows of survivors by duration (a merge jumps ahead by three or five), columns by halves covered
        # each holds the cost, the frame's two parts, the sum of its marks and how many were merged
        self._rows = [[array(kind, bytes(_HALVES * size)) for kind, size in _CELLS] for _ in range(6)]
        self._units = bytearray(2 * _HALVES)
        self.high = self.low = 0       # the frame's last 16 bits are `low`, those before are `high`
        self.bits = 0
        self.end = 0
        self.merged = 0
        self.cost = 0
        self.scale = 1024
        self.stretch = 0
        self._marks = self._halves = 0

    def strict(self, d, n, place, unit, trailer, mark_is_one):
        """Read `d[place]` to `d[n - 1]` as one whole frame. True when every duration is near its nominal.

        `trailer` is the bit with double halves (-1: none). Without a leader (`place` 0) the first half of
        the first bit is the silence before. Sets high, low, bits, end.
        """
        units = self._units
        count = 0
        if place == 0:
            units[0] = 0
            count = 1
        window = 3 * unit // 10
        level = 1
        for at in range(place, n):
            duration = d[at]
            size = 1
            while duration > size * unit + window:
                size += 1
                if size > 3:
                    return False
            if duration < size * unit - window or count + size > 2 * _HALVES - 2:
                return False
            for _ in range(size):
                units[count] = level
                count += 1
            level ^= 1
        if count & 1:
            units[count] = 0
            count += 1
        double = 2 if trailer >= 0 else 0
        bits = (count - double) // 2
        high = low = 0
        at = 0
        for bit in range(bits):
            if bit == trailer:
                if units[at] != units[at + 1] or units[at + 2] != units[at + 3]:
                    return False
                one, other = units[at], units[at + 2]
                at += 4
            else:
                one, other = units[at], units[at + 1]
                at += 2
            if one == other:
                return False
            value = other if mark_is_one else one
            if bit < bits - 16:
                high = high << 1 | value
            else:
                low = low << 1 | value
        self.high, self.low = high, low
        self.bits, self.end = bits, n
        self.merged = self.cost = 0
        self.scale, self.stretch = 1024, 0
        return True

    def align(self, d, n, place, unit, bits, trailer, mark_is_one, scale, stretch, limit, merges):
        """Find the best frame of `bits` bits that begins at `d[place]`. True when there is one.

        `mark_is_one`: RC-5's sense (the frame then begins in the middle of its first bit), else RC-6's.
        """
        if not self._path(d, n, place, unit, bits, trailer, mark_is_one, scale, stretch, limit, merges):
            return False
        if not (_SCALE_LEAST <= self.scale <= _SCALE_MOST and _STRETCH_LEAST <= self.stretch <= _STRETCH_MOST):
            return False
        return self._path(d, n, place, unit, bits, trailer, mark_is_one, self.scale, self.stretch, limit, merges)

    def _path(self, d, n, place, unit, bits, trailer, mark_is_one, scale, stretch, limit, merges):
        unit = unit * scale >> 10
        widest = 7 * unit // 10
        each = _PRICE + (limit * limit >> 2)
        clipped = unit // 4        # what a clipped first mark costs at most
        start = 1 if mark_is_one else 0
        goal = 2 * bits
        rows = self._rows
        for row in rows:
            cost = row[0]
            for half in range(goal + 1):
                cost[half] = _LOST
        rows[0][0][start] = 0
        rows[0][1][start] = rows[0][2][start] = rows[0][3][start] = rows[0][4][start] = 0
        best = _LOST
        last = min(n, place + DURATIONS)
        at = place
        furthest = place           # no survivor lies beyond
        while at < last and at <= furthest:
            cost, highs, lows, marks, merged = rows[(at - place) % 6]
            is_mark = not (at - place) & 1
            allowed = _ALLOWED * (at - place + 4)      # dearer paths will not end well: they are given up early
            # each duration covers one half or two, so the survivors lie between these
            done = at - place
            for half in range(start + max(0, done - 2 * merges), min(goal, start + 2 * done + 1)):
                base = cost[half]
                if base >= _LOST:
                    continue
                duration, after = d[at], at + 1
                count, price = merged[half], base
                while True:
                    expected = -stretch if not is_mark else stretch
                    then = half
                    high, low = highs[half], lows[half]
                    while True:
                        # cover one more half; its level is this duration's
                        bit = then >> 1
                        expected += 2 * unit if bit == trailer else unit
                        if then & 1:
                            value = 1 if is_mark == mark_is_one else 0
                            if bit < bits - 16:
                                high = high << 1 | value
                            else:
                                low = low << 1 | value
                        then += 1
                        off = duration - expected
                        least = widest
                        if at == place and mark_is_one:
                            # no leader took the receiver's gain down: the first mark may be clipped, not halved
                            least = 9 * expected // 20
                            if off < -clipped:
                                off = off if off < -least else -clipped
                        if -least <= off <= widest:
                            total = price + off * off
                            row = rows[(after - place) % 6]
                            if total < row[0][then] and total <= allowed + count * each:
                                row[0][then] = total
                                row[1][then], row[2][then] = high, low
                                row[3][then] = marks[half] + duration if is_mark else marks[half]
                                row[4][then] = count
                                if after > furthest:
                                    furthest = after
                            if is_mark and then >= goal - 1 and total < best:
                                if not _goes_on(d, n, after, unit, stretch):
                                    best = total
                                    self.high, self.low = high, low
                                    if then < goal:      # the closing half is silent
                                        self.low = low << 1 | (0 if mark_is_one else 1)
                                    self.end, self.merged = after, count
                                    self._marks = marks[half] + duration
                                    self._halves = then - start
                        # only from the middle of a bit may a level last over the next half
                        if then & 1 or then >= goal or then == half + 2:
                            break
                    if count < merges and after + 1 < n and after - at < 5 and d[after] <= limit:
                        price += _PRICE + (d[after] * d[after] >> 2)
                        duration += d[after] + d[after + 1]
                        after += 2
                        count += 1
                    else:
                        break
                cost[half] = _LOST
            at += 1
        self.cost = best
        if best >= _LOST:
            return False
        self.bits = bits
        self._measure(d, place, unit, bits, trailer, scale)
        return True

    def _measure(self, d, place, unit, bits, trailer, scale):
        """Clock and stretch of the frame found, from all its durations."""
        total = 0
        for at in range(place, self.end):
            total += d[at]
        units = self._halves + (2 if trailer >= 0 else 0)
        durations = self.end - place - 2 * self.merged
        # one mark more than spaces: the whole frame is longer by one stretch
        mark_count = (durations + 1) // 2
        space_count = durations - mark_count
        mark_units = bits + (1 if trailer >= 0 else 0)
        space_units = units - mark_units
        if not space_count or not space_units:
            return
        spaces = total - self._marks
        over = self._marks * 8 // mark_count + spaces * 8 // space_count
        under = mark_units * 8 * unit // mark_count + space_units * 8 * unit // space_count
        fit = over * 1024 // under
        self.stretch = (self._marks * 8 // mark_count - (mark_units * 8 * unit // mark_count * fit >> 10)) >> 3
        self.scale = scale * fit >> 10


def _goes_on(d, n, after, unit, stretch):
    """Whether the frame may go on at `d[after]`: a space of one or two units, or part of one, and then no lone short mark."""
    if after >= n:
        return False
    space, window = d[after] + stretch, 3 * unit // 10
    if space > 2 * unit + window or max(1000, unit + window) < space < 2 * unit - window:
        return False
    if after + 2 < n and d[after + 2] < 5 * unit >> 1:
        return True                            # what follows may be a bit, a broken one too
    return after + 1 >= n or 10 * d[after + 1] >= 6 * unit
