"""How far mains must stay from mains, and from what a person can touch.

Answers: does the relay keep its contacts far enough from its coil, whose side a person touches
at the wall switch? And which distances must the board keep? Pollution degree 2 (dry, indoors),
material group III as FR-4 is taken, inhomogeneous field. Left out: solid insulation, testing,
moulded or coated parts, and what a certificate of the relay says.
"""

from dataclasses import dataclass

from pattress.finding import Assumption, Figure, Finding, Input, Sense, Source, Verdict
from pattress.job.model import Job
from pattress.quantity import show
from pattress.sizing.chosen import Chosen
from pattress.sizing.demand import demands
from pattress.sizing.mains import Mains, mains_of
from pattress.sizing.ranges import positive
from pattress.stock import insulation
from pattress.stock.parts import Part

CATEGORY = "III"              # equipment of the fixed installation
SLOT_LEAST = 1.0e-3           # a slot counts from this width on at pollution degree 2
SLOT_SOURCE = Source("rules for creepage and clearance", "Angui forum")


@dataclass(frozen=True, slots=True)
class Distances:
    """Least clearance and creepage [m], and where they come from."""

    clearance: float
    creepage: float
    sources: tuple[Source, ...]


def distances(*, voltage: float, category: str = CATEGORY, reinforced: bool = False, degree: int = 2,
              group: str = "III", altitude: float = 0.0) -> Distances:
    """Return least clearance and creepage [m] between circuits at a working voltage [V r.m.s.].

    Reinforced: clearance of the next higher impulse step, twice the creepage. Creepage is never
    below the clearance. `altitude` [m]; above 2000 m the clearance grows.

    Raises ValueError when a quantity is out of the tables.

    Source: IEC 60664-1 as tabulated in `stock/insulation.toml`; rule for reinforced from memory.
    """
    positive(voltage=voltage)
    impulse, impulse_source = insulation.rated_impulse(voltage=voltage, category=category)
    clearance, clearance_source = insulation.least_clearance(impulse=impulse, steps_up=int(reinforced))
    factor, altitude_source = insulation.altitude_factor(max(altitude, 0.0))
    clearance *= factor
    creepage, creepage_source = insulation.least_creepage(voltage=voltage, degree=degree, group=group)
    creepage = max((2.0 if reinforced else 1.0) * creepage, clearance)
    sources = [impulse_source, clearance_source, creepage_source]
    sources += [altitude_source] * (factor > 1.0) + [insulation.reinforced_source()] * reinforced
    return Distances(clearance, creepage, tuple(sources))


def barrier(relay: Part, *, mains: Mains, altitude: float) -> tuple[Verdict, Distances]:
    """Return how a relay's coil-to-contact distances compare with reinforced insulation, and what is needed."""
    needed = distances(voltage=mains.voltage, reinforced=True, altitude=altitude)
    clearance, creepage = relay.known("clearance"), relay.known("creepage")
    word = relay.word("insulation")
    if clearance is None or creepage is None:
        return (Verdict.FAILS if word in ("basic", "functional") else Verdict.UNKNOWN), needed
    short = clearance < needed.clearance or creepage < needed.creepage
    if short or word == "functional":
        return Verdict.FAILS, needed
    return {"reinforced": Verdict.HOLDS, "basic": Verdict.TIGHT}.get(word, Verdict.UNKNOWN), needed


def findings(job: Job, chosen: Chosen) -> tuple[Finding, ...]:
    """Return, for every channel, whether its relay keeps mains from the touchable side; and the board's distances."""
    mains = mains_of(job)
    found = [
        _relay_finding(demand.name, key, demand.subject, chosen.relays[key].part, mains, job.site.altitude)
        for key, demand in demands(job).items()
    ]
    return (*found, *_board_findings(mains, job.site.altitude))


def _relay_finding(name: str, key: str, subject: str, relay: Part, mains: Mains, altitude: float) -> Finding:
    verdict, needed = barrier(relay, mains=mains, altitude=altitude)
    there = relay.known("clearance")
    words = {
        Verdict.HOLDS: "The sheet calls the insulation reinforced.",
        Verdict.TIGHT: "The distances suffice, but the sheet does not call the insulation reinforced.",
        Verdict.UNKNOWN: "The sheet gives no distances." if there is None or relay.known("creepage") is None else
                         "The distances suffice, but the sheet does not say what the insulation is: it may be functional only.",
        Verdict.FAILS: "A wall switch on the coil side is not far enough from mains.",
    }[verdict]
    return Finding(
        id=f"clearances.{key}",
        question=f"Does the relay of {name} keep mains away from the side a person touches?",
        subject=subject, verdict=verdict,
        value=None if there is None else Figure(there, "m"), limit=Figure(needed.clearance, "m"), sense=Sense.AT_LEAST,
        nominal=None if there is None else Figure(there, "m"),
        corner=f"overvoltage category {CATEGORY}, pollution degree 2, {show(max(altitude, 0.0), 'm')} above the sea",
        formula="clearance of the next higher impulse step; creepage = 2 x basic, at least the clearance",
        inputs=(
            Input("relay", relay.designation, f"chosen for {subject}.relay"),
            relay.input("clearance"), relay.input("creepage"), relay.input("insulation"),
            Input("creepage needed", Figure(needed.creepage, "m"), "reinforced, material group III"),
            mains.inputs[0], Input("altitude", Figure(altitude, "m"), "site.altitude"),
        ),
        sources=needed.sources, assumptions=_not_said(relay) if verdict is Verdict.UNKNOWN else (),
        change=() if verdict is Verdict.HOLDS else (
            "a relay with reinforced insulation and at least "
            f"{show(needed.clearance, 'm')} through air and {show(needed.creepage, 'm')} over surface, coil to contacts",
            "or an optocoupler and a supply of its own for the relay side, with reinforced insulation across both",
        ),
        detail=f"{words} {relay.designation}: {_distance_words(relay)}.",
        covers_not="the layout of the board around the relay; see the board's distances",
    )


def _not_said(relay: Part) -> tuple[Assumption, ...]:
    """Return what the sheet of a relay does not say of its insulation."""
    return tuple(Assumption(f"part.{relay.designation}.{name}", "too little", relay.rating(name).why or "the sheet gives none",
                            f"the {name} between coil and contacts in the data sheet of {relay.designation}")
                 for name in ("clearance", "creepage", "insulation") if relay.rating(name).value is None)


def _distance_words(relay: Part) -> str:
    clearance, creepage = relay.known("clearance"), relay.known("creepage")
    if clearance is None or creepage is None:
        return "distances unknown"
    return f"{show(clearance, 'm')} through air, {show(creepage, 'm')} over surface"


def _board_findings(mains: Mains, altitude: float) -> tuple[Finding, ...]:
    """Return the distances a layout must keep. They are requirements: nothing is measured yet, so nothing is judged."""
    made = []
    for thing, reinforced, words in (
        ("mains_to_mains", False, "live parts of different polarity and of different channels"),
        ("mains_to_touchable", True, "mains and everything wired to a switch, sensor or the radio"),
    ):
        needed = distances(voltage=mains.voltage, reinforced=reinforced, altitude=altitude)
        made.append(Finding(
            id=f"board_distance.{thing}", question=f"How far apart must the board keep {words}?",
            subject="board", verdict=Verdict.UNKNOWN, value=None, limit=Figure(needed.clearance, "m"), sense=Sense.AT_LEAST,
            corner=f"overvoltage category {CATEGORY}, pollution degree 2, material group III",
            formula="IEC 60664-1: clearance by rated impulse voltage, creepage by working voltage",
            inputs=(mains.inputs[0], Input("altitude", Figure(altitude, "m"), "site.altitude"),
                    Input("creepage needed", Figure(needed.creepage, "m"), "reinforced" if reinforced else "basic")),
            sources=(*needed.sources, SLOT_SOURCE),
            change=(f"measure the finished board: at least {show(needed.clearance, 'm')} through air and "
                    f"{show(needed.creepage, 'm')} over surface",
                    f"where the surface path is short, mill a slot of at least {show(SLOT_LEAST, 'm')}"),
            detail="No layout is known here; this is what it has to keep.",
            covers_not="coatings, moulded parts and solid insulation; feeds of two phases, between which the voltage is 1.73 times as high, "
                       "or twice on a split phase", safety=False,
        ))
    return tuple(made)
