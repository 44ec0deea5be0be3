"""Pictures of what a receiver saw: a capture as a timing diagram with its fields marked, and the sizes the learner saw."""

from collections.abc import Sequence
from math import ceil
from typing import TYPE_CHECKING

from pattress.controller.infrared import protocols as p
from pattress.controller.infrared import timings as t
from pattress.drawing import Box, Picture
from pattress.drawing.axes import Scale, time_axis
from pattress.drawing.lettering import SANS
from pattress.drawing.look import BLUE, HEAD, ORANGE, PALE_BLUE, PALE_GREEN, PALE_ORANGE, PALE_VIOLET, RULE, SMALL, SOFT, TEXT, TICK
from pattress.drawing.pieces import Piece, line, paragraph, rectangle, text
from pattress.infrared.encoding import ENCODED, signal, wire_bits
from pattress.job.code import Code
from pattress.plural import counted

if TYPE_CHECKING:
    from pattress.infrared.decoding import Decoded
    from pattress.infrared.learning import Learned

WIDTH = 1000
_LEFT, _RIGHT = 20, 20
_PER_MS = 32               # units for a millisecond: a digit fits under the shortest bit
_ROW = 120                 # of a diagram, from top to top
_GROUNDS = {"leader": RULE, "address": PALE_BLUE, "command": PALE_GREEN, "check": PALE_ORANGE, "toggle": PALE_VIOLET, "mode": RULE,
            "start": RULE, "flags": PALE_ORANGE, "stop": RULE, "end": RULE}

# Fields in sending order: (name, bits). What is left of a frame is its stop mark.
_BYTES = (("address", 8), ("address inverse", 8), ("command", 8), ("command inverse", 8))
_FIELDS = {
    p.NEC: _BYTES, p.NECX: (("address", 16), *_BYTES[2:]), p.NEC32: (("address", 16), ("command", 16)),
    p.SAMSUNG: (("address", 16), *_BYTES[2:]), p.JVC: (("address", 8), ("command", 8)),
    p.SANYO: (("address", 13), ("address inverse", 13), ("command", 8), ("command inverse", 8)),
    p.KASEIKYO: (("address: vendor", 16), ("check: parity", 4), ("address", 12), ("command", 8), ("check", 8)),
    p.AEHA: (("address: vendor", 16), ("check: parity", 4), ("address", 12), ("command", 16)),
    p.RCA: (("address", 4), ("command", 8), ("address inverse", 4), ("command inverse", 8)),
    p.SIRC12: (("command", 7), ("address", 5)), p.SIRC15: (("command", 7), ("address", 8)),
    p.SIRC20: (("command", 7), ("address", 13)),
    p.SHARP: (("address", 5), ("command", 8), ("flags", 2)), p.DENON: (("address", 5), ("command", 8), ("flags", 2)),
    p.RC5: (("start", 1), ("command", 1), ("toggle", 1), ("address", 5), ("command", 6)),
    p.RC5SZ: (("start", 1), ("address", 1), ("toggle", 1), ("address", 6), ("command", 6)),
    p.RC6: (("mode", 4), ("toggle", 1), ("address", 8), ("command", 8)),
    p.RC6A20: (("mode", 4), ("toggle", 1), ("address", 4), ("command", 16)),
    p.RC6A24: (("mode", 4), ("toggle", 1), ("address", 8), ("command", 16)),
    p.RC6A32: (("mode", 4), ("toggle", 1), ("address", 16), ("command", 16)),
    p.RC6MCE: (("mode", 4), ("end", 1), ("address", 16), ("toggle", 1), ("command", 15)),
}


def field_spans(code: Code) -> tuple[tuple[str, float, float], ...]:
    """Return the fields of a code's frame as (name, begin, end) in nominal us from its first mark.

    Of Sharp and Denon the first half only. The fields join without gaps; the last ends with the last mark.
    """
    if code.protocol not in ENCODED:
        return ()
    lead, begin, ends = _bit_ends(code)
    spans: list[tuple[str, float, float]] = [("leader", 0, lead)] if lead else []
    place = 0
    for name, count in _FIELDS[code.protocol]:
        spans.append((name, max(0, begin), ends[place + count - 1]))
        begin = ends[place + count - 1]
        place += count
    return tuple(spans)


def bit_spans(code: Code, *, toggle: int = 0) -> tuple[tuple[int, float, float], ...]:
    """Return the bits of a code's frame as (0 or 1, begin, end) in nominal us from its first mark; of Sharp and Denon the first half only."""
    if code.protocol not in ENCODED:
        return ()
    _, begin, ends = _bit_ends(code)
    return tuple(zip(wire_bits(code, toggle=toggle), (max(0, begin), *ends), ends))


def _bit_ends(code: Code) -> tuple[float, float, list[float]]:
    """The end of the leader, the begin of the first bit, and the end of each bit [us] from the first mark."""
    bits = wire_bits(code)
    lead: float
    begin: float
    ends: list[float] = []
    if code.protocol in (p.RC5, p.RC5SZ):
        begin, lead = -t.RC5_UNIT, 0            # the first half bit is silence before the first mark
        ends = [begin + 2 * t.RC5_UNIT * (place + 1) for place in range(len(bits))]
    elif code.protocol in (p.RC6, p.RC6A20, p.RC6A24, p.RC6A32, p.RC6MCE):
        unit = 4000 / 9
        begin = lead = 8 * unit
        ends = [begin + unit * (2 * place + 2 + (2 if place >= t.RC6_TRAILER else 0)) for place in range(len(bits))]
    else:
        durations = signal(code).durations
        lead = 0 if code.protocol in (p.SHARP, p.DENON) else durations[0] + durations[1]
        first = 2 if lead else 0
        at = begin = lead
        for place in range(len(bits)):
            at += durations[first + 2 * place] + durations[first + 2 * place + 1]
            ends.append(at)
        if code.protocol in (p.SIRC12, p.SIRC15, p.SIRC20):      # its last space is already silence
            ends[-1] = sum(durations[:-1])
    return lead, begin, ends


def timing_diagram(durations: Sequence[int], found: "Sequence[Decoded]" = (), *, title: str = "capture", rows_ms: int | None = None, width: int = WIDTH) -> Picture:
    """Return a timing diagram of a capture, to scale, with fields and bits of the frames found in it.

    Parameters
    ----------
    durations : sequence of int
        Marks and spaces [us] from a mark; a silence of `GAP` or more begins a new row.
    found : sequence of Decoded
        From `decode` of the same capture; their fields are shaded and named, their bits written under.
    title : str
        Printed above.
    rows_ms : int, optional
        Time in one row [ms]; if absent what the width has room for, twice that in a wide picture of long bursts.
    width : int, optional
        Of the picture, in its own units.
    """
    bursts = _bursts(durations)
    if rows_ms is None:
        rows_ms = max(10, (width - _LEFT - _RIGHT) // _PER_MS // 10 * 10)
        if width == WIDTH and any(sum(burst) > rows_ms * 1000 for _, burst, _ in bursts):
            rows_ms *= 2
    width_us = rows_ms * 1000
    waiting = list(found)
    said = ", ".join(f"{frame.code}{' (held)' if frame.repeat else ''}, {frame.confidence} % sure" for frame in found) or "no code"
    if SANS.width(said, TEXT) > width - _LEFT - _RIGHT:
        said = f"{found[0].code}, {found[0].confidence} % sure, and {counted(len(found) - 1, 'more frame')}" if found else said
    parts, top = _heading(title, said, width)
    for begin, burst, after in bursts:
        total = sum(burst)
        frames = []
        while waiting and waiting[0].end <= len(burst) and sum(burst[:waiting[0].start]) + _least(waiting[0]) <= total:
            frames.append(waiting.pop(0))
            if len(frames) == 4:
                break
        rows = max(1, -(-total // width_us))
        for row in range(rows):
            parts += _row(burst, frames, Scale(row * width_us, (row + 1) * width_us, _LEFT, width - _RIGHT), top, begin)
            top += _ROW
        if after:
            words, last = f"then {after / 1000:.1f} ms of silence", Scale((rows - 1) * width_us, rows * width_us, _LEFT, width - _RIGHT)
            x = last(total) + 20
            if x + SANS.width(words, SMALL) < width - _RIGHT:
                parts.append(text(x, top - 58, words, size=SMALL, colour=SOFT))
            else:
                parts.append(text(width - _RIGHT, top - 108, words, anchor="end", size=SMALL, colour=SOFT))
    alt = f"{said}; {counted(len(bursts), 'burst')} of marks and spaces, {sum(map(abs, durations)) / 1000:.0f} ms together"
    return Picture(title if title.strip() else "capture", alt, Box(0, 0, width, top + 4), tuple(parts), size=SMALL)


def histogram(learned: "Learned", *, title: str = "what the learner saw") -> Picture:
    """Return a picture of the sizes of marks and spaces in `Learned`: spread, median and count of each cluster."""
    clusters = learned.clusters
    scale = Scale(0, max((cluster.most for cluster in clusters), default=1), 110, WIDTH - 130)
    most = max((cluster.count for cluster in clusters), default=1)
    said = str(learned.code) if learned.code else "no code"
    jitter = f", jitter {learned.jitter} us r.m.s." if learned.jitter is not None else ""
    said += (f", {learned.sureness} % sure; clock {100 * (learned.clock - 1):+.1f} %, "
             f"marks {learned.stretch:+d} us{jitter}; {learned.agreeing} of {counted(learned.presses, 'press', 'presses')} {'agrees' if learned.agreeing == 1 else 'agree'}")
    parts, top = _heading(title, said, WIDTH)
    alts = [said]
    for kind, tint in (("mark", BLUE), ("space", ORANGE)):
        mine = [cluster for cluster in clusters if cluster.kind == kind]
        base = top + 90
        parts.append(text(_LEFT, base - 4, f"{kind}s", bold=True))
        taken = -1000.0                           # where the last label ends
        rare = [cluster for cluster in mine if cluster.count * 40 < most]
        for cluster in mine:
            left, right, middle = scale(cluster.least), scale(cluster.most), scale(cluster.middle)
            height = 8 + 52 * cluster.count / most
            parts.append(rectangle(Box(left, base - height, max(left + 2.0, right), base), fill=tint))
            parts.append(line(((middle, base - height), (middle, base + 4)), weight=TICK))
            if cluster not in rare:
                words = f"{cluster.middle} us, {'once' if cluster.count == 1 else f'{cluster.count} times'}"
                half = SANS.width(words, SMALL) / 2 + 4
                x = max(middle, taken + half)
                taken = x + half
                parts.append(text(x, base + 18, words, anchor="middle", size=SMALL))
                alts.append(f"{kind}s of {words}")
        parts.append(line(((110, base), (WIDTH - _RIGHT, base)), weight=TICK))
        if rare:
            parts.append(text(110, base + 36, f"and {counted(sum(cluster.count for cluster in rare), 'odd one')}, cut by disturbances",
                              size=SMALL, colour=SOFT))
        top += 150
    return Picture(title if title.strip() else "captures", "; ".join(alts), Box(0, 0, WIDTH, top + 10), tuple(parts), size=SMALL)


def _heading(title: str, said: str, width: int) -> tuple[list[Piece], float]:
    """The title and what was decoded, in as many lines as they need, and where the rest begins."""
    parts: list[Piece] = []
    y = 22.0
    for words, size, bold in ((title, HEAD, True), (said, TEXT, False)):
        rows, y = paragraph(_LEFT, y, words, width - _LEFT - _RIGHT, size=size, bold=bold)
        parts += rows
    return parts, y


def _bursts(durations: Sequence[int]) -> list[tuple[int, list[int], int]]:
    """Part at silences of `GAP`: (begin [us], durations of the burst, silence after [us] or 0)."""
    bursts: list[tuple[int, list[int], int]] = []
    burst: list[int] = []
    begin = at = 0
    for place, value in enumerate(durations):
        value = max(0, value)
        if place & 1 and value >= t.GAP:
            bursts.append((begin, burst, value))
            burst, begin = [], at + value
        else:
            burst.append(value)
        at += value
    if burst:
        bursts.append((begin, burst, 0))
    return bursts


def _least(frame: "Decoded") -> float:
    """Less than the duration of a found frame [us]: to which burst it belongs. A ditto has no fields."""
    spans = field_spans(frame.code)
    return 0 if frame.repeat or not spans else spans[-1][2] * frame.clock * 0.9


def _row(burst: Sequence[int], frames: "Sequence[Decoded]", scale: Scale, top: float, offset: int) -> list[Piece]:
    """One row of the diagram: what of the burst lies on the scale [us]."""
    parts: list[Piece] = []
    base, high = top + 66, top + 38
    begin, end = int(scale.low), int(scale.high)
    for frame in frames:
        start = sum(burst[:frame.start])
        ditto = frame.repeat and frame.end - frame.start == 3
        for name, left, right in (() if ditto else field_spans(frame.code)):
            left, right = start + left * frame.clock, start + right * frame.clock
            if right <= begin or left >= end:
                continue
            box = Box(scale.held(left), top + 14, scale.held(right), top + 72)
            parts.append(rectangle(box, fill=_GROUNDS.get("check" if "inverse" in name else name.split(":")[0].split(" ")[0], RULE)))
            word = next((words for words in (name, name.split(": ")[-1]) if SANS.width(words, SMALL) < box.width), "")
            if word:
                parts.append(text((box.left + box.right) / 2, top + 28, word, anchor="middle", size=SMALL))
        for bit, left, right in () if ditto else bit_spans(frame.code, toggle=frame.toggle or 0):
            middle = start + (left + right) / 2 * frame.clock
            if begin <= middle < end:
                parts.append(text(scale(middle), base + 18, str(bit), anchor="middle", size=SMALL))
    at, level = 0, base
    points: list[tuple[float, float]] = [(_LEFT, base)]
    for place, value in enumerate(burst):
        left, right = max(begin, at), min(end, at + value)
        if right > left:
            level = base if place & 1 else high
            points += [(scale(left), level), (scale(right), level)]
        at += value
    if begin <= at <= end:
        points.append((scale(at), base))
    parts.append(line(points, weight=TICK))
    last = min(end - begin, ceil((sum(burst) - begin) / 10_000) * 10_000)
    marks = ((begin + us, f"{(offset + begin + us) / 1000:.0f} ms") for us in range(0, last + 1, 10_000))
    return [*parts, *time_axis(scale, base + 38, marks, size=SMALL, above=-16, below=-11, tick=SOFT, colour=SOFT)]
