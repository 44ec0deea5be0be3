"""Pulse-distance and pulse-width frames: durations to bits, first strictly, then by best alignment.

`strict` takes a frame at its word: every period within its window. It is what an undisturbed capture
passes, and the workbench's batch form does the same on many captures at once.

`align` finds the most likely frame under disturbance: a shortest path over (bits read, disturbances
merged), where a short spurious mark in a space, or a short drop-out in a mark, may be merged at a price.
The clock error and the stretching of the marks are measured on the frame and taken out; the path is then
sought once more. Survivors carry their bits with them, so there is nothing to trace back.

Bounded: at most 49 steps, 5 survivors each, a fixed number of merges. Allocates no growing object.
"""

MERGES = 4               # disturbances allowed in one frame
_LOST = 1 << 29          # the cost of no path
_PRICE = 20000           # of one merge, in us^2, beside its squared width / 4
_ALLOWED = 24000         # mean squared residual of a path in progress: 155 us
_LIMIT = 300             # largest residual of one mark
_SCALE_LEAST, _SCALE_MOST = 880, 1168      # of 1024: clock error -14 ... +14 %
_STRETCH_LEAST, _STRETCH_MOST = -200, 260  # of the marks [us]


class Distance:
    """The aligner's workspace and its last answer."""

    def __init__(self):
        states = MERGES + 1
        self._now = [[0] * states for _ in range(6)]
        self._next = [[0] * states for _ in range(6)]
        self.first = self.second = 0   # bits 0..23 and 24..47 of the frame, first sent = least significant
        self.end = 0                   # place of the first duration after the frame
        self.merged = 0                # disturbances merged
        self.cost = 0                  # sum of squared residuals and prices
        self.worst = 0                 # largest residual of the duration that tells 0 from 1
        self.scale = 1024              # clock: 1024 is nominal, above is slow
        self.stretch = 0               # marks longer, spaces shorter than nominal [us]
        self._marks = self._spaces = 0 # sums over the bits of the last path

    def strict(self, d, n, row):
        """Read the `n` durations of `d`, exactly one frame of `row`. True when every window holds.

        Sets first, second, end, merged, worst. Windows: the leader's mark and period and each bit's
        period within an eighth to a sixth; each mark within 200 us (a quarter of a unit more).
        """
        leader_mark, leader_space, mark0, mark1, space0, space1, bits, stop = row
        place = 0
        if leader_mark:
            nominal = leader_mark + leader_space
            period = d[0] + d[1] - nominal
            if period > nominal >> 3 or -period > nominal >> 3:
                return False
            off = d[0] - leader_mark
            if off > (leader_mark >> 3) + 100 or -off > (leader_mark >> 3) + 100:
                return False
            place = 2
        zero, one = mark0 + space0, mark1 + space1
        zero_window, one_window = zero // 6, one // 6 if stop else one // 8
        if not stop:
            zero_window = zero // 8
        least = mark0 - 200 if mark0 > 400 else mark0 // 3
        most = mark1 + 200
        word = 0
        first = 0
        full = bits if stop else bits - 1
        for bit in range(full):
            mark = d[place]
            if mark < least or mark > most:
                return False
            period = mark + d[place + 1]
            off = period - zero
            if off > zero_window or -off > zero_window:
                off = period - one
                if off > one_window or -off > one_window:
                    return False
                word |= 1 << (bit if bit < 24 else bit - 24)
            if bit == 23:
                first = word
                word = 0
            place += 2
        mark = d[place]
        if stop:
            if mark < least or mark > most:
                return False
        else:
            # the last bit has no period: its mark is compared with the leader's, equally stretched
            off = mark - (d[0] - leader_mark)
            if -150 <= off - mark1 <= 150:
                word |= 1 << full
            elif not -150 <= off - mark0 <= 150:
                return False
        if full >= 24:
            self.first, self.second = first, word
        else:
            self.first, self.second = word, 0
        self.end = place + 1
        self.merged = self.worst = self.cost = 0
        self.scale, self.stretch = 1024, 0
        return True

    def align(self, d, n, place, row, scale, limit, merges):
        """Find the best frame of `row` whose first data mark is `d[place]`. True when there is one.

        `scale` is a first guess (1024: none), `limit` the widest disturbance that may be merged,
        `merges` how many. Sets all attributes.
        """
        stretch = self._first_stretch(d, n, place, row)
        if not self._path(d, n, place, row, scale, stretch, limit, merges):
            return False
        self._measure(d, place, row)
        if not (_SCALE_LEAST <= self.scale <= _SCALE_MOST and _STRETCH_LEAST <= self.stretch <= _STRETCH_MOST):
            return False
        return self._path(d, n, place, row, self.scale, self.stretch, limit, merges)

    def _first_stretch(self, d, n, place, row):
        """Guess how much longer the marks came out, from those near nominal (from the spaces for pulse-width)."""
        _, _, mark0, mark1, space0, _, bits, _ = row
        last = min(n, place + 2 * bits + 1)
        total = count = 0
        if mark0 == mark1:
            for at in range(place, last, 2):
                off = d[at] - mark0
                if -mark0 // 2 < off < 300:
                    total += off
                    count += 1
        else:
            for at in range(place + 1, last, 2):
                off = space0 - d[at]
                if -300 < off < space0 // 2:
                    total += off
                    count += 1
        return total // count if count else 0

    def _measure(self, d, place, row):
        """Clock and stretch of the frame just found: the two sums of marks and spaces against nominal."""
        _, _, mark0, mark1, space0, space1, bits, stop = row
        ones = 0
        full = bits if stop else bits - 1
        for bit in range(full):
            ones += (self.first >> bit if bit < 24 else self.second >> (bit - 24)) & 1
        marks, spaces = self._marks * 4 // full, self._spaces * 4 // full
        nominal_mark = (mark0 * full + (mark1 - mark0) * ones) * 4 // full
        nominal_space = (space0 * full + (space1 - space0) * ones) * 4 // full
        self.scale = (marks + spaces) * 1024 // (nominal_mark + nominal_space)
        self.stretch = (marks - (nominal_mark * self.scale >> 10)) >> 2

    def _path(self, d, n, place, row, scale, stretch, limit, merges):
        _, _, mark0, mark1, space0, space1, bits, stop = row
        by_mark = mark0 != mark1
        half = ((mark1 - mark0) if by_mark else (space1 - space0)) * scale >> 11
        mark_limit = half if by_mark else _LIMIT
        space_limit = _LIMIT if by_mark else half
        mark0 = (mark0 * scale >> 10) + stretch
        mark1 = (mark1 * scale >> 10) + stretch
        space0 = (space0 * scale >> 10) - stretch
        space1 = (space1 * scale >> 10) - stretch
        each = _PRICE + (limit * limit >> 2)
        now, following = self._now, self._next
        cost, first, second, marks, spaces, worst = now
        for state in range(merges + 1):
            cost[state] = _LOST
        cost[0] = first[0] = second[0] = marks[0] = spaces[0] = worst[0] = 0
        full = bits if stop else bits - 1
        for bit in range(full):
            cost, first, second, marks, spaces, worst = now
            cost_, first_, second_, marks_, spaces_, worst_ = following
            for state in range(merges + 1):
                cost_[state] = _LOST
            alive = False
            allowed = _ALLOWED * (2 * bit + 8)         # dearer paths will not end well: they are given up early
            for state in range(merges + 1):
                base = cost[state]
                if base >= _LOST or base > allowed + state * each:
                    continue
                at = place + 2 * (bit + state)
                if at + 1 >= n:
                    continue
                mark, after = d[at], at + 1
                merged, price = state, base
                while True:
                    space, then = d[after], after + 1
                    merged_, price_ = merged, price
                    while True:
                        # the better of 0 and 1 for this mark and space
                        off = mark - mark0
                        gap = space - space0
                        value = 0
                        if by_mark:
                            if mark - mark1 > -half:
                                off = mark - mark1
                                value = 1
                        elif space - space1 > -half:
                            gap = space - space1
                            value = 1
                        if -mark_limit <= off <= mark_limit and -space_limit <= gap <= space_limit:
                            total = price_ + off * off + gap * gap
                            if total < cost_[merged_]:
                                alive = True
                                cost_[merged_] = total
                                if bit < 24:
                                    first_[merged_] = first[state] | value << bit
                                    second_[merged_] = 0
                                else:
                                    first_[merged_] = first[state]
                                    second_[merged_] = second[state] | value << (bit - 24)
                                marks_[merged_] = marks[state] + mark
                                spaces_[merged_] = spaces[state] + space
                                far = off if by_mark else gap
                                if far < 0:
                                    far = -far
                                worst_[merged_] = far if far > worst[state] else worst[state]
                        # a spurious mark inside the space
                        if merged_ < merges and then + 1 < n and d[then] <= limit:
                            price_ += _PRICE + (d[then] * d[then] >> 2)
                            space += d[then] + d[then + 1]
                            then += 2
                            merged_ += 1
                        else:
                            break
                    # a drop-out inside the mark
                    if merged < merges and after + 2 < n and d[after] <= limit:
                        price += _PRICE + (d[after] * d[after] >> 2)
                        mark += d[after] + d[after + 1]
                        after += 2
                        merged += 1
                    else:
                        break
            if not alive:
                return False
            now, following = following, now
        return self._close(d, n, place, now, row, mark0, mark1, mark_limit, limit, merges)

    def _close(self, d, n, place, now, row, mark0, mark1, mark_limit, limit, merges):
        """Choose among the survivors by the last mark: the stop mark, or the last bit of pulse-width."""
        cost, first, second, marks, spaces, worst = now
        bits, stop = row[6], row[7]
        full = bits if stop else bits - 1
        if not stop and limit > 150:
            limit = 150                        # the last mark alone tells its bit: noise near it must not lengthen it
        best = _LOST
        for state in range(merges + 1):
            if cost[state] >= _LOST:
                continue
            at = place + 2 * (full + state)
            if at >= n:
                continue
            mark, after = d[at], at + 1
            merged, price = state, cost[state]
            while True:
                off = mark - mark0
                value = 0
                if not stop and off > (mark1 - mark0) // 2:
                    off = mark - mark1
                    value = 1
                total = price + off * off
                if after < n and d[after] <= limit:
                    total += (3 if stop else 1) * _PRICE    # no silence after it: rather a broken mark
                if -mark_limit <= off <= mark_limit and total < best:
                    best = total
                    self.first, self.second = first[state] | value << full if full < 24 else first[state], second[state]
                    self.end, self.merged = after, merged
                    self._marks, self._spaces = marks[state], spaces[state]
                    far = off if off > 0 else -off
                    self.worst = far if not stop and far > worst[state] else worst[state]
                if merged < merges and after + 1 < n and d[after] <= limit:
                    price += _PRICE + (d[after] * d[after] >> 2)
                    mark += d[after] + d[after + 1]
                    after += 2
                    merged += 1
                else:
                    break
        self.cost = best
        return best < _LOST
