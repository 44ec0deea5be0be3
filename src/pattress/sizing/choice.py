"""Choosing the parts: the named ones as named, "auto" as the first of the stock that answers every question best.

The stock is in order of preference, plainest first. A relay is taken when it carries, breaks
and closes on the load and keeps mains from the touchable side; where none does all that, the
one that comes nearest is taken, insulation first, and the findings say what is wrong.
"""

from collections.abc import Callable, Mapping

from pattress.fan.drive import FanDrive
from pattress.finding import Verdict
from pattress.job.model import Feed, Job
from pattress.sizing.chosen import Choice, Chosen
from pattress.sizing.clearances import barrier
from pattress.sizing.contacts import carrying_verdict, making_verdict, shortfall
from pattress.sizing.demand import Demand, demands
from pattress.sizing.drive import driver_verdict
from pattress.sizing.mains import Mains, mains_of
from pattress.sizing.supply import supply_verdict
from pattress.stock.boards import Board
from pattress.stock.parts import Part, Parts
from pattress.stock.record import StockError

AUTO = "auto"


def choose_parts(job: Job, parts: Parts, board: Board, fan_drives: Mapping[str, FanDrive]) -> Chosen:
    """Return the parts for a job.

    Raises StockError when the job names a relay that is not in stock, or a part that is no relay.
    """
    mains = mains_of(job)
    relays = {key: choose_relay(job, parts, demand, mains) for key, demand in demands(job).items()}
    driver = _first([(part, driver_verdict(part, [choice.part for choice in relays.values()], board, ambient=job.site.ambient))
                     for part in parts.of("driver")])
    terminals = {key: choose_terminal(parts, demand) for key, demand in demands(job).items()}
    unsupplied = Chosen(board, relays, terminals, fan_drives, driver, driver)
    supply = _first([(part, supply_verdict(part, job, unsupplied)) for part in parts.of("supply")])
    return Chosen(board, relays, terminals, fan_drives, driver, supply)


def choose_relay(job: Job, parts: Parts, demand: Demand, mains: Mains) -> Choice:
    """Return the relay of a channel: the named one, else the first that answers best."""
    wanted = (job.load.get(demand.key) or job.fan[demand.key]).relay
    if wanted != AUTO:
        part = parts[wanted]
        if part.kind != "relay":
            raise StockError(f"{demand.subject}.relay is {wanted!r}, whose kind is {part.kind}\n  allowed: auto, or a relay of the stock")
        return Choice(part, "named in the job", named=True)
    return _first([(part, relay_verdict(part, demand, mains, job.site.altitude)) for part in parts.of("relay")],
                  lambda part: (barrier(part, mains=mains, altitude=job.site.altitude)[0].severity, shortfall(part, demand)))


def relay_verdict(relay: Part, demand: Demand, mains: Mains, altitude: float) -> Verdict:
    """Return the worst verdict on a relay over the questions that choose it."""
    verdicts = (
        carrying_verdict(relay, demand), making_verdict(relay, demand), barrier(relay, mains=mains, altitude=altitude)[0],
    )
    return max(verdicts, key=lambda verdict: verdict.severity)


def choose_terminal(parts: Parts, demand: Demand) -> Choice:
    """Return the first terminal that takes the run's section and carries its current."""
    return _first([(part, terminal_verdict(part, demand)) for part in parts.of("terminal")])


def terminal_verdict(terminal: Part, demand: Demand) -> Verdict:
    """Return whether a terminal takes the section and the current of a channel."""
    fits = (demand.run.section <= terminal.value("section_most") * (1 + 1e-9)
            and demand.carried <= terminal.value("rated_current"))
    return Verdict.HOLDS if fits else Verdict.FAILS


def feed_terminal(parts: Parts, feed: Feed) -> Part | None:
    """Return the first terminal that takes a feed's cable and carries what its device lets pass, None where the stock has none."""
    return next((part for part in parts.of("terminal")
                 if feed.cable.section <= part.value("section_most") * (1 + 1e-9) and feed.device.rating <= part.value("rated_current")), None)


def _first(judged: list[tuple[Part, Verdict]], away: Callable[[Part], tuple[float, ...]] = lambda part: ()) -> Choice:
    """Return the first of the parts with the best verdict; where none holds, the one of these that is least far `away`."""
    if not judged:
        raise StockError("the stock has no such part\n  allowed: a parts file with at least one of every kind")
    best = min(judged, key=lambda pair: pair[1].severity)
    if best[1] in (Verdict.HOLDS, Verdict.TIGHT):
        passed_over = [part.designation for part, verdict in judged[: judged.index(best)]]
        return Choice(best[0], "the plainest of the stock that holds" if not passed_over else f"{', '.join(passed_over)} would not hold")
    nearest = min((part for part, verdict in judged if verdict is best[1]), key=away)
    return Choice(nearest, "no part of the stock holds; this one comes nearest")
