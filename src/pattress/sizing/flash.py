"""How long the flash lasts that the snapshot is written to.

Answers: years at these operations, which may write a snapshot each when it comes on and when it goes off, one erase for each
write, spread over a few sectors only. A file system that levels wear does far better. Left out: what else is written, and retention of a worn cell.
"""

from pattress.finding import Assumption, Figure, Finding, Input, Sense, Source, judge
from pattress.job.model import UNKNOWN, Job
from pattress.sizing.contacts import DAYS_A_YEAR, WORST_OPERATIONS, operations_a_day
from pattress.sizing.ranges import positive

ERASES = 100_000
CHANGES = 2                      # of one operation: on, and off again
FLASH = Source("summaries of W25Q serial flash data", "100 000 erase cycles a sector, 20 years retention")
SECTORS = 16                     # a file system that levels wear spreads writes over more than these
YEARS_WANTED = 10.0


def years_of_writes(*, per_day: float, erases: float = ERASES, sectors: int = 1, records: float = 1.0) -> float:
    """Return how long flash lasts [years]: erases x sectors x records in a sector / writes a day / 365.25."""
    positive(per_day=per_day, erases=erases, sectors=sectors, records=records)
    return erases * sectors * records / per_day / DAYS_A_YEAR


def findings(job: Job) -> tuple[Finding, ...]:
    """Return how long the flash lasts at the operations of the job."""
    channels = [(f"load.{k}", c) for k, c in job.load.items()] + [(f"fan.{k}", c) for k, c in job.fan.items()]
    unknown = [key for key, channel in channels if channel.operations_per_day == UNKNOWN]
    per_day = sum(operations_a_day(channel) for _, channel in channels)
    years = years_of_writes(per_day=max(CHANGES * per_day, 1e-3), sectors=SECTORS)
    return (Finding(
        id="flash.controller", question="How long does the flash last with a snapshot after every change?", subject="board",
        verdict=judge(min(years, 1e4), YEARS_WANTED, Sense.AT_LEAST), value=Figure(min(years, 1e4), "years"),
        limit=Figure(YEARS_WANTED, "years"), sense=Sense.AT_LEAST, nominal=Figure(min(years, 1e4), "years"),
        corner="one erase for every write, 16 sectors", formula="erases x 16 / (2 x operations a day) / 365.25",
        inputs=(Input("operations a day", Figure(per_day, ""), "all channels"), Input("erases", Figure(ERASES, ""), "of a sector", FLASH)),
        sources=(FLASH,), assumptions=tuple(Assumption(f"{key}.operations_per_day", f"{WORST_OPERATIONS:g} a day", "the job does not say",
                                                       "count for a week, or read the controller's own counter later") for key in unknown),
        change=("saving later, so that several changes make one write",), covers_not="other files on the same flash", safety=False,
    ),)
