"""Pictures as SVG text: a capture as a timing diagram with its fields marked, and the sizes the learner saw."""

from collections.abc import Sequence
from html import escape
from typing import TYPE_CHECKING

from pattress.job.code import Code
from pattress.controller.infrared import protocols as p
from pattress.controller.infrared import timings as t
from pattress.plural import counted
from pattress.infrared.encoding import ENCODED, signal, wire_bits

if TYPE_CHECKING:
    from pattress.infrared.decoding import Decoded
    from pattress.infrared.learning import Learned

WIDTH = 1000
_LEFT, _RIGHT = 20, 20
_PER_MS = 32               # units for a millisecond: a digit fits under the shortest bit
_INK, _PAPER, _FAINT = "#1b2733", "#ffffff", "#8a97a3"
_TINTS = {"leader": "#d9dee3", "address": "#cfe3f5", "command": "#d5ecd2", "check": "#f6e3c0", "toggle": "#ead7f0", "mode": "#d9dee3",
          "start": "#d9dee3", "flags": "#f6e3c0", "stop": "#d9dee3", "end": "#d9dee3"}

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


def timing_diagram(durations: Sequence[int], found: "Sequence[Decoded]" = (), *, title: str = "capture", rows_ms: int | None = None, width: int = WIDTH) -> str:
    """Return an SVG timing diagram of a capture, to scale, with fields and bits of the frames found in it.

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
    width_us, scale = rows_ms * 1000, (width - _LEFT - _RIGHT) / (rows_ms * 1000)
    waiting = list(found)
    parts, top = [], 46
    for begin, burst, after in bursts:
        total = sum(burst)
        frames = []
        while waiting and waiting[0].end <= len(burst) and sum(burst[:waiting[0].start]) + _least(waiting[0]) <= total:
            frames.append(waiting.pop(0))
            if len(frames) == 4:
                break
        for row in range(max(1, -(-total // width_us))):
            parts.append(_row(burst, frames, row * width_us, width_us, scale, top, begin))
            top += 114
        if after:
            x, words = _LEFT + (total - row * width_us) * scale, f"then {after / 1000:.1f} ms of silence"
            if x + 170 < width:
                parts.append(_text(x + 20, top - 52, words, size=11, fill=_FAINT))
            else:
                parts.append(_text(width - _RIGHT, top - 102, words, anchor="end", size=11, fill=_FAINT))
    said = ", ".join(f"{frame.code}{' (held)' if frame.repeat else ''}, {frame.confidence} % sure" for frame in found) or "no code"
    if len(said) * 6.5 > width - _LEFT:
        said = f"{found[0].code}, {found[0].confidence} % sure, and {counted(len(found) - 1, 'more frame')}"
    head = _text(_LEFT, 22, title, size=16, weight="bold") + _text(_LEFT, 39, said, size=12)
    return _svg(width, top + 4, head + "".join(parts))


def histogram(learned: "Learned", *, title: str = "what the learner saw") -> str:
    """Return an SVG of the sizes of marks and spaces in `Learned`: spread, median and count of each cluster."""
    clusters = learned.clusters
    longest = max((cluster.most for cluster in clusters), default=1)
    scale = (WIDTH - 2 * 120) / longest
    most = max((cluster.count for cluster in clusters), default=1)
    parts, top = [], 60
    for kind, tint in (("mark", "#2a6f97"), ("space", "#c77f1a")):
        mine = [cluster for cluster in clusters if cluster.kind == kind]
        base = top + 90
        parts.append(_text(_LEFT, base - 4, f"{kind}s", weight="bold"))
        parts.append(f'<line x1="110" y1="{base}" x2="{WIDTH - 20}" y2="{base}" stroke="{_INK}"/>')
        taken = -1000.0                           # where the last label ends
        rare = [cluster for cluster in mine if cluster.count * 40 < most]
        for cluster in mine:
            left, right = 110 + cluster.least * scale, 110 + cluster.most * scale
            height = 8 + 52 * cluster.count / most
            middle = 110 + cluster.middle * scale
            parts.append(f'<rect x="{left:.1f}" y="{base - height:.1f}" width="{max(2.0, right - left):.1f}" height="{height:.1f}" '
                         f'fill="{tint}" fill-opacity="0.55"/>')
            parts.append(f'<line x1="{middle:.1f}" y1="{base - height:.1f}" x2="{middle:.1f}" y2="{base + 4}" stroke="{_INK}"/>')
            if cluster not in rare:
                x = max(middle, taken + 62)
                taken = x + 62
                parts.append(_text(x, base + 18, f"{cluster.middle} us, {'once' if cluster.count == 1 else f'{cluster.count} times'}", anchor="middle", size=12))
        if rare:
            parts.append(_text(110, base + 36, f"and {counted(sum(cluster.count for cluster in rare), 'odd one')}, cut by disturbances",
                               size=12, fill=_FAINT))
        top += 150
    said = str(learned.code) if learned.code else "no code"
    jitter = f", jitter {learned.jitter} us r.m.s." if learned.jitter is not None else ""
    head = _text(_LEFT, 22, title, size=16, weight="bold") + _text(
        _LEFT, 42, f"{said}, {learned.sureness} % sure; clock {100 * (learned.clock - 1):+.1f} %, "
        f"marks {learned.stretch:+d} us{jitter}; {learned.agreeing} of {counted(learned.presses, 'press', 'presses')} {'agrees' if learned.agreeing == 1 else 'agree'}")
    return _svg(WIDTH, top + 10, head + "".join(parts))


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


def _row(burst: Sequence[int], frames: "Sequence[Decoded]", begin: int, width: int, scale: float, top: int, offset: int) -> str:
    """One row of the diagram, `width` us from `begin` of the burst."""
    parts, base, high = [], top + 66, top + 38
    for frame in frames:
        start = sum(burst[:frame.start])
        ditto = frame.repeat and frame.end - frame.start == 3
        for name, left, right in (() if ditto else field_spans(frame.code)):
            left, right = start + left * frame.clock - begin, start + right * frame.clock - begin
            if right <= 0 or left >= width:
                continue
            x = _LEFT + max(0, left) * scale
            span = (min(width, right) - max(0, left)) * scale
            tint = _TINTS.get("check" if "inverse" in name else name.split(":")[0].split(" ")[0], "#eeeeee")
            parts.append(f'<rect x="{x:.1f}" y="{top + 16}" width="{span:.1f}" height="56" fill="{tint}"/>')
            short = name.split(": ")[-1]
            word = name if len(name) * 6 < span else short if len(short) * 6 < span else ""
            if word:
                parts.append(_text(x + span / 2, top + 29, word, anchor="middle", size=11))
        for bit, left, right in () if ditto else bit_spans(frame.code, toggle=frame.toggle or 0):
            middle = start + (left + right) / 2 * frame.clock - begin
            if 0 <= middle < width:
                parts.append(_text(_LEFT + middle * scale, base + 16, str(bit), anchor="middle", size=10))
    at, points, level = -begin, [], base
    points.append(f"{_LEFT},{base}")
    for place, value in enumerate(burst):
        left, right = max(0, at), min(width, at + value)
        if right > left:
            level = base if place & 1 else high
            points += [f"{_LEFT + left * scale:.1f},{level}", f"{_LEFT + right * scale:.1f},{level}"]
        at += value
    if 0 <= at <= width:
        points.append(f"{_LEFT + at * scale:.1f},{base}")
    parts.append(f'<polyline points="{" ".join(points)}" fill="none" stroke="{_INK}" stroke-width="1.3"/>')
    for ms in range(0, min(width, -(-(sum(burst) - begin) // 10_000) * 10_000) // 1000 + 1, 10):
        x = _LEFT + ms * 1000 * scale
        parts.append(f'<line x1="{x:.1f}" y1="{base + 19}" x2="{x:.1f}" y2="{base + 24}" stroke="{_FAINT}"/>')
        anchor = "start" if ms == 0 else "end" if ms * 1000 == width else "middle"
        parts.append(_text(x, base + 35, f"{(offset + begin) / 1000 + ms:.0f} ms", anchor=anchor, size=10, fill=_FAINT))
    return "".join(parts)


def _text(x: float, y: int, words: str, *, size: int = 13, anchor: str = "start", weight: str = "normal", fill: str = _INK) -> str:
    return (f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size}" text-anchor="{anchor}" font-weight="{weight}" '
            f'fill="{fill}">{escape(words)}</text>')


def _svg(width: int, height: int, body: str) -> str:
    return (f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height:.0f}" viewBox="0 0 {width} {height:.0f}" '
            f'font-family="DejaVu Sans, sans-serif"><rect width="{width}" height="{height:.0f}" fill="{_PAPER}"/>{body}</svg>\n')
