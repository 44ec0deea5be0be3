"""A name for a frame of no known protocol: a hash of which marks and spaces are long and which short.

Durations are sorted into classes by gaps between their sizes, so the clock, the stretching of marks and
moderate jitter do not change the answer. Only frames that look like a remote's are named: marks all alike
and spaces of two sizes (pulse-distance), the reverse (pulse-width), or both of one and two units (bi-phase).
The first mark and space may be a leader. Alone a hash is weak; it is confirmed by one that was learnt, or came just before.
"""

MARKS_LEAST = 9
_CLASSES = 3
# Primes below 2 ** 16, and a primitive root of each: two buttons have the same hashes by chance only; modulo 2 ** 16,
# 65,536 buttons of a remote had 7,318 patterns. No product reaches 2 ** 30, above which a number takes memory on the board.
_PRIME, _TIMES = 65521, 12003
_OTHER_PRIME, _OTHER_TIMES = 65519, 12043


class Fallback:
    """Workspace and last answer: `address` and `command` are two 16-bit hashes."""

    def __init__(self, size):
        self._sorted = [0] * size
        self._starts = [0] * (_CLASSES + 1)       # the least duration of each class
        self._counts = [0] * (_CLASSES + 1)
        self.address = self.command = 0

    def name(self, d, n):
        """Hash the frame `d[0]` to `d[n - 1]` (first and last are marks). True when it looks like one."""
        if not n & 1 or n < 2 * MARKS_LEAST - 1 or n > len(self._sorted):
            return False
        leader = 0
        if d[0] > 2 * d[2] and d[0] > 2 * d[4]:
            leader = 2
        marks = self._classes(d, leader, n)
        if not 1 <= marks <= 2:
            return False
        mark_limit = self._starts[1] if marks == 2 else 1 << 29
        mark_size = self._starts[0]
        spaces = self._classes(d, leader + 1, n)
        if not 1 <= spaces <= 2 or marks * spaces == 1:
            return False
        space_limit = self._starts[1] if spaces == 2 else 1 << 29
        if marks == spaces == 2:                  # bi-phase: the second class is two units
            if not (_double(mark_limit, mark_size) and _double(space_limit, self._starts[0])):
                return False
        address, command = 0x1505 ^ n, 0x2B3D ^ leader
        for at in range(leader, n):
            is_long = d[at] >= (space_limit if at & 1 else mark_limit)
            address = (address * _TIMES + (2 if is_long else 1)) % _PRIME
            command = (command * _OTHER_TIMES + (3 if is_long else 7)) % _OTHER_PRIME
        self.address, self.command = address, command
        return True

    def _classes(self, d, start, n):
        """Sort every second duration from `start` and part them where the size jumps. Return how many classes.

        0 when a class is too wide or has a single member: nothing a remote sends.
        """
        values, starts, counts = self._sorted, self._starts, self._counts
        size = 0
        for at in range(start, n, 2):
            value = d[at]
            place = size
            while place and values[place - 1] > value:
                values[place] = values[place - 1]
                place -= 1
            values[place] = value
            size += 1
        classes = 0
        for place in range(size):
            value = values[place]
            if place == 0 or value > values[place - 1] + (values[place - 1] >> 2) + 40:
                if classes >= _CLASSES:
                    return 0
                starts[classes] = value
                counts[classes] = 0
                classes += 1
            least = starts[classes - 1]
            if value > least + (least >> 1) + 120 or value < 100:
                return 0
            counts[classes - 1] += 1
        for place in range(classes):
            if counts[place] < 2:
                return 0
        return classes


def _double(long, short):
    return 13 * short < 10 * long < 30 * short
