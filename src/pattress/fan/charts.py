"""Pictures of fan and regulator.

Drawn 400 units wide, so that they read at phone width, in ink, greys and dash patterns, so that they read in
black-and-white print. Each picture takes figures already computed and decides nothing.
"""
from collections.abc import Iterable, Sequence
from math import isfinite

import numpy as np

from pattress.drawing import Box, Picture
from pattress.drawing.axes import Scale, axes
from pattress.drawing.lettering import LEADING
from pattress.drawing.look import CABLE, DASHES, FEED, HEAD, INK, LIVE, PAPER, RULE, SOFT, TEXT, WALL
from pattress.drawing.pieces import Piece, circle, crossed, group, line, paragraph, rectangle, text
from pattress.fan.motor import RADIANS_PER_SECOND, Load, Motor, Phasors, RealArray
from pattress.fan.operating import operating_points, torque_fractions
from pattress.fan.transient import Record

WIDTH, LEFT, RIGHT, TOP, BOTTOM = 400, 54, 20, 44, 46
LATER = 24                       # room over a chart that stands under another
SPOT, CROSS = 4.5, 6.0           # radius of a dot, half of a cross
NOTE = 22                        # room for the words under the charts
Bar = tuple[str, float, float, float | None, float | None]       # label, predicted speed and power, and as measured
Band = tuple[str, float, float, float, float | None]             # label, low, middle, high, and what was wanted


def torque_speed(motor: Motor, load: Load, feeds: Sequence[tuple[str, Phasors]], *, supply: float, title: str = "Torque and speed per step") -> Picture:
    """Motor torque on each step, the load, and where they balance: filled = stable, hollow = unstable.

    `feeds` is a sequence of (label, series impedance [ohm]); `supply` in V.
    """
    speeds = np.linspace(0.0, float(motor.synchronous_speed), 181)
    curves = [(label, supply ** 2 * torque_fractions(motor, series_impedance=series).torque(speeds / motor.synchronous_speed), series)
              for label, series in feeds]
    highest = max(float(curve.max()) for _, curve, _ in curves)
    chart = _Chart((0.0, speeds[-1] / RADIANS_PER_SECOND), (0.0, 1.08 * highest), "speed [r/min]", "torque [N m]", height=330)
    rpm = speeds / RADIANS_PER_SECOND
    torque = load.torque(speeds)
    chart.line(rpm, torque, weight=LIVE, soft=True)
    end = int(np.flatnonzero(torque <= 1.02 * highest)[-1])
    chart.text(rpm[end], torque[end], "load", anchor="end", shift=(2, -9), soft=True)
    starts, said = [], []
    for place, (label, curve, series) in enumerate(curves):
        chart.line(rpm, curve, dash=DASHES[place % len(DASHES)])
        points = operating_points(motor, load, supply=supply, series_impedance=series)
        for speed, stable in zip(points.speed, points.stable):
            if isfinite(speed):
                chart.dot(speed / RADIANS_PER_SECOND, float(load.torque(speed)), hollow=not stable)
                said.append(f"{label}: balance at {speed / RADIANS_PER_SECOND:.0f} r/min, {'stable' if stable else 'unstable'}")
        top = int(np.argmax(curve))
        starts.append((float(curve[top]), rpm[top], label))
    taken: list[float] = []
    for height, at, label in sorted(starts, reverse=True):
        y = chart.y(height) - 5
        while any(abs(y - other) < 15 for other in taken):
            y += 1
        taken.append(y)
        chart.place(chart.x(at), y, label, anchor="middle")
    return _stack(title, "; ".join(said) or "no balance of motor and load", [chart], None)


def speed_and_power(steps: Sequence[Bar], *, title: str = "Speed and power per step") -> Picture:
    """Bars of predicted speed and power with measured values as crosses.

    `steps`: sequence of (label, predicted rad/s, predicted W, measured rad/s or None, measured W or None).
    """
    pictures, said = [], []
    speeds = [(label, speed / RADIANS_PER_SECOND, None if read is None else read / RADIANS_PER_SECOND) for label, speed, _, read, _ in steps]
    powers = [(label, power, read) for label, _, power, _, read in steps]
    for name, unit, rows in (("speed", "r/min", speeds), ("power", "W", powers)):
        values = [value for _, *both in rows for value in both if value is not None]
        chart = _Chart((0.0, len(steps)), (0.0, 1.15 * max([*values, 1e-9])), None,
                       f"{name} [{unit}]", height=210 if name == "speed" else 190, top=TOP if name == "speed" else LATER)
        for place, (label, value, read) in enumerate(rows):
            chart.bar(place + 0.5, value, 0.62)
            chart.text(place + 0.5, 0.0, f"{value:.0f}", anchor="middle", shift=(0, -5))
            if read is not None:
                chart.cross(place + 0.5, read)
            chart.tick_label(place + 0.5, label)
            said.append(f"{label}: {name} {value:.0f} {unit} predicted" + (f", {read:.0f} measured" if read is not None else ""))
        pictures.append(chart)
    note = "bar: predicted; cross: measured" if any(value is not None for step in steps for value in step[3:5]) else "predicted"
    return _stack(title, "; ".join(said), pictures, note)


def transient(record: Record, *, until: float, title: str = "Closing", currents: Sequence[str] = ("line",), words: Sequence[str] | None = None,
              after: float = 0.0) -> Picture:
    """Currents of a `transient.Record` from `after` to `until` [s], and the motor voltage under them; time from `after`.

    `words` are what each current is called, its name when not given.
    """
    times = np.union1d(record.times(), np.linspace(after, until, 401))
    times = times[(times >= after) & (times <= until)]
    milli, unit = (1e3, "ms") if until - after > 1.5e-3 else (1e6, "us")
    curves = [(called, record.read(name, times)) for name, called in zip(currents, words or currents)]
    pictures, said = [], []
    chart = _Chart((0.0, (until - after) * milli), _around([curve for _, curve in curves]), None, "current [A]", height=210)
    for place, (name, curve) in enumerate(curves):
        chart.line((times - after) * milli, curve, dash=DASHES[place % len(DASHES)])
        top = int(np.argmax(np.abs(curve)))
        said.append(f"{name}: at most {abs(curve[top]):.3g} A, {(times[top] - after) * milli:.3g} {unit} after the start")
        chart.text((times[top] - after) * milli, curve[top], f"{name} {abs(curve[top]):.3g} A", anchor="start" if top < len(times) / 2 else "end",
                   shift=(8 if top < len(times) / 2 else -8, 4 + 16 * place))
    pictures.append(chart)
    voltage = record.read("motor", times)
    said.append(f"voltage of the motor: at most {float(np.abs(voltage).max()):.3g} V")
    chart = _Chart((0.0, (until - after) * milli), _around([voltage]), f"time [{unit}]", "motor [V]", height=200, top=LATER)
    chart.line((times - after) * milli, voltage)
    pictures.append(chart)
    return _stack(title, "; ".join(said), pictures, None)


def tolerance_bands(steps: Sequence[Band], *, title: str = "Speed over tolerance", quantity: tuple[str, str, float] = ("speed", "r/min", RADIANS_PER_SECOND)) -> Picture:
    """The 95 % band of each step, its median, and what was asked for.

    `steps`: sequence of (label, low, median, high, wanted or None) in SI units; `quantity` is its name, its unit and that in SI units.
    """
    name, unit, scale = quantity
    highest = max(value for *_, high, wanted in steps for value in (high, wanted) if value is not None) / scale
    chart = _Chart((0.0, len(steps)), (0.0, 1.1 * highest), None, f"{name} [{unit}]", height=290)
    said = []
    for place, (label, low, median, high, wanted) in enumerate(steps):
        low, median, high = (value / scale for value in (low, median, high))
        chart.band(place + 0.5, low, high, 0.44)
        chart.segment(place + 0.5, median, 0.44)
        chart.text(place + 0.5, high, f"{low:.0f} to {high:.0f}", anchor="middle", shift=(0, -5))
        if wanted is not None:
            chart.cross(place + 0.5, wanted / scale)
        chart.tick_label(place + 0.5, label)
        said.append(f"{label}: {name} {low:.0f} to {high:.0f} {unit}, middle {median:.0f}" + (f", wanted {wanted / scale:.0f}" if wanted is not None else ""))
    note = "grey: 95 of 100; line: middle" + ("; cross: wanted" if any(step[4] is not None for step in steps) else "")
    return _stack(title, "; ".join(said), [chart], note)


class _Chart:
    """Axes with round ticks, and the few marks the pictures use."""

    def __init__(self, across: tuple[float, float], up: tuple[float, float], across_name: str | None, up_name: str, *, height: int, top: int = TOP) -> None:
        self.height = height
        self.frame = Box(LEFT, top, WIDTH - RIGHT, height - (BOTTOM if across_name else 26))
        self.x, self.y = Scale(*across, self.frame.left, self.frame.right), Scale(*up, self.frame.bottom, self.frame.top)
        self.parts: list[Piece] = list(axes(self.frame, self.x, self.y, across_name=across_name or "", up_name=up_name))
        self.labels: list[Piece] = []

    def line(self, xs: Iterable[float], ys: Iterable[float], *, dash: str = "", weight: float = WALL, soft: bool = False) -> None:
        inside = [(self.x(x), self.y(y)) for x, y in zip(xs, ys) if self.y.low <= y <= self.y.high]
        self.parts.append(line(inside, stroke=SOFT if soft else INK, weight=weight, dash=dash))

    def dot(self, x: float, y: float, *, hollow: bool) -> None:
        self.parts.append(circle(self.x(x), self.y(y), SPOT, fill=PAPER if hollow else INK, stroke=INK, weight=WALL))

    def cross(self, x: float, y: float) -> None:
        self.parts.append(crossed(self.x(x), self.y(y), CROSS, weight=FEED))

    def bar(self, x: float, y: float, width: float) -> None:
        self.parts.append(rectangle(Box(self.x(x - width / 2), min(self.y(y), self.frame.bottom), self.x(x + width / 2), self.frame.bottom),
                                    fill=RULE, stroke=INK, weight=CABLE))

    def band(self, x: float, low: float, high: float, width: float) -> None:
        self.parts.append(rectangle(Box(self.x(x - width / 2), self.y(high), self.x(x + width / 2), max(self.y(low), self.y(high) + 1.0)),
                                    fill=RULE, stroke=INK, weight=CABLE))

    def segment(self, x: float, y: float, width: float) -> None:
        self.parts.append(line(((self.x(x - width / 2), self.y(y)), (self.x(x + width / 2), self.y(y))), weight=LIVE))

    def text(self, x: float, y: float, words: str, *, anchor: str, shift: tuple[float, float], soft: bool = False) -> None:
        self.place(self.x(x) + shift[0], self.y(y) + shift[1], words, anchor=anchor, soft=soft)

    def place(self, x: float, y: float, words: str, *, anchor: str, soft: bool = False) -> None:
        piece = text(x, y, words, anchor=anchor, halo=True, colour=SOFT if soft else None)
        beyond = 0.0 if piece.box is None else max(piece.box.right - WIDTH, 0.0) + min(piece.box.left, 0.0)
        self.labels.append(text(x - beyond, y, words, anchor=anchor, halo=True, colour=SOFT if soft else None) if beyond else piece)

    def tick_label(self, x: float, words: str) -> None:
        self.labels.append(text(self.x(x), self.frame.bottom + 18, words, anchor="middle"))


def _stack(title: str, alt: str, charts: "Sequence[_Chart]", note: str | None) -> Picture:
    """One picture of charts under each other."""
    parts, below = paragraph(4, 18, title, WIDTH - 8, size=HEAD, bold=True)
    total = below - 18 - LEADING * HEAD
    for chart in charts:
        parts.append(group((*chart.parts, *chart.labels), at=(0, total)))
        total += chart.height
    if note:
        total += NOTE
        parts.append(text(LEFT, total - 6, note))
    return Picture(title, alt, Box(0, 0, WIDTH, total), tuple(parts), size=TEXT)


def _around(curves: Sequence[RealArray]) -> tuple[float, float]:
    low, high = min(0.0, *(float(curve.min()) for curve in curves)), max(0.0, *(float(curve.max()) for curve in curves))
    room = 0.12 * max(high - low, 1e-9)
    return low - (room if low < 0.0 else 0.0), high + room
