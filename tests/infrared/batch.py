"""Many captures at once, with the answers of the board's decoder.

Undisturbed captures are read by the decoder's strict rules on whole arrays: the same windows, the same table of
timings, the same order of rows. Every other capture goes through the decoder itself. That both give the same
answers for the same captures is tested on a corpus of clean, disturbed and meaningless ones.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import chain
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pattress.controller.infrared import protocols as p
from pattress.controller.infrared import timings as t
from pattress.controller.infrared.code_fields import CHECKING_VENDORS, HALVES_PARITY, HALVES_VENDOR
from pattress.controller.infrared.decoder import Decoder
from pattress.controller.infrared.reading import STRICT, durations_of
from pattress.infrared.decoding import Decoded, decode
from pattress.job.code import Code

COLUMNS = ("capture", "protocol", "address", "command", "repeat", "toggle", "confidence", "scale", "stretch", "merged", "start", "end")
_BASE = np.array([99 if bits >= 12 else 97 if bits >= 8 else 80 for bits in p.CHECK_BITS])
_REVERSED = np.array([int(f"{octet:08b}"[::-1], 2) for octet in range(256)])

Column = NDArray[np.int64] | int       # a field of every capture, or one that is the same in all
Reading = tuple[NDArray[np.bool_], Column, Column, Column, Column, Column, Column]     # which were read; protocol, address, command, toggle, confidence, end


@dataclass(frozen=True)
class Captures:
    """Captures end to end: `durations` [us] of all, `starts` of each and the end of the last."""

    durations: np.ndarray
    starts: np.ndarray

    def __len__(self) -> int:
        return len(self.starts) - 1

    def __getitem__(self, place: int) -> list[int]:
        found: list[int] = self.durations[self.starts[place]:self.starts[place + 1]].tolist()
        return found


def pack(captures: Sequence[list[int]]) -> Captures:
    """Return `Captures` of an iterable of sequences of durations [us]."""
    captures = list(captures)
    lengths = np.fromiter(map(len, captures), dtype=np.int64, count=len(captures))
    starts = np.concatenate(([0], np.cumsum(lengths)))
    durations = np.fromiter(chain.from_iterable(captures), dtype=np.int64, count=int(starts[-1]))
    return Captures(durations, starts)


def decode_many(captures: Captures) -> dict[str, NDArray[np.int64]]:
    """Return a table of the frames in `Captures`, one row per frame in order of captures, columns `COLUMNS`.

    The same frames as `decoding.decode` of each, with the decoder's own numbers: `toggle` is -1 where there is
    none, `scale` is the clock of 1024.
    """
    durations, starts = captures.durations, captures.starts
    lengths = np.diff(starts)
    # a closing silence belongs to no burst; anything not positive is the scalar decoder's business
    size = lengths - (lengths & 1 ^ 1)
    size[lengths == 0] = 0
    parts: list[NDArray[np.int64]] = []
    done = np.zeros(len(captures), dtype=bool)
    for n in np.unique(size):
        group = np.flatnonzero(size == n)
        if n == 63:
            d, pairs = _pairs(durations, starts, group)
            _take(parts, done, pairs, _read_pairs(d))
            group = group[~done[group]]
        tried = [row for row in STRICT if durations_of(row) == n]
        if not (tried or 12 < n < 76):
            continue
        d = durations[starts[group][:, None] + np.arange(n)]
        plain = ((d > 0) & (d < t.GAP) | (np.arange(n) == 0) & (d > 0)).all(axis=1)
        plain &= _closing_is_sound(durations, starts, lengths, group)
        d, group = d[plain], group[plain]
        for row in tried:
            if not row[0]:                     # a half or a headless word may have to wait for another
                continue
            hit = _take(parts, done, group, _read_row(d, row))
            d, group = d[~hit], group[~hit]
        if 12 < n < 76 and len(group):
            led = (abs(d[:, 0] + d[:, 1] - 3555) <= 444) & (abs(d[:, 0] - t.RC6_LEADER_MARK) <= 433)
            led &= (d[:, 1] > t.SIRC_SPACE) & (d[:, 1] < t.KASEIKYO_SPACE)
            for mask, place in ((led, 2), (~led, 0)):
                _take(parts, done, group[mask], _read_biphase(d[mask], place))
    decoder = Decoder()
    rows = []
    for place in np.flatnonzero(~done).tolist():
        for found in decode(captures[place], decoder=decoder):
            rows.append((place, found.code.protocol, found.code.address, found.code.command, found.repeat,
                         -1 if found.toggle is None else found.toggle, found.confidence, round(found.clock * 1024),
                         found.stretch, found.merged, found.start, found.end))
    table = np.array(rows, dtype=np.int64).reshape(-1, len(COLUMNS))
    table = np.concatenate([*parts, table])
    table = table[np.argsort(table[:, 0], kind="stable")]
    return dict(zip(COLUMNS, table.T))


def frames_of(table: Mapping[str, NDArray[np.int64]], count: int) -> list[list[Decoded]]:
    """Return the table of `decode_many` as a list of `Decoded` for each of `count` captures."""
    found: list[list[Decoded]] = [[] for _ in range(count)]
    for capture, protocol, address, command, repeat, toggle, confidence, scale, stretch, merged, start, end in zip(
        *(table[name].tolist() for name in COLUMNS)
    ):
        found[capture].append(Decoded(Code(protocol, address, command), bool(repeat), toggle if toggle >= 0 else None,
                                      confidence, scale / 1024, stretch, merged, start, end))
    return found


def _closing_is_sound(durations: NDArray[np.int64], starts: NDArray[np.int64], lengths: NDArray[np.int64], group: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Captures whose closing silence, if they have one, is positive."""
    last = durations[starts[group + 1] - 1]
    sound: NDArray[np.bool_] = (lengths[group] & 1 == 1) | (last > 0)
    return sound


def _take(parts: list[NDArray[np.int64]], done: NDArray[np.bool_], group: NDArray[np.int64], reading: Reading) -> NDArray[np.bool_]:
    """Add the rows of the captures in `group` that were read; return which."""
    hit, protocol, address, command, toggle, confidence, end = reading
    rows = np.zeros((int(hit.sum()), len(COLUMNS)), dtype=np.int64)
    for place, values in enumerate((group, protocol, address, command, 0, toggle, confidence, 1024, 0, 0, 0, end)):
        rows[:, place] = values[hit] if isinstance(values, np.ndarray) else values
    parts.append(rows)
    done[group[hit]] = True
    return hit


def _bits(d: NDArray[np.int64], row: Sequence[int]) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """The strict windows of `Distance.strict` on a matrix: (which hold, bits as booleans)."""
    leader_mark, leader_space, mark0, mark1, space0, space1, bits, stop = row
    good = np.ones(len(d), dtype=bool)
    place = 0
    if leader_mark:
        nominal = leader_mark + leader_space
        good &= abs(d[:, 0] + d[:, 1] - nominal) <= nominal >> 3
        good &= abs(d[:, 0] - leader_mark) <= (leader_mark >> 3) + 100
        place = 2
    zero, one, part = mark0 + space0, mark1 + space1, 6 if stop else 8
    full = bits if stop else bits - 1
    least, most = mark0 - 200 if mark0 > 400 else mark0 // 3, mark1 + 200
    marks = d[:, place:place + 2 * full:2]
    period = marks + d[:, place + 1:place + 2 * full:2]
    is_one = abs(period - zero) > zero // part
    good &= ((marks >= least) & (marks <= most) & (~is_one | (abs(period - one) <= one // part))).all(axis=1)
    last = d[:, place + 2 * full]
    if stop:
        good &= (last >= least) & (last <= most)
    else:
        off = last - (d[:, 0] - leader_mark)
        last_one = abs(off - mark1) <= 150
        good &= last_one | (abs(off - mark0) <= 150)
        is_one = np.concatenate([is_one, last_one[:, None]], axis=1)
    return good, is_one


def _word(bits: NDArray[np.bool_], start: int, count: int) -> NDArray[np.int64]:
    """Bits `start` to `start + count` as a number, first sent least significant."""
    return bits[:, start:start + count] @ (1 << np.arange(count))


def _read_row(d: NDArray[np.int64], row: Sequence[int]) -> Reading:
    """Strict reading and fields of one row of the table, as `Reader.strict` has them."""
    good, bits = _bits(d, row)
    octets = np.packbits(bits, axis=1, bitorder="little").astype(np.int64).T
    none = np.full(len(d), -1)
    protocol = np.zeros(len(d), dtype=np.int64)
    count = row[6]
    if count == 32:
        one, two, three, four = octets
        plain, fits = one ^ two == 0xFF, three ^ four == 0xFF
        leader = d[:, 0]
        samsung = (leader > 4150) & (leader < 4850) | (one == two)
        protocol = np.where(fits, np.where(plain, p.NEC, np.where(leader > 5800, p.NECX, np.where(samsung, p.SAMSUNG, 0))),
                            np.where(leader > 5800, p.NEC32, 0))
        address = np.where(protocol == p.NEC, one, np.where(protocol == p.NEC32, two << 8 | one, one << 8 | two))
        command = np.where(protocol == p.NEC32, four << 8 | three, three)
    elif count == 48:
        vendor, three, four, five, six = octets[0] | octets[1] << 8, *octets[2:]
        parity = (vendor ^ vendor >> 4 ^ vendor >> 8 ^ vendor >> 12 ^ three) & 0xF == 0
        rest = three ^ four ^ five ^ six
        checked = rest == 0
        allowed = np.where(vendor == HALVES_VENDOR, rest & 0xF ^ rest >> 4 == HALVES_PARITY, checked | ~np.isin(vendor, CHECKING_VENDORS))
        protocol = np.where(parity & allowed, np.where(checked, p.KASEIKYO, p.AEHA), 0)
        address = vendor << 12 | four << 4 | three >> 4
        command = np.where(checked, five, five << 8 | six)
    elif count == 42:
        address, inverse = _word(bits, 0, 13), _word(bits, 13, 13)
        command, against = _word(bits, 26, 8), _word(bits, 34, 8)
        protocol[(address ^ inverse == 0x1FFF) & (command ^ against == 0xFF)] = p.SANYO
    elif count == 24:
        word, inverse = _word(bits, 0, 12), _word(bits, 12, 12)
        protocol[word ^ inverse == 0xFFF] = p.RCA
        address, command = _REVERSED[word & 0xF] >> 4, _REVERSED[word >> 4]
    elif count == 16:
        protocol[:] = p.JVC
        address, command = octets
    else:
        protocol[:] = {12: p.SIRC12, 15: p.SIRC15, 20: p.SIRC20}[count]
        command, device = _word(bits, 0, 7), _word(bits, 7, count - 7)
        address = (device & 0x1F) << 8 | device >> 5 if count == 20 else device
    return good & (protocol > 0), protocol, address, command, none, _BASE[protocol], d.shape[1]


def _pairs(durations: NDArray[np.int64], starts: NDArray[np.int64], group: NDArray[np.int64]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Captures of two bursts of 31 durations with the gap of a pair between them."""
    d = durations[starts[group][:, None] + np.arange(63)]
    gap = d[:, 31]
    inner = np.delete(d, 31, axis=1)
    plain = (gap >= t.PAIR_LEAST) & (gap <= t.PAIR_MOST) & (inner > 0).all(axis=1) & (inner < t.GAP).all(axis=1)
    plain &= _closing_is_sound(durations, starts, np.diff(starts), group)
    return d[plain], group[plain]


def _read_pairs(d: NDArray[np.int64]) -> Reading:
    """Both halves of Sharp or Denon, strict, equal in address and command and of opposite sense."""
    good = np.ones(len(d), dtype=bool)
    halves = []
    for half in (d[:, :31], d[:, 32:63]):
        fits, bits = _bits(half, t.SHARP_ROW)
        flags = _word(bits, 13, 2)
        inverted = flags >> 1
        word = _word(bits, 0, 15) ^ inverted * 0x7FE0
        protocol = np.where((flags == 1) | (flags == 2), p.SHARP, p.DENON)
        halves.append((word & 0x1FFF, protocol, inverted))
        good &= fits & ~_bits(half, t.SIRC15_ROW)[0]
    (word, protocol, sense), (word_, protocol_, sense_) = halves
    good &= (word == word_) & (protocol == protocol_) & (sense != sense_)
    return good, protocol, word & 0x1F, word >> 5, np.full(len(d), -1), np.full(len(d), 99), 31


def _read_biphase(d: NDArray[np.int64], place: int) -> Reading:
    """The strict reading of `Biphase.strict` on a matrix, from duration `place` (0: RC-5, 2: RC-6 after its leader)."""
    unit = t.RC6_UNIT if place else t.RC5_UNIT
    window = 3 * unit // 10
    inner = d[:, place:]
    sizes = 1 + (inner > unit + window) + (inner > 2 * unit + window)
    good = ((inner <= 3 * unit + window) & (inner >= sizes * unit - window)).all(axis=1)
    total = sizes.sum(axis=1) + (0 if place else 1)
    total += total & 1
    protocol, address, command = (np.zeros(len(d), dtype=np.int64) for _ in range(3))
    toggle = np.full(len(d), -1)
    double = 2 if place else 0
    for count in (2 * bits + double for bits in (t.RC6_BITS if place else (t.RC5_BITS, t.RC5SZ_BITS))):
        which = np.flatnonzero(good & (total == count))
        if not len(which):
            continue
        levels = _levels(sizes[which], count, start=0 if place else 1)
        if place:                                      # the trailer's double halves count once each
            at = 2 * t.RC6_TRAILER
            sound = (levels[:, at] == levels[:, at + 1]) & (levels[:, at + 2] == levels[:, at + 3])
            levels = np.delete(levels, [at + 1, at + 3], axis=1)
        else:
            sound = np.ones(len(which), dtype=bool)
        first, second = levels[:, ::2], levels[:, 1::2]
        sound &= (first != second).all(axis=1)
        bits = (first if place else second)[:, ::-1].astype(bool)        # last sent = least significant = first
        low = _word(bits, 0, min(16, bits.shape[1]))
        if not place:
            long = bits.shape[1] == t.RC5SZ_BITS
            protocol[which] = np.where(sound, p.RC5SZ if long else p.RC5, 0)
            address[which] = low >> 6 & 0x3F | (low >> 13 & 1) << 6 if long else low >> 6 & 0x1F
            command[which] = low & 0x3F if long else low & 0x3F | (1 - (low >> 12 & 1)) << 6
            toggle[which] = low >> (12 if long else 11) & 1
            continue
        data = bits.shape[1] - t.RC6_HEADER
        high = _word(bits, 16, data - 16)
        header = _word(bits, data, t.RC6_HEADER)
        mode, flag = header >> 1 & 7, header & 1
        sound &= (header >> 4 == 1) & (mode == (0 if data == 16 else 6))
        mce = (data == 32) & (high == 0x800F)
        kind = {16: p.RC6, 20: p.RC6A20, 24: p.RC6A24, 32: p.RC6A32}[data]
        protocol[which] = np.where(sound, np.where(mce, p.RC6MCE, kind), 0)
        address[which] = low >> 8 if data == 16 else high
        command[which] = low & 0xFF if data == 16 else np.where(mce, low & 0x7FFF, low)
        toggle[which] = np.where(mce, low >> 15, flag)
    return protocol > 0, protocol, address, command, toggle, _BASE[protocol], d.shape[1]


def _levels(sizes: NDArray[np.int64], count: int, *, start: int) -> NDArray[Any]:
    """Durations in units to one level per unit: (captures, count), mark first, after `start` units of silence."""
    rows, columns = sizes.shape
    levels = np.zeros((rows, count), dtype=np.int8)
    alternating = np.broadcast_to((np.arange(columns) & 1 ^ 1).astype(np.int8), (rows, columns))
    flat = np.repeat(alternating.ravel(), sizes.ravel())
    lengths = sizes.sum(axis=1)
    within = np.arange(len(flat)) - np.repeat(np.cumsum(lengths) - lengths, lengths) + start
    levels[np.repeat(np.arange(rows), lengths), within] = flat
    return levels
