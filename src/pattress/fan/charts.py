"""Pictures of fan and regulator as SVG text.

Drawn 400 units wide with 14-unit letters, so that they read at phone width, and in black, grey and dash patterns, so
that they read in black-and-white print. Each picture takes figures already computed and decides nothing.
"""
from collections.abc import Iterable, Sequence
from html import escape
from math import ceil, floor, isfinite, log10

import numpy as np

from pattress.fan.motor import RADIANS_PER_SECOND, Load, Motor, Phasors, RealArray
from pattress.fan.operating import operating_points, torque_fractions
from pattress.fan.transient import Record

WIDTH, LEFT, RIGHT, TOP, BOTTOM = 400, 54, 20, 40, 46
DASHES = ("", "7 3", "2 3", "9 3 2 3", "12 4")
Bar = tuple[str, float, float, float | None, float | None]       # label, predicted speed and power, and as measured
Band = tuple[str, float, float, float, float | None]             # label, low, middle, high, and what was wanted
LETTERS = 'font-family="sans-serif" font-size="14"'


def torque_speed(motor: Motor, load: Load, feeds: Sequence[tuple[str, Phasors]], *, supply: float, title: str = "Torque and speed per step") -> str:
    """Motor torque on each step, the load, and where they balance: filled = stable, hollow = unstable.

    `feeds` is a sequence of (label, series impedance [ohm]); `supply` in V.
    """
    speeds = np.linspace(0.0, float(motor.synchronous_speed), 181)
    curves = [(label, supply ** 2 * torque_fractions(motor, series_impedance=series).torque(speeds / motor.synchronous_speed), series)
              for label, series in feeds]
    highest = max(float(curve.max()) for _, curve, _ in curves)
    chart = _Chart(title, (0.0, speeds[-1] / RADIANS_PER_SECOND), (0.0, 1.08 * highest), "speed [r/min]", "torque [N m]", height=330)
    rpm = speeds / RADIANS_PER_SECOND
    torque = load.torque(speeds)
    chart.line(rpm, torque, width=3.0, grey=True)
    end = int(np.flatnonzero(torque <= 1.02 * highest)[-1])
    chart.text(rpm[end], torque[end], "load", anchor="end", shift=(2, -9), grey=True)
    starts = []
    for place, (label, curve, series) in enumerate(curves):
        chart.line(rpm, curve, dash=DASHES[place % len(DASHES)])
        points = operating_points(motor, load, supply=supply, series_impedance=series)
        for speed, stable in zip(points.speed, points.stable):
            if isfinite(speed):
                chart.dot(speed / RADIANS_PER_SECOND, float(load.torque(speed)), hollow=not stable)
        top = int(np.argmax(curve))
        starts.append((float(curve[top]), rpm[top], label))
    taken: list[float] = []
    for height, at, label in sorted(starts, reverse=True):
        y = chart.y(height) - 5
        while any(abs(y - other) < 15 for other in taken):
            y += 1
        taken.append(y)
        chart.place(chart.x(at), y, label, anchor="middle")
    return chart.svg()


def speed_and_power(steps: Sequence[Bar], *, title: str = "Speed and power per step") -> str:
    """Bars of predicted speed and power with measured values as crosses.

    `steps`: sequence of (label, predicted rad/s, predicted W, measured rad/s or None, measured W or None).
    """
    pictures = []
    speeds = [(label, speed / RADIANS_PER_SECOND, None if read is None else read / RADIANS_PER_SECOND) for label, speed, _, read, _ in steps]
    powers = [(label, power, read) for label, _, power, _, read in steps]
    for name, unit, rows in (("speed", "r/min", speeds), ("power", "W", powers)):
        values = [value for _, *both in rows for value in both if value is not None]
        chart = _Chart(title if name == "speed" else "", (0.0, len(steps)), (0.0, 1.15 * max([*values, 1e-9])), None,
                       f"{name} [{unit}]", height=210 if name == "speed" else 190, top=TOP if name == "speed" else 20)
        for place, (label, value, read) in enumerate(rows):
            chart.bar(place + 0.5, value, 0.62)
            chart.text(place + 0.5, 0.0, f"{value:.0f}", anchor="middle", shift=(0, -5))
            if read is not None:
                chart.cross(place + 0.5, read)
            chart.tick_label(place + 0.5, label)
        pictures.append(chart)
    note = "bar: predicted; cross: measured" if any(value is not None for step in steps for value in step[3:5]) else "predicted"
    return _stack(pictures, note)


def transient(record: Record, *, until: float, title: str = "Closing", currents: Sequence[str] = ("line",), words: Sequence[str] | None = None, after: float = 0.0) -> str:
    """Currents of a `transient.Record` from `after` to `until` [s], and the motor voltage under them; time from `after`.

    `words` are what each current is called, its name when not given.
    """
    times = np.union1d(record.times(), np.linspace(after, until, 401))
    times = times[(times >= after) & (times <= until)]
    milli, unit = (1e3, "ms") if until - after > 1.5e-3 else (1e6, "us")
    curves = [(called, record.read(name, times)) for name, called in zip(currents, words or currents)]
    pictures = []
    chart = _Chart(title, (0.0, (until - after) * milli), _around([curve for _, curve in curves]), None, "current [A]", height=210)
    for place, (name, curve) in enumerate(curves):
        chart.line((times - after) * milli, curve, dash=DASHES[place % len(DASHES)])
        top = int(np.argmax(np.abs(curve)))
        chart.text((times[top] - after) * milli, curve[top], f"{name} {abs(curve[top]):.3g} A", anchor="start" if top < len(times) / 2 else "end",
                   shift=(8 if top < len(times) / 2 else -8, 4 + 16 * place))
    pictures.append(chart)
    voltage = record.read("motor", times)
    chart = _Chart("", (0.0, (until - after) * milli), _around([voltage]), f"time [{unit}]", "motor [V]", height=200, top=16)
    chart.line((times - after) * milli, voltage)
    pictures.append(chart)
    return _stack(pictures, None)


def tolerance_bands(steps: Sequence[Band], *, title: str = "Speed over tolerance", quantity: tuple[str, str, float] = ("speed", "r/min", RADIANS_PER_SECOND)) -> str:
    """The 95 % band of each step, its median, and what was asked for.

    `steps`: sequence of (label, low, median, high, wanted or None) in SI units; `quantity` is its name, its unit and that in SI units.
    """
    name, unit, scale = quantity
    highest = max(value for step in steps for value in step[3:5] if value is not None) / scale
    chart = _Chart(title, (0.0, len(steps)), (0.0, 1.1 * highest), None, f"{name} [{unit}]", height=290)
    for place, (label, low, median, high, wanted) in enumerate(steps):
        low, median, high = (value / scale for value in (low, median, high))
        chart.band(place + 0.5, low, high, 0.44)
        chart.segment(place + 0.5, median, 0.44)
        chart.text(place + 0.5, high, f"{low:.0f} to {high:.0f}", anchor="middle", shift=(0, -5))
        if wanted is not None:
            chart.cross(place + 0.5, wanted / scale)
        chart.tick_label(place + 0.5, label)
    note = "grey: 95 of 100; line: middle" + ("; cross: wanted" if any(step[4] is not None for step in steps) else "")
    return _stack([chart], note)


class _Chart:
    """Axes with round ticks, and the few marks the pictures use."""

    def __init__(self, title: str, across: tuple[float, float], up: tuple[float, float], across_name: str | None, up_name: str, *, height: int, top: int = TOP) -> None:
        self.title, self.height = title, height
        self.left, self.right, self.top, self.bottom = LEFT, WIDTH - RIGHT, top, height - (BOTTOM if across_name else 26)
        self.across, self.up = across, up
        self.parts: list[str] = []
        self.labels: list[str] = []
        for value in _ticks(*up, 5):
            y = self.y(value)
            self.parts.append(f'<path d="M{self.left} {y:.1f}H{self.right}" stroke="#ccc" stroke-width="1"/>')
            self._label(self.left - 5, y + 5, _number(value), "end")
        if across_name:
            for value in _ticks(*across, 5):
                x = self.x(value)
                self.parts.append(f'<path d="M{x:.1f} {self.bottom}v5" stroke="#000" stroke-width="1"/>')
                self._label(x, self.bottom + 19, _number(value), "middle")
            self._label((self.left + self.right) / 2, self.bottom + 38, across_name, "middle")
        self._label(4, self.top - 8, up_name, "start")
        zero = self.y(0.0) if up[0] < 0.0 < up[1] else self.bottom
        self.parts.append(f'<path d="M{self.left} {self.top}V{self.bottom}M{self.left} {zero:.1f}H{self.right}" '
                          'stroke="#000" stroke-width="1.2" fill="none"/>')

    def x(self, value: float) -> float:
        return self.left + (value - self.across[0]) / (self.across[1] - self.across[0]) * (self.right - self.left)

    def y(self, value: float) -> float:
        return self.bottom - (value - self.up[0]) / (self.up[1] - self.up[0]) * (self.bottom - self.top)

    def line(self, xs: Iterable[float], ys: Iterable[float], *, dash: str = "", width: float = 1.8, grey: bool = False) -> None:
        inside = [(self.x(x), self.y(y)) for x, y in zip(xs, ys) if self.up[0] <= y <= self.up[1]]
        pattern = f' stroke-dasharray="{dash}"' if dash else ""
        self.parts.append(f'<polyline points="{" ".join(f"{x:.1f},{y:.1f}" for x, y in inside)}" fill="none" '
                          f'stroke="{"#888" if grey else "#000"}" stroke-width="{width}"{pattern}/>')

    def dot(self, x: float, y: float, *, hollow: bool) -> None:
        self.parts.append(f'<circle cx="{self.x(x):.1f}" cy="{self.y(y):.1f}" r="4.5" '
                          f'fill="{"#fff" if hollow else "#000"}" stroke="#000" stroke-width="1.6"/>')

    def cross(self, x: float, y: float) -> None:
        x, y = self.x(x), self.y(y)
        path = f"M{x - 6:.1f} {y - 6:.1f}l12 12m0 -12l-12 12"
        self.parts.append(f'<path d="{path}" stroke="#fff" stroke-width="5"/><path d="{path}" stroke="#000" stroke-width="2.2"/>')

    def bar(self, x: float, y: float, width: float) -> None:
        left, right = self.x(x - width / 2), self.x(x + width / 2)
        self.parts.append(f'<rect x="{left:.1f}" y="{self.y(y):.1f}" width="{right - left:.1f}" '
                          f'height="{max(self.bottom - self.y(y), 0.0):.1f}" fill="#bbb" stroke="#000"/>')

    def band(self, x: float, low: float, high: float, width: float) -> None:
        left, right = self.x(x - width / 2), self.x(x + width / 2)
        self.parts.append(f'<rect x="{left:.1f}" y="{self.y(high):.1f}" width="{right - left:.1f}" '
                          f'height="{max(self.y(low) - self.y(high), 1.0):.1f}" fill="#ccc" stroke="#000"/>')

    def segment(self, x: float, y: float, width: float) -> None:
        self.parts.append(f'<path d="M{self.x(x - width / 2):.1f} {self.y(y):.1f}H{self.x(x + width / 2):.1f}" '
                          'stroke="#000" stroke-width="3"/>')

    def text(self, x: float, y: float, words: str, *, anchor: str, shift: tuple[float, float], grey: bool = False) -> None:
        self._label(self.x(x) + shift[0], self.y(y) + shift[1], words, anchor, halo=True, grey=grey)

    def place(self, x: float, y: float, words: str, *, anchor: str) -> None:
        self._label(x, y, words, anchor, halo=True)

    def tick_label(self, x: float, words: str) -> None:
        self._label(self.x(x), self.bottom + 18, words, "middle")

    def _label(self, x: float, y: float, words: str, anchor: str, halo: bool = False, grey: bool = False) -> None:
        around = ' stroke="#fff" stroke-width="4" paint-order="stroke"' if halo else ""
        self.labels.append(f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" fill="{"#555" if grey else "#000"}"{around}>'
                           f'{escape(words)}</text>')

    def body(self) -> str:
        head = f'<text x="4" y="16" font-weight="bold">{escape(self.title)}</text>' if self.title else ""
        return head + "".join(self.parts) + "".join(self.labels)

    def svg(self) -> str:
        return _stack([self], None)


def _stack(charts: Sequence[_Chart], note: str | None) -> str:
    """One picture of charts under each other."""
    total, groups = 0, []
    for chart in charts:
        groups.append(f'<g transform="translate(0 {total})">{chart.body()}</g>')
        total += chart.height
    if note:
        total += 22
        groups.append(f'<text x="{LEFT}" y="{total - 6}">{escape(note)}</text>')
    title = escape(charts[0].title)
    return (f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {total}" role="img" aria-label="{title}" {LETTERS}>'
            f'<title>{title}</title><rect width="{WIDTH}" height="{total}" fill="#fff"/>{"".join(groups)}</svg>')


def _ticks(low: float, high: float, about: int) -> list[float]:
    raw = (high - low) / about
    step = 10.0 ** floor(log10(raw))
    step *= next(factor for factor in (1, 2, 5, 10) if factor * step >= raw * 0.999)
    return [round(step * place, 12) for place in range(ceil(low / step - 1e-9), floor(high / step + 1e-9) + 1)]


def _number(value: float) -> str:
    return f"{value:.10g}".replace("-", "\N{MINUS SIGN}")


def _around(curves: Sequence[RealArray]) -> tuple[float, float]:
    low, high = min(0.0, *(float(curve.min()) for curve in curves)), max(0.0, *(float(curve.max()) for curve in curves))
    room = 0.12 * max(high - low, 1e-9)
    return low - (room if low < 0.0 else 0.0), high + room
