"""Remotes of no known protocol, invented here: one frame to a press, as some cheap remotes send it."""

from tests.infrared import disturbance


def distance_press(number):
    """Return a press [us] of 20 bits of pulse distance with its own leader and unit; its silence is told."""
    return [3000, 2000] + [value for bit in _bits(number, 20) for value in (300, 1400 if bit else 600)] + [300, 40000]


def width_press(number):
    """Return a press [us] of 18 bits by the length of the mark, without a leader."""
    return [value for bit in _bits(number, 18) for value in (1100 if bit else 380, 500)][:-1] + [40000]


def halves_press(number):
    """Return a press [us] of 16 bi-phase bits with a unit of 650 us behind a leader of its own."""
    levels = [1] + [level for bit in _bits(number, 16) for level in ((1, 0) if bit else (0, 1))]
    lengths, before = [], None
    for level in levels:
        if level == before:
            lengths[-1] += 650
        else:
            lengths.append(650)
        before = level
    return [5000, 2600, *lengths, 40000][: 2 + len(lengths) + (before == 1)]


REMOTES = {"pulse distance": distance_press, "pulse width": width_press, "bi-phase": halves_press}


def as_heard(press, source):
    """Return a press as a receiver gives it: a clock up to 4 % off, marks stretched, each edge somewhere else."""
    slow = disturbance.clocked(press, error=source.uniform(-0.04, 0.04))
    return disturbance.jittered(disturbance.stretched(slow, stretch=source.randint(-30, 70)), source, sigma=15)


def _bits(number, count):
    return [number >> place & 1 for place in range(count - 1, -1, -1)]
