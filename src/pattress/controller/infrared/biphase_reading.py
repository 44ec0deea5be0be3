"""What one burst says if it is bi-phase: RC-5 and RC-6, strictly or by best alignment.

Loaded only where such a remote is wanted. A `reading.Reader` asks it, and judges what it finds.
"""

from . import protocols as p
from . import timings as t
from .biphase import Biphase

_RC5_SIZES = (t.RC5_BITS, t.RC5SZ_BITS)
_MCE_VENDOR = 0x800F


class BiphaseReading:
    """The bi-phase part of a reader, whose fields and leader it shares."""

    def __init__(self, reader):
        self._reader, self._fields, self._biphase = reader, reader.fields, Biphase()

    def strict(self, d, n):
        """Read the whole burst as one undisturbed frame; the reader's fields then hold it."""
        if not 12 < n < 76:
            return False
        place, unit, trailer = 0, t.RC5_UNIT, -1
        if abs(d[0] + d[1] - 3555) <= 444 and abs(d[0] - t.RC6_LEADER_MARK) <= 433 and t.SIRC_SPACE < d[1] < t.KASEIKYO_SPACE:
            place, unit, trailer = 2, t.RC6_UNIT, t.RC6_TRAILER
        return self._biphase.strict(d, n, place, unit, trailer, place == 0) and self._identify(place)

    def led(self, d, start, n):
        """Try the frames with a leader at the mark `d[start]`."""
        reader, place = self._reader, 0
        if d[start] >= t.RC6_LEADER_MARK * 160 >> 8 or (d[start + 1] if start + 1 < n else 0) <= 300:
            place = reader.leader(start, n, t.RC6_LEADER_MARK, t.RC6_LEADER_SPACE, 300, 160)
        if place:
            stretch = reader.leader_mark - (t.RC6_LEADER_MARK * reader.scale >> 10)
            if stretch < -200:                 # a clipped mark tells nothing
                stretch = 0
            for bits in t.RC6_BITS:
                self._try(d, start, n, place, t.RC6_UNIT, bits, t.RC6_TRAILER, reader.scale, stretch, 300)

    def unled(self, d, start, n):
        """Try the frames that have no leader."""
        if _in_units(d, start, n, t.RC5_UNIT, 400) and not _inside_rc5(d, start) and not _has_leader(d, start):
            for bits in _RC5_SIZES:
                self._try(d, start, n, start, t.RC5_UNIT, bits, -1, 1024, _even(d, start, n), 400)

    def _try(self, d, start, n, place, unit, bits, trailer, scale, stretch, limit):
        biphase, reader = self._biphase, self._reader
        led = reader.merged if place > start else 0
        if biphase.align(d, n, place, unit, bits, trailer, place == start, scale, stretch, limit, 4):
            if self._identify(place - start) and not (place > start and self._is_after_sirc(reader)):
                reader.judge(start, biphase, biphase.end - place - 2 * biphase.merged, None, led, bits)

    def _is_after_sirc(self, reader):
        """Whether the leader found last is SIRC's rather than RC-6's, at the clock and stretch of the body behind it."""
        biphase = self._biphase
        return (reader.leader_mark < (t.SIRC_MARK * biphase.scale >> 10) + biphase.stretch
                and reader.leader_space < (t.SIRC_SPACE * biphase.scale >> 10) - biphase.stretch)

    def _identify(self, led):
        """Bits to fields. False when a check fails."""
        biphase = self._biphase
        if led:
            return biphase.bits in t.RC6_BITS and self._rc6(biphase.high, biphase.low, biphase.bits)
        return biphase.bits in _RC5_SIZES and self._rc5(biphase.low, biphase.bits)

    def _rc5(self, low, bits):
        """14 bits: start, inverted command bit 6, toggle, address 5, command 6. 15: start, bit 13, toggle, 6, 6."""
        if bits == 14:
            command = low & 0x3F | (0 if low >> 12 & 1 else 0x40)
            return self._fields.set(p.RC5, low >> 6 & 0x1F, command, low >> 11 & 1)
        return self._fields.set(p.RC5SZ, low >> 6 & 0x3F | (low >> 13 & 1) << 6, low & 0x3F, low >> 12 & 1)

    def _rc6(self, high, low, bits):
        """Start 1, mode 3, toggle, then data; mode 0 with 16 bits, mode 6 (A) with 20, 24 or 32."""
        data = bits - 5                           # of these the last 16 are `low`
        header = high >> (data - 16)
        mode, toggle = header >> 1 & 7, header & 1
        if header >> 4 == 1:
            if bits == 21 and mode == 0:
                return self._fields.set(p.RC6, low >> 8, low & 0xFF, toggle)
            if mode == 6 and bits > 21:
                address = high & (1 << (data - 16)) - 1
                if bits == 37 and address == _MCE_VENDOR:
                    return self._fields.set(p.RC6MCE, address, low & 0x7FFF, low >> 15)
                return self._fields.set(p.RC6A20 if bits == 25 else p.RC6A24 if bits == 29 else p.RC6A32, address, low, toggle)
        self._fields.checked = -1
        return False


def _inside_rc5(d, start):
    """What precedes `start` may be an earlier part of the same frame: a longer one must not lose its head."""
    if start == 0 or d[start - 2] < 450:
        return False
    before = d[start - 1]
    return abs(before - t.RC5_UNIT) < 222 or abs(before - 2 * t.RC5_UNIT) < 222


def _has_leader(d, start):
    """Whether a leader precedes `start`: RC-5 has none, so the frame behind it is of another protocol.

    Looked for within what a leader's space may last; a disturbance may break that space.
    """
    passed = 0
    at = start - 1
    while at > 0 and passed < t.GAP:
        if d[at - 1] >= t.LEADER_LEAST:
            return True
        passed += d[at] + d[at - 1]
        at -= 2
    return False


def _even(d, start, n):
    """Guess the stretch of a bi-phase frame: half of what its short marks exceed its short spaces by."""
    marks = spaces = mark_count = space_count = 0
    for at in range(start, min(n, start + 2 * t.RC5_BITS)):
        duration = d[at]
        if 450 < duration < 1330:
            if (at - start) & 1:
                spaces += duration
                space_count += 1
            else:
                marks += duration
                mark_count += 1
    if not (mark_count and space_count):
        return 0
    return (marks // mark_count - spaces // space_count) >> 1


def _in_units(d, start, n, unit, limit):
    """A quick look: the next durations could be one or two units each, or be short disturbances."""
    if n - start < 13 or d[start] > 23 * unit // 8:
        return False
    for at in range(start + 1, start + 7):
        if d[at] > limit and not unit >> 2 < d[at] < 11 * unit >> 2:
            return False
    return True
