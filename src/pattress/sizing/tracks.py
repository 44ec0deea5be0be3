"""How wide a track of the relay board must be for its load, and what a short circuit does to it.

Answers, for each channel: the width at 20 K rise on the outside of a board with 70 um copper;
for each feed, the width of the track that all its channels share, and the one that outlives a
short at a load. Width is the larger of the old formula
(IPC-2221) and a fit of the newer measurements (IPC-2152), which run hotter on the outside. Left
out: copper planes near by (cooler), neighbours that are hot too, vacuum.
"""

from functools import partial
from math import log

from pattress.finding import COMMON_PRACTICE, Figure, Finding, Input, Sense, Source, Verdict, judge, judge_between
from pattress.job.model import Job
from pattress.quantity import show
from pattress.sizing.conductors import fault_at_controller, let_through, of_let_through
from pattress.sizing.demand import Demand, demands
from pattress.sizing.ranges import not_negative, positive

IPC_2221 = Source("IPC-2221 curve fit", "k 0.048 and 0.024, exponents 0.44 and 0.725; Qorvo, trace power handling")
IPC_2152 = Source("fit of the IPC-2152 baseline", "benchkit trace calculator; not checked against the chart")
MELT = Source("IEC 60364-5-54 formula for k, bare copper", read=False)
SQUARE_MIL = 25.4e-6**2          # m2
OUNCE = 35e-6                    # m of copper; the formula's own 1.378 mil
COPPER = 70e-6                   # m: two ounces, usual on relay boards
RISE = 20.0                      # K
WIDEST = 10e-3                   # m that fits between the pins of a relay with its distances kept
SIDES = 2
NARROWEST = 1e-3                 # m: mains tracks are not made narrower (common practice)
RESISTIVITY, COPPER_RISE = 1.0 / 58e6, 0.00393
TRACK_START, TRACK_END = 60.0, 250.0     # degC before a short, and where a board starts to char (common practice)


def area_2221(*, current: float, rise: float, internal: bool = False) -> float:
    """Return the copper section [m2] for a current [A] and rise [K]: I = k dT^0.44 A^0.725, A in square mils.

    Source: IPC-2221 curve fit. Not conservative outside above a few amperes, very conservative inside.
    """
    not_negative(current=current)
    positive(rise=rise)
    factor = 0.024 if internal else 0.048
    return float((current / (factor * rise**0.44)) ** (1.0 / 0.725) * SQUARE_MIL)


def area_2152(*, current: float, rise: float) -> float:
    """Return the copper section [m2] by a third-party fit of the IPC-2152 baseline: no planes, still air."""
    not_negative(current=current)
    positive(rise=rise)
    if current == 0.0:
        return 0.0
    return float((117.555 * rise**-0.913 + 1.15) * current ** (0.84 * rise**-0.108 + 1.159) * SQUARE_MIL)


def width(*, area: float, thickness: float) -> float:
    """Return the width [m] of a track of that section [m2] and copper thickness [m]."""
    not_negative(area=area)
    positive(thickness=thickness)
    return area / thickness


def track_resistance(*, length: float, width: float, thickness: float, temperature: float = 20.0) -> float:
    """Return the resistance of a track [ohm] at a temperature [degC]; copper of 58 MS/m at 20 degC."""
    not_negative(length=length)
    positive(width=width, thickness=thickness)
    return RESISTIVITY * (1.0 + COPPER_RISE * (temperature - 20.0)) * length / (width * thickness)


def survives(*, area: float, start: float = TRACK_START, end: float = TRACK_END) -> float:
    """Return the energy [A2 s] that heats a copper section [m2] from `start` to `end` [degC], no heat lost.

    k = 226 sqrt(ln((234.5 + end) / (234.5 + start))) A s^0.5 / mm².
    """
    not_negative(area=area)
    if not -40.0 <= start < end <= 1083.0:
        raise ValueError(f"end must be above start and at most 1083 degC, found {end!r}")
    return 226.0**2 * log((234.5 + end) / (234.5 + start)) * (area * 1e6) ** 2


def area_that_survives(*, energy: float, start: float = TRACK_START, end: float = TRACK_END) -> float:
    """Return the copper section [m2] that an energy [A2 s] heats just from `start` to `end` [degC]."""
    not_negative(energy=energy)
    return float((energy / survives(area=1e-6, start=start, end=end)) ** 0.5 * 1e-6)


def width_needed(current: float, thickness: float = COPPER, rise: float = RISE) -> float:
    """Return the width [m] an outside track needs for a current [A], by the harder of the two fits."""
    return width(area=max(area_2221(current=current, rise=rise), area_2152(current=current, rise=rise)), thickness=thickness)


def findings(job: Job) -> tuple[Finding, ...]:
    """Return the width of every channel's track, of the track of every feed, and whether that outlives a short."""
    asked = demands(job)
    members = {key: [demand for demand in asked.values() if demand.feed == key] for key in job.feed}
    used = [key for key in job.feed if members[key]]
    return (*(_width(demand) for demand in asked.values()), *(_common(key, job, members[key]) for key in used), *(_fault(key, job) for key in used))


def _widths(current: float) -> str:
    """Return the least width for a current [A] by copper, in words."""
    return "; ".join(
        f"{show(ounces * OUNCE, 'm')} copper: {show(max(width_needed(current, ounces * OUNCE), NARROWEST), 'm')} outside, "
        f"{show(max(_inside(current, ounces * OUNCE), NARROWEST), 'm')} inside (IPC-2221)"
        for ounces in (1, 2)
    )


def _common(key: str, job: Job, members: list[Demand]) -> Finding:
    """The track from the feed's terminal to its relays, and that of its neutral, carry all channels together."""
    rating = job.feed[key].device.rating
    summed, at_best = sum(demand.carried for demand in members), sum(demand.carried_best for demand in members)
    current, best = min(summed, rating), min(at_best, rating)
    needed, least = max(width_needed(current), NARROWEST), max(width_needed(best), NARROWEST)
    return Finding(
        id=f"track_common.{key}", question=f"Is there room for the track that all channels of feed {key} share?", subject=f"feed.{key}",
        verdict=judge_between(needed, least, WIDEST, Sense.AT_MOST), value=Figure(needed, "m"), limit=Figure(WIDEST, "m"), sense=Sense.AT_MOST,
        nominal=Figure(max(width_needed(min(sum(demand.nominal for demand in members), rating)), NARROWEST), "m"),
        corner=f"every channel on; {show(RISE, 'K')} rise, outside, {show(COPPER, 'm')} copper",
        formula="sum of the currents of its channels, at most what the device lets pass; width as for one channel",
        inputs=(*(Input(demand.name, Figure(demand.carried, "A"), f"{demand.subject}: {demand.corner}") for demand in members),
                Input("device lets pass", Figure(rating, "A"), f"feed.{key}.device.rating"), Input("current", Figure(current, "A"), "the lesser"),
                Input("copper", Figure(COPPER, "m"), "two ounces"), Input("rise", Figure(RISE, "K"), "common practice")),
        sources=(IPC_2221, IPC_2152), assumptions=tuple(a for demand in members for a in demand.assumptions),
        change=("the track on both sides, or a wire of the feed's section soldered along it", "or wires from the feed's terminal to each relay"),
        detail=f"Line and neutral alike. Least width by copper: {_widths(current)}.", covers_not="planes near by, which cool it, and hot neighbours",
    )


def _width(demand: Demand) -> Finding:
    needed, least = max(width_needed(demand.carried), NARROWEST), max(width_needed(demand.carried_best), NARROWEST)
    table = _widths(demand.carried)
    return Finding(
        id=f"track.{demand.key}", question=f"Is there room for a track that carries {demand.name}?", subject=demand.subject,
        verdict=judge_between(needed, least, WIDEST, Sense.AT_MOST), value=Figure(needed, "m"), limit=Figure(WIDEST, "m"), sense=Sense.AT_MOST,
        nominal=Figure(max(width_needed(demand.nominal), NARROWEST), "m"), corner=f"{demand.corner}; {show(RISE, 'K')} rise, outside, {show(COPPER, 'm')} copper",
        formula="larger of I = 0.048 dT^0.44 A^0.725 and A = (117.555 dT^-0.913 + 1.15) I^(0.84 dT^-0.108 + 1.159), square mils",
        inputs=(*demand.inputs, Input("copper", Figure(COPPER, "m"), "two ounces"), Input("rise", Figure(RISE, "K"), "common practice"),
                Input("narrowest", Figure(NARROWEST, "m"), "common practice", COMMON_PRACTICE),
                Input("widest", Figure(WIDEST, "m"), "between the pins of a relay", COMMON_PRACTICE)),
        sources=(IPC_2221, IPC_2152), assumptions=demand.assumptions,
        change=("the track on both sides, or a wire of the run's section soldered along it",),
        detail=f"Least width by copper: {table}.", covers_not="planes near by, which cool it, and hot neighbours",
    )


def _inside(current: float, thickness: float) -> float:
    return width(area=area_2221(current=current, rise=RISE, internal=True), thickness=thickness)


def _fault(key: str, job: Job) -> Finding:
    feed = job.feed[key]
    fault = fault_at_controller(job, feed)
    let = let_through(feed, fault)
    assumptions = of_let_through(job, key)
    answer = partial(
        Finding, id=f"track_fault.{key}", question=f"Is there room for a track that outlives a short circuit behind feed {key}?",
        subject=f"feed.{key}", limit=Figure(SIDES * WIDEST, "m"), sense=Sense.AT_MOST, corner=f"fault of {show(fault, 'A')} at the controller",
        formula="S = sqrt(I^2 t) / (226 sqrt(ln((234.5 + 250) / (234.5 + 60))))", sources=(MELT,), assumptions=assumptions, safety=False,
        covers_not="the short itself: the device of the feed must break it",
    )
    if let is None:
        return answer(verdict=Verdict.UNKNOWN, value=None, inputs=(), change=("the let-through energy from the device's own sheet",),
                       detail="The standard gives no let-through for this device.")
    needed = width(area=area_that_survives(energy=let[0]), thickness=COPPER)
    verdict = judge(needed, SIDES * WIDEST, Sense.AT_MOST)
    if verdict is Verdict.FAILS and assumptions:
        verdict = Verdict.UNKNOWN
    return answer(
        verdict=Verdict.TIGHT if verdict is Verdict.HOLDS and needed > WIDEST else verdict, value=Figure(needed, "m"),
        nominal=Figure(needed, "m"),
        inputs=(Input("let-through", Figure(let[0], "A2 s"), f"feed.{key}.device", let[1]),
                Input("copper", Figure(COPPER, "m"), "two ounces")),
        change=("a wire of the run's section soldered along the track",),
        detail="" if needed <= WIDEST else
               f"One side carries {show(WIDEST, 'm')}: run it on both sides, or solder a wire along it, or count the board as scrap after a short.")
