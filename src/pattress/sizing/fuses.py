"""The fuse of the controller's own supply: it must not blow at switching on, and must break a fault.

Answers: rated current with something in hand, melting integral against the supply's charging
pulse over a life of switchings, and breaking capacity where the controller sits. IEC 60127-2
gates are in `GATES`. Left out: ambient derating beyond the three quarters, and fuses in series.
"""


from functools import partial

from pattress.finding import Figure, Finding, Input, Sense, Source, Verdict, judge
from pattress.job.model import UNKNOWN, Job
from pattress.quantity import show
from pattress.sizing.chosen import Chosen
from pattress.sizing.conductors import fault_at_controller
from pattress.sizing.contacts import pulse_integral
from pattress.sizing.mains import Mains, mains_of
from pattress.sizing.protection import UNKNOWN_FAULT
from pattress.sizing.ranges import positive
from pattress.stock.credible import End, Known, assumed
from pattress.stock.parts import Part, Parts

PULSE_SHARES = {100: 0.48, 1000: 0.38, 10_000: 0.29, 100_000: 0.22}
FUSEOLOGY = Source("Littelfuse Fuseology guide (2017)", "p. 12, pulse cycle withstand")
LOADING = 0.75                   # of its rating a fuse carries for ever: UL practice, kept for warm boxes
LOADING_SOURCE = Source("UL rating practice, 75 %", read=False)
SUPPLY_PULSE, SUPPLY_TIME_CONSTANT = 30.0, 150e-6      # A at 230 V, s
PULSE_SOURCE = Source("RAC05-K datasheet, rev. 5/2018", "inrush 30 A at 230 V; duration from memory")
SUPPLY_POWER_FACTOR = 0.45       # at 230 V (RAC05-K)
SWITCHINGS = 10_000              # of the feed in a life




def melting_needed(*, pulse: float, pulses: int) -> float:
    """Return the least nominal melting integral [A2 s] for that many pulses of `pulse` [A2 s], ten seconds apart.

    Share of the nominal integral a pulse may have: 100 pulses 48 %, 1000 38 %, 10 000 29 %, 100 000 22 %.

    Source: Littelfuse Fuseology guide p. 12 (2017).
    """
    if pulses not in PULSE_SHARES:
        raise ValueError(f"pulses must be one of {', '.join(map(str, PULSE_SHARES))}, found {pulses!r}")
    positive(pulse=pulse)
    return pulse / PULSE_SHARES[pulses]


def least_rating(*, current: float, loading: float = LOADING) -> float:
    """Return the least rated current [A] for a continuous current: I / 0.75."""
    positive(current=current, loading=loading)
    return current / loading


def fuse_for(parts: Parts, *, current: float, pulse: float, pulses: int = SWITCHINGS) -> Part | None:
    """Return the smallest time-lag fuse of the stock that carries a current and outlives the pulses."""
    rating, integral = least_rating(current=current), melting_needed(pulse=pulse, pulses=pulses)
    fuses = sorted((p for p in parts.of("fuse") if p.word("speed") == "time-lag"), key=lambda p: p.value("rated_current"))
    return next((p for p in fuses if p.value("rated_current") >= rating and _outlives(p, integral)), None)


def _outlives(fuse: Part, integral: float) -> bool:
    """Return whether a fuse surely outlives pulses that ask for a melting integral [A2 s]: one whose sheet gives none does not."""
    melts = fuse.known("melting_integral")
    return melts is not None and melts >= integral


def findings(job: Job, parts: Parts, chosen: Chosen) -> tuple[Finding, ...]:
    """Return the fuse of the controller's supply, and whether it can break the fault there."""
    mains, supply = mains_of(job), chosen.supply.part
    current, pulse = _drawn(supply, mains)
    fuse = supply_fuse(parts, supply, mains)
    return (_nuisance(fuse, current, pulse, mains, supply.taken("efficiency", End.LEAST)), _breaking(fuse, job))


def supply_fuse(parts: Parts, supply: Part, mains: Mains) -> Part | None:
    """Return the fuse before a supply module, None where the stock has none that holds."""
    current, pulse = _drawn(supply, mains)
    return fuse_for(parts, current=current, pulse=pulse)


def _drawn(supply: Part, mains: Mains) -> tuple[float, float]:
    """Return what a module draws at full load [A], and its charging pulse [A2 s]."""
    power = supply.value("output_voltage") * supply.value("output_current") / supply.taken("efficiency", End.LEAST).value
    return (power / (mains.low * SUPPLY_POWER_FACTOR),
            pulse_integral(peak=SUPPLY_PULSE * mains.high / 230.0, duration=SUPPLY_TIME_CONSTANT, shape="decay"))


def _nuisance(fuse: Part | None, current: float, pulse: float, mains: Mains, efficiency: Known) -> Finding:
    needed = melting_needed(pulse=pulse, pulses=SWITCHINGS)
    inputs = (Input("supply current", Figure(current, "A"), "full load at the low mains, power factor 0.45", PULSE_SOURCE),
              efficiency.input, Input("charging pulse", Figure(pulse, "A2 s"), "30 A at 230 V, decaying", PULSE_SOURCE),
              Input("switchings", Figure(SWITCHINGS, ""), "in a life"))
    answer = partial(
        Finding, id="fuse.controller", question="Does the fuse of the controller outlive its supply being switched on?", subject="board",
        sense=Sense.AT_LEAST, corner=f"{mains.at_high} for the pulse, {mains.at_low} for the current",
        formula="melting integral >= Ip^2 tau / 2 / 29 %, rated current >= I / 0.75", sources=(FUSEOLOGY, LOADING_SOURCE),
        assumptions=assumed(efficiency),
        covers_not="a fuse beside something hot",
    )
    if fuse is None:
        return answer(verdict=Verdict.FAILS, value=None, limit=Figure(needed, "A2 s"), inputs=inputs,
                       change=(f"a time-lag fuse of at least {show(least_rating(current=current), 'A')} and {needed:.3g} A²s",))
    there = fuse.value("melting_integral")
    return answer(verdict=judge(there, needed, Sense.AT_LEAST), value=Figure(there, "A2 s"), limit=Figure(needed, "A2 s"),
                   nominal=Figure(there, "A2 s"), inputs=(*inputs, fuse.input("rated_current"), fuse.input("melting_integral")),
                   change=("the next larger time-lag fuse",), detail=f"{fuse.designation}, ceramic, 5 x 20 mm.")


def _breaking(fuse: Part | None, job: Job) -> Finding:
    most = max((fault_at_controller(job, feed) for feed in job.feed.values()), default=0.0)
    able = fuse.known("breaking_current") if fuse is not None else None
    known = job.supply.fault_current != UNKNOWN
    verdict = Verdict.UNKNOWN if able is None else judge(most, able, Sense.AT_MOST, tight=0.0)
    return Finding(
        id="fuse_breaking.controller", question="Can the fuse of the controller break the fault where it sits?", subject="supply.fault_current",
        verdict=Verdict.UNKNOWN if verdict is Verdict.FAILS and not known else verdict, value=Figure(most, "A"),
        assumptions=() if known else (UNKNOWN_FAULT,),
        limit=None if able is None else Figure(able, "A"), sense=Sense.AT_MOST, nominal=Figure(most, "A"),
        corner="cable of the feed cold", formula="fault behind the feed's cable <= breaking capacity",
        inputs=(Input("fault", Figure(most, "A"), "supply.fault_current and the feed's cable"),
                *((fuse.input("breaking_current"),) if fuse is not None else ())),
        sources=(Source("IEC 60127-2, high breaking capacity 1500 A", "SMD-SPT 5x20 datasheet"),),
        change=("a fuse-link to IEC 60269 in a holder, or a longer way: measure the fault current there",),
        covers_not="the holder", on_site=able is not None, detail="Glass fuses of low breaking capacity (35 A) do not belong here.",
    )
