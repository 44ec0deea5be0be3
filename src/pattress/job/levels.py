"""Which step of a fan each position of its wall regulator means."""

from pattress.job.by_rule import step_most
from pattress.job.model import Job, Regulator


def levels_of(job: Job, regulator: Regulator) -> list[int]:
    """Return the step of the fan at each position of its regulator, off (0) first where it has one; the last is always the highest step that the rules allow."""
    fan = job.fan[regulator.fan]
    most = step_most(job, regulator.fan) or fan.steps
    spread = [min(most, -(-fan.steps * position // regulator.positions)) for position in range(1, regulator.positions + 1)]
    return [0] * (regulator.off != "none") + spread
