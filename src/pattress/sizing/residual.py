"""The residual-current device of each feed: is there one, of 30 mA, and does it see the faults that its loads can have?

A load with a rectifier leaks pulsating direct current when its insulation fails behind it; a device
of type AC need not see that. The controller's own supply is such a load. Left out: types F and B,
asked for by inverters and by what charges a car; selectivity between two devices; nuisance tripping.
"""

from functools import partial

from pattress.finding import Assumption, Figure, Finding, Input, Sense, Source, Verdict, judge
from pattress.job.model import UNKNOWN, Feed, Job, ResidualCurrentDevice
from pattress.sizing.demand import Demand, demands

ADDITIONAL = 0.030               # A
RULE = Source("IEC 60364-4-41, 411.3.3 and 411.3.4: 30 mA for sockets and for luminaires in homes", read=False)
TYPE_RULE = Source("BS 7671:2018+A2:2022, 531.3.3: type AC only for fixed equipment known to draw no DC components",
                   "quoted by lewden.com, Residual Current Devices, 2022-03-28")
SYMBOLS = "the letters on the device, or its symbol: a wave alone is AC, half waves below it A"     # elec-mate.com, RCD types; AC from memory
LOW_MAINS = 130.0                # V: below it devices are made to UL 943, which names no types (from memory)
OF_TYPE_A = " of type A"
THE_CONTROLLER = "the controller itself"


def controller_feed(job: Job) -> str:
    """Return the key of the feed that the controller's own supply hangs on: the first with a load or fan; "" without any feed."""
    used = {channel.feed for channel in (*job.load.values(), *job.fan.values())}
    return next((key for key in job.feed if key in used), next(iter(job.feed), ""))


def findings(job: Job) -> tuple[Finding, ...]:
    """Return the answer for every feed."""
    asked = demands(job)
    return tuple(_residual(key, feed, job, [demand for demand in asked.values() if demand.feed == key]) for key, feed in job.feed.items())


def _residual(key: str, feed: Feed, job: Job, members: list[Demand]) -> Finding:
    device, where = feed.residual_current_device, f"feed.{key}.residual_current_device"
    surely = [*(demand.name for demand in members if demand.behaviour.rectifies == "yes"), *([THE_CONTROLLER] if key == controller_feed(job) else ())]
    answer = partial(
        Finding, id=f"residual.{key}", question=f"Is feed {key} protected by a residual-current device?", subject=where, sense=Sense.AT_MOST,
        limit=Figure(ADDITIONAL, "A"), formula="rated residual current <= 30 mA; type A, F or B where a load has a rectifier",
        sources=(RULE, TYPE_RULE), on_site=True, covers_not="that it works: press its test button, and have its trip time measured; what is plugged into a socket",
    )
    earthing = Input("earthing", job.supply.earthing, "supply.earthing")
    wanted = f"a 30 mA residual-current device{OF_TYPE_A if surely else ''} ahead of this feed"
    if device == UNKNOWN:
        return answer(verdict=Verdict.UNKNOWN, value=None, inputs=(earthing,), assumptions=(Assumption(
            where, "none", "the job does not say", "look for a device with a test button ahead of this feed, and read its rating"),))
    if device == "none":
        detail = "With TT earthing nothing else disconnects an earth fault." if job.supply.earthing == "TT" else ""
        return answer(verdict=Verdict.FAILS, value=None, inputs=(earthing,), detail=detail, change=(wanted,))
    verdict = judge(device.rating, ADDITIONAL, Sense.AT_MOST, tight=0.0)
    by_type, detail, assumptions = _of_type(key, device, feed, job, surely, members)
    change = () if verdict is by_type is Verdict.HOLDS else (wanted,)
    if by_type is Verdict.UNKNOWN and verdict is Verdict.HOLDS:
        change = (f"where that is so, a 30 mA residual-current device{OF_TYPE_A} ahead of this feed",)
    verdict = max(verdict, by_type, key=lambda one: one.severity)
    return answer(
        verdict=verdict, value=Figure(device.rating, "A"), nominal=Figure(device.rating, "A"),
        inputs=(Input("rating", Figure(device.rating, "A"), f"{where}.rating"), Input("type", device.type, f"{where}.type"), earthing,
                Input("with a rectifier", ", ".join(surely) or "none that is known", f"what hangs on feed {key}")),
        detail=detail, assumptions=assumptions, change=change)


def _of_type(key: str, device: ResidualCurrentDevice, feed: Feed, job: Job, surely: list[str], members: list[Demand]) -> tuple[Verdict, str, tuple[Assumption, ...]]:
    """Return what the type of a device is worth for its loads, in words why, and what was taken."""
    kind, where = device.type, f"feed.{key}.residual_current_device.type"
    if kind in ("A", "F", "B"):
        return Verdict.HOLDS, f"Type {kind}.", ()
    perhaps = [Assumption(f"{demand.subject}.kind", "a rectifier in it", f"the kind {demand.behaviour.kind} may have one or not",
                          f"whether {demand.name} has electronics, from its sheet") for demand in members if demand.behaviour.rectifies == "perhaps"]
    if feed.other_current:
        perhaps.append(Assumption(f"feed.{key}.other_current", "a rectifier among them", "the job does not say what they are",
                                  "whether any of them has electronics"))
    if not surely and not perhaps:
        return Verdict.HOLDS, f"Type {kind}; nothing on this feed has a rectifier.", ()
    blind = f"Type AC need not see the fault currents behind a rectifier: {', '.join(surely) or 'perhaps one here'}. Type A does."
    if kind == UNKNOWN:
        look = SYMBOLS
        if job.supply.system.voltage < LOW_MAINS:
            look += "; one to UL 943 has neither: ask its maker whether it trips at pulsating direct current"
        return Verdict.UNKNOWN, blind, (Assumption(where, "type AC", "the job does not say", look),)
    return (Verdict.FAILS, blind, ()) if surely else (Verdict.UNKNOWN, blind, tuple(perhaps))
