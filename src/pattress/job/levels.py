"""Which step of a fan each position of its wall regulator means."""

from pattress.job.model import Fan, Regulator


def levels_of(regulator: Regulator, fan: Fan) -> list[int]:
    """Return the step of the fan at each position of its regulator, off (0) first where it has one; the last is always the highest step."""
    spread = [-(-fan.steps * position // regulator.positions) for position in range(1, regulator.positions + 1)]
    return [0] * (regulator.off != "none") + spread
