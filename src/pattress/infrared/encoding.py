"""Codes to signals: the marks and spaces a remote sends for a button, pressed once or held.

Timings are those of `pattress.controller.infrared.timings`, the decoder's own table. Gaps between frames:
NEC ditto every 108 ms (uPD6121 data sheet, U10114EJ6V0DS00); Samsung 46 ms (S3F80KB application note as
quoted at nicksoft wiki); JVC word period 46.42 ms (JVC, 24 Aug 2006, table 1); Kaseikyo 75 ms, Denon 43.6 ms,
RC-5 period 114 ms (JP1 Remotes wiki); Sharp 40 ms, RCA period 64 ms (SB-Projects); RC-6 period 106.67 ms
(RF439B remote specification p. 10); SIRC period 45 ms (from memory). Read in the project's notes.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from pattress.controller.infrared import protocols as p
from pattress.controller.infrared import timings as t
from pattress.controller.infrared.code_fields import reversed_bits
from pattress.job.code import Code, CodeError, kaseikyo_check

# carrier [Hz]: 455/12 kHz resonator for the 38 kHz kinds (LG manual 42PB4D p. 141, Sharp XG-C50X p. 94)
CARRIERS = {
    p.KASEIKYO: 37000, p.AEHA: 37000, p.RC5: 36000, p.RC5SZ: 36000, p.RC6: 36000, p.RC6A20: 36000,
    p.RC6A24: 36000, p.RC6A32: 36000, p.RC6MCE: 36000, p.SIRC12: 40000, p.SIRC15: 40000, p.SIRC20: 40000, p.RCA: 56000,
}
_CARRIER = 37917

_ROWS = {
    p.NEC: t.NEC_ROW, p.NECX: t.NEC_ROW, p.NEC32: t.NEC_ROW, p.SAMSUNG: t.SAMSUNG_ROW, p.SANYO: t.SANYO_ROW,
    p.JVC: t.JVC_ROW, p.KASEIKYO: t.KASEIKYO_ROW, p.AEHA: t.KASEIKYO_ROW, p.RCA: t.RCA_ROW,
    p.SIRC12: t.SIRC12_ROW, p.SIRC15: t.SIRC15_ROW, p.SIRC20: t.SIRC20_ROW, p.SHARP: t.SHARP_ROW, p.DENON: t.DENON_ROW,
}
# start of one frame to start of the next, or end to start [us]
_PERIODS = {
    p.NEC: 108000, p.NECX: 108000, p.NEC32: 108000, p.SANYO: 108000, p.RCA: 64000, p.RC5: 114000, p.RC5SZ: 114000,
    p.RC6: 106670, p.RC6A20: 106670, p.RC6A24: 106670, p.RC6A32: 106670, p.RC6MCE: 106670,
    p.SIRC12: 45000, p.SIRC15: 45000, p.SIRC20: 45000,
}
_GAPS = {p.SAMSUNG: 46000, p.KASEIKYO: 75000, p.AEHA: 75000, p.SHARP: 40000, p.DENON: 43600}
_JVC_PERIOD = 46420

ENCODED = tuple(sorted({*_ROWS, *_PERIODS}))


@dataclass(frozen=True)
class Signal:
    """What a remote sends: carrier [Hz], and durations [us] mark, space, mark, ... ending with the gap after the last."""

    carrier: int
    durations: tuple[int, ...]


def signal(code: Code, *, held: int = 0, toggle: int = 0) -> Signal:
    """Return the `Signal` of a button: one press, then `held` repeats as the protocol sends them.

    Parameters
    ----------
    code : Code
        Any but of protocol ``hash``, whose frames are not known.
    held : int
        Further frames while the key is held, 0 or more.
    toggle : int
        0 or 1; only RC-5 and RC-6 send it.

    Raises
    ------
    CodeError
        The protocol has no encoder.
    """
    if code.protocol not in ENCODED:
        allowed = ", ".join(p.PROTOCOLS[number] for number in ENCODED)
        raise CodeError(f"protocol {p.PROTOCOLS[code.protocol]}, which can be recognised but not sent", allowed)
    durations = []
    for count in range(held + 1):
        durations += _frame(code, again=count > 0, toggle=toggle)
    return Signal(CARRIERS.get(code.protocol, _CARRIER), tuple(durations))


def wire_bits(code: Code, *, toggle: int = 0) -> list[int]:
    """Return the frame's bits in sending order, a list of 0 and 1 (Sharp, Denon: of the normal half)."""
    protocol, address, command = code.protocol, code.address, code.command
    if protocol == p.NEC:
        return _octets(address, address ^ 0xFF, command, command ^ 0xFF)
    if protocol in (p.NECX, p.SAMSUNG):
        return _octets(address >> 8, address & 0xFF, command, command ^ 0xFF)
    if protocol == p.NEC32:
        return _octets(address & 0xFF, address >> 8, command & 0xFF, command >> 8)
    if protocol == p.JVC:
        return _octets(address, command)
    if protocol in (p.KASEIKYO, p.AEHA):
        vendor, device = address >> 12, address & 0xFFF
        parity = (vendor ^ vendor >> 4 ^ vendor >> 8 ^ vendor >> 12) & 0xF
        if protocol == p.KASEIKYO:
            tail = command, kaseikyo_check(address=address, command=command)
        else:
            tail = command >> 8, command & 0xFF
        return _octets(vendor & 0xFF, vendor >> 8, parity | (device & 0xF) << 4, device >> 4, *tail)
    if protocol == p.SANYO:
        return _lowest_first(address, 13) + _lowest_first(address ^ 0x1FFF, 13) + _octets(command, command ^ 0xFF)
    if protocol == p.RCA:
        word = reversed_bits(address, 4) | reversed_bits(command, 8) << 4
        return _lowest_first(word, 12) + _lowest_first(word ^ 0xFFF, 12)
    if protocol in (p.SIRC12, p.SIRC15):
        return _lowest_first(command, 7) + _lowest_first(address, 5 if protocol == p.SIRC12 else 8)
    if protocol == p.SIRC20:
        return _lowest_first(command, 7) + _lowest_first(address >> 8, 5) + _lowest_first(address & 0xFF, 8)
    if protocol in (p.SHARP, p.DENON):
        return _lowest_first(address, 5) + _lowest_first(command, 8) + ([1, 0] if protocol == p.SHARP else [0, 0])
    if protocol == p.RC5:
        return [1, command >> 6 ^ 1, toggle] + _highest_first(address, 5) + _highest_first(command & 0x3F, 6)
    if protocol == p.RC5SZ:
        return [1, address >> 6, toggle] + _highest_first(address & 0x3F, 6) + _highest_first(command, 6)
    if protocol == p.RC6:
        return [1, 0, 0, 0, toggle] + _highest_first(address, 8) + _highest_first(command, 8)
    if protocol == p.RC6MCE:
        return [1, 1, 1, 0, 0] + _highest_first(address, 16) + [toggle] + _highest_first(command, 15)
    return [1, 1, 1, 0, toggle] + _highest_first(address, p.ADDRESS_BITS[protocol]) + _highest_first(command, 16)


def _frame(code: Code, *, again: bool, toggle: int) -> list[int]:
    """One frame (for Sharp and Denon both halves) with the gap after it."""
    protocol = code.protocol
    if again and protocol in (p.NEC, p.NECX, p.NEC32):
        durations = [t.DITTO_MARK, t.DITTO_SPACE, t.NEC_ROW[2]]
    elif protocol in _ROWS:
        bits = wire_bits(code)
        durations = _pulses(t.JVC_AGAIN_ROW if again and protocol == p.JVC else _ROWS[protocol], bits)
        if protocol in (p.SHARP, p.DENON):
            inverted = bits[:5] + [bit ^ 1 for bit in bits[5:]]
            durations += [_GAPS[protocol], *_pulses(_ROWS[protocol], inverted)]
    else:
        bits = wire_bits(code, toggle=toggle)
        durations = _halves_rc5(bits) if protocol in (p.RC5, p.RC5SZ) else _halves_rc6(bits)
    if protocol in _GAPS:
        gap = _GAPS[protocol]
    elif protocol == p.JVC:
        gap = _JVC_PERIOD - sum(_pulses(t.JVC_AGAIN_ROW, wire_bits(code)))
    else:
        gap = _PERIODS[protocol] - sum(durations)
    return [*durations, gap]


def _pulses(row: Sequence[int], bits: Sequence[int]) -> list[int]:
    leader_mark, leader_space, mark0, mark1, space0, space1, _, stop = row
    durations = [leader_mark, leader_space] if leader_mark else []
    for bit in bits:
        durations += [mark1, space1] if bit else [mark0, space0]
    return [*durations, mark0] if stop else durations[:-1]


def _halves_rc5(bits: Sequence[int]) -> list[int]:
    """1 is space then mark; the first half is silence and not seen, nor is a closing space."""
    levels = [level for bit in bits for level in ((0, 1) if bit else (1, 0))][1:]
    return _runs([(level, t.RC5_UNIT) for level in levels])


def _halves_rc6(bits: Sequence[int]) -> list[int]:
    """Leader, then 1 is mark then space; the trailer bit's halves are double. Unit 444.4 us, rounded per duration."""
    halves = [(1, 6), (0, 2)]
    for place, bit in enumerate(bits):
        width = 2 if place == t.RC6_TRAILER else 1
        halves += [(1, width), (0, width)] if bit else [(0, width), (1, width)]
    return [round(units * 4000 / 9) for units in _runs(halves)]


def _runs(halves: Sequence[tuple[int, int]]) -> list[int]:
    """Durations of runs of equal level, mark first, without a closing space."""
    durations, before = [], None
    for level, size in halves:
        if level == before:
            durations[-1] += size
        else:
            durations.append(size)
        before = level
    return durations if before else durations[:-1]


def _octets(*octets: int) -> list[int]:
    return [bit for octet in octets for bit in _lowest_first(octet, 8)]


def _lowest_first(value: int, bits: int) -> list[int]:
    return [value >> place & 1 for place in range(bits)]


def _highest_first(value: int, bits: int) -> list[int]:
    return _lowest_first(value, bits)[::-1]
