"""The earth electrode of a home with TT earthing, against the residual-current device of each feed.

Answers, for each feed: does a fault to earth trip the device before earthed metal stands at more
than 50 V? Asked where the earthing is TT, and where it is not known, which may be TT. A feed without
such a device is the business of `protection`. Left out: the time it takes to trip, which is measured;
and IT earthing, where a first fault need not trip anything.
"""

from functools import partial

from pattress.finding import Assumption, Figure, Finding, Input, Sense, Source, Verdict, judge
from pattress.job.model import UNKNOWN, Feed, Job, ResidualCurrentDevice
from pattress.quantity import show
from pattress.sizing.ranges import not_negative, positive
from pattress.sizing.residual import ADDITIONAL

TOUCHED = 50.0                   # V at most, for as long as one likes
MOST_RATING = 0.500              # A, of the least sensitive device in a home (IEC 61008-1, from memory)
WORST_ELECTRODE = 2000.0         # ohm: a rod of 1 m in dry sand or gravel of 2000 ohm m, R = rho / l
SEASON = 0.46                    # share of the limit: 0.7 to 1.3 of the mean from the wettest month to the driest
RULE = Source("IEC 60364, Ra x Ia <= 50 V with I_delta_n for Ia", "Kyoritsu 6016 manual p. 27: 1667 ohm at 30 mA")
STABLE = 200.0                   # ohm
STABILITY = Source("BS 7671:2008, table 41.5, note 2: an electrode above 200 ohm may not keep its resistance",
                   "told by NICEIC at voltimum.co.uk, Q and A of 2012-12-20")
SOIL = Source("Gossen Metrawatt Geohm C manual p. 59", "resistivity of soils, rods, and +/- 30 % over the year above 1.5 m")


def touch_voltage(*, electrode: float, current: float) -> float:
    """Return the voltage to earth [V] of metal on an electrode [ohm] through which a current [A] flows: R_A I."""
    not_negative(electrode=electrode, current=current)
    return electrode * current


def largest_electrode(*, current: float) -> float:
    """Return the largest resistance of an earth electrode [ohm] for a residual-current device of that rating [A]: 50 V / I_delta_n."""
    positive(current=current)
    return TOUCHED / current


def steady_electrode(*, current: float) -> float:
    """Return the largest electrode [ohm] that holds over the year for a residual-current device of that rating [A].

    54 % of 50 V / I_delta_n, as a dry month may take the rest, and at most the 200 ohm above which it may not keep its resistance.
    """
    return min(STABLE, (1.0 - SEASON) * largest_electrode(current=current))


def findings(job: Job) -> tuple[Finding, ...]:
    """Return the answer for every feed with a residual-current device, or with one that is not known."""
    if not job.supply.may_be_tt:
        return ()
    return tuple(_electrode(key, feed, job) for key, feed in job.feed.items() if feed.residual_current_device != "none")


def _electrode(key: str, feed: Feed, job: Job) -> Finding:
    device, stated = feed.residual_current_device, job.supply.earth_electrode
    electrode = WORST_ELECTRODE if stated == UNKNOWN else stated
    assumptions = []
    if job.supply.earthing == UNKNOWN:
        assumptions.append(Assumption("supply.earthing", "TT", "the job does not say", "an electrician looks where the earthing conductor goes"))
    if stated == UNKNOWN:
        assumptions.append(Assumption("supply.earth_electrode", f"{show(electrode, 'ohm')}, a rod of 1 m in dry sand or gravel", "the job does not say",
                                      "an earth tester at the electrode, or a loop tester, line to earth, by an electrician"))
    if not isinstance(device, ResidualCurrentDevice):
        assumptions.append(Assumption(f"feed.{key}.residual_current_device", "none", "the job does not say",
                                      "look for a device with a test button ahead of this feed, and read its rating"))
    answer = partial(
        Finding, id=f"electrode.{key}", question=f"Does a fault to earth on feed {key} trip before metal stands at more than 50 V?",
        subject="supply.earth_electrode", limit=Figure(TOUCHED, "V"), sense=Sense.AT_MOST,
        corner="the device trips at its rating and not before", formula="R_A x I_delta_n <= 50 V", sources=(RULE,),
        assumptions=tuple(assumptions), on_site=True,
        covers_not="the time it takes to trip: have it measured; the protective conductors to the metal; and places for animals and "
                   "building sites, where 25 V is the limit",
    )
    resistance = Input("earth electrode", Figure(electrode, "ohm"), "supply.earth_electrode" if stated != UNKNOWN else "worst credible",
                       SOIL if stated == UNKNOWN else None)
    if not isinstance(device, ResidualCurrentDevice):
        return answer(verdict=Verdict.UNKNOWN, value=None, inputs=(resistance,), change=("settle the figures above",))
    voltage = touch_voltage(electrode=electrode, current=device.rating)
    verdict = judge(voltage, TOUCHED, Sense.AT_MOST, tight=SEASON)
    if verdict is Verdict.FAILS and assumptions:
        verdict = Verdict.UNKNOWN
    may_stray = stated != UNKNOWN and electrode > STABLE
    if may_stray and verdict is Verdict.HOLDS:
        verdict = Verdict.TIGHT
    return answer(
        verdict=verdict, value=Figure(voltage, "V"), nominal=Figure(voltage, "V"),
        inputs=(resistance, Input("rated residual current", Figure(device.rating, "A"), f"feed.{key}.residual_current_device.rating"),
                Input("season", "+/- 30 % of the mean", "a dry month after the measurement: tight from 54 % of the limit", SOIL),
                Input("steady up to", Figure(STABLE, "ohm"), "tight above it", STABILITY)),
        detail=f"An electrode above {show(STABLE, 'ohm')} may not keep its resistance: have it measured again in a dry month." if may_stray else "",
        change=() if verdict is Verdict.HOLDS else _settling(device.rating) if verdict is Verdict.UNKNOWN else _changes(electrode, device.rating))


def _settling(rating: float) -> tuple[str, ...]:
    """Return what a measurement of the electrode must show."""
    return (f"settle the figures above: an electrode of at most {show(steady_electrode(current=rating), 'ohm')} holds in a dry month, too",)


def _changes(electrode: float, rating: float) -> tuple[str, ...]:
    """Return the device and the electrode that hold in the driest month, too; the mildest first."""
    change = [f"a deeper electrode, or more of them: at most {show(steady_electrode(current=rating), 'ohm')}, measured"]
    if rating > ADDITIONAL and electrode <= steady_electrode(current=ADDITIONAL):
        change.insert(0, f"a residual-current device of {show(ADDITIONAL, 'A')} ahead of this feed")
    return tuple(change)
