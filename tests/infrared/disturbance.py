"""What a receiver and a room do to a signal: jitter, stretched marks, a wrong clock, glitches, lamp noise.

Each function takes durations [us] (mark, space, ...) and a `random.Random`, and returns new durations. They
serve to ask how a decoder, or a remote in a given room, stands up to them. Sizes of what receivers do: output
pulse width within -132 ... +158 us of the input at 38 kHz (Vishay TSOP48.. data sheet 82868 rev. 1.1, 2019);
leaking lamp noise: isolated marks of 100 to 400 us (common practice, no source).
"""

from collections.abc import Sequence
from random import Random


def jittered(durations: Sequence[int], random: Random, *, sigma: float = 0.0, uniform: float = 0.0) -> list[int]:
    """Add to every duration an independent error, gaussian of `sigma` or uniform within +- `uniform` [us]."""
    return [max(10, round(value + random.gauss(0, sigma) + random.uniform(-uniform, uniform))) for value in durations]


def stretched(durations: Sequence[int], *, stretch: int) -> list[int]:
    """Lengthen every mark by `stretch` [us] and shorten every space by as much."""
    return [max(10, value - stretch if place & 1 else value + stretch) for place, value in enumerate(durations)]


def clocked(durations: Sequence[int], *, error: float) -> list[int]:
    """Run the sender's clock slow by `error` (0.05: every duration 5 % longer)."""
    return [max(1, round(value * (1 + error))) for value in durations]


def glitched(durations: Sequence[int], random: Random, *, count: int, least: int = 20, most: int = 150) -> list[int]:
    """Split `count` random durations by a short opposite level of `least` to `most` us: a spike or a drop-out.

    Only within frames: silences over 5 ms are left alone, and so is what is too short to hold it.
    """
    durations = list(durations)
    for _ in range(count):
        width = random.randint(least, most)
        places = [place for place, value in enumerate(durations) if width + 20 < value < 5000]
        if places:
            place = random.choice(places)
            before = random.randint(10, durations[place] - width - 10)
            durations[place:place + 1] = [before, width, durations[place] - before - width]
    return durations


def clipped(durations: Sequence[int], random: Random, *, least: float = 0.7) -> list[int]:
    """Shorten the first mark to `least` ... 1 of itself, as automatic gain does after silence."""
    return [round(durations[0] * random.uniform(least, 1.0)), *durations[1:]]


def lamp_noise(random: Random, *, count: int, least: int = 500, most: int = 20000) -> list[int]:
    """Return `count` isolated marks of 100 to 400 us, `least` to `most` us apart, ending with a space."""
    return [value for _ in range(count) for value in (random.randint(100, 400), random.randint(least, most))]


def with_leading_noise(durations: Sequence[int], random: Random, *, count: int) -> list[int]:
    """Put isolated marks before the frame."""
    return lamp_noise(random, count=count) + list(durations)


def with_trailing_noise(durations: Sequence[int], random: Random, *, count: int) -> list[int]:
    """Put isolated marks into the silence after the last frame; the first follows after 1 ms or more."""
    return list(durations[:-1]) + [random.randint(1000, 20000)] + lamp_noise(random, count=count)


def noise(random: Random, *, count: int) -> list[int]:
    """Return a capture of `count` durations without any frame: marks and spaces of 50 us to 3 ms, some silences."""
    kind = random.randrange(3)
    durations = []
    for place in range(count):
        if kind == 0:
            durations.append(random.randint(50, 3000))
        elif kind == 1:
            durations.append(round(50 + random.expovariate(1 / 500)))
        else:                                # in the sizes of a real protocol, but without its order
            durations.append(max(20, round(random.choice((560, 560, 1690)) + random.gauss(0, 60))))
        if place & 1 and random.random() < 0.01:
            durations[-1] = random.randint(6000, 40000)
    if random.random() < 0.3:
        durations[:2] = random.choice(([9000, 4500], [4500, 4500], [2400, 600], [2666, 889], [3456, 1728]))
    return durations


def beheaded(durations: Sequence[int]) -> list[int]:
    """Lose the first mark and space: the leader, where there is one."""
    return list(durations[2:])


def under_lamps(durations: Sequence[int], random: Random, *, spacing: int = 20000) -> list[int]:
    """Add isolated marks of 100 to 400 us in the spaces, on average one per `spacing` us, where they fit."""
    disturbed = []
    for place, value in enumerate(durations):
        if place & 1 and random.random() < value / spacing:
            width = random.randint(100, 400)
            if value > width + 40:
                before = random.randint(20, value - width - 20)
                disturbed += [before, width, value - before - width]
                continue
        disturbed.append(value)
    return disturbed
