"""From several noisy presses of one button to its code, and how sure that is.

Each press is decoded by the board's decoder, which measures and takes out clock error and mark stretching by
itself. Presses vote. Presses that decode to nothing are laid over one another first: the median of each duration
over equally long presses is a cleaner frame than any of them. What is of no known protocol is named by a hash,
and then only if the presses agree on it; its presses are read once more by the decoder of a board that has learnt
it, so what is called sure here is acted on there.
"""

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from statistics import median

from pattress.controller.infrared import protocols as p
from pattress.controller.infrared import timings as t
from pattress.controller.infrared.decoder import TRUSTED
from pattress.infrared.decoding import Decoded, board_decoder, decode
from pattress.infrared.encoding import ENCODED, signal
from pattress.job.code import Code
from pattress.plural import counted

ENOUGH = 3               # presses that agree before a code is given to a button
_APART = 1.35            # neighbouring durations of this ratio belong to different clusters


@dataclass(frozen=True)
class Cluster:
    """Durations of one size: marks or spaces, how many, their median and spread [us]."""

    kind: str            # "mark" or "space"
    count: int
    middle: int
    least: int
    most: int


@dataclass(frozen=True)
class Learned:
    """What several presses of one button say."""

    code: Code | None                           # None: nothing to go by
    sureness: int                               # 0 to 100
    presses: int
    agreeing: int                               # presses that say `code`
    others: tuple[tuple[Code, int], ...]        # what else was heard, and in how many presses
    clock: float                                # the remote's time unit against nominal, median
    stretch: int                                # marks longer than sent by this [us], median
    jitter: int | None                          # r.m.s. of what remains against the nominal frame [us]
    clusters: tuple[Cluster, ...]               # marks, then spaces, by size: what the learner saw
    frame: tuple[int, ...]                      # the median frame [us], for a picture
    advice: tuple[str, ...]                     # what to do to be surer, in words

    @property
    def lacking(self) -> str:
        """What is lacking before the code may be given to a button, and what to do, in words; "" when nothing is."""
        if self.code is None:
            return f"{ENOUGH} presses that agree are needed, and no code was found in {counted(self.presses, 'press', 'presses')}"
        if self.presses < ENOUGH:
            return (f"{ENOUGH} presses that agree are needed, and {counted(self.presses, 'was', 'were')} heard: "
                    f"press the same button at least {ENOUGH} times into one file, with a pause after each press")
        if self.agreeing < ENOUGH:
            return (f"{ENOUGH} presses that agree are needed, and {self.agreeing} of {self.presses} say {self.code}: "
                    "hold the remote closer, away from lamps, and press again")
        rivals = [str(other) for other, count in self.others if count >= self.agreeing]
        if rivals:
            return f"{', '.join(rivals)} was heard as often as {self.code}: press one button of one remote only"
        if self.sureness < TRUSTED:
            return f"the board acts from {TRUSTED} of 100, and this is {self.sureness}: hold the remote closer, away from lamps, and press again"
        return ""

    @property
    def ready(self) -> tuple[Code, ...]:
        """The codes that may be given to a button, likeliest first: each said by `ENOUGH` presses, also of several buttons."""
        said = ((self.code, self.agreeing), *self.others)
        return tuple(code for code, count in said if code is not None and count >= ENOUGH)


def learn(captures: Sequence[Sequence[int]]) -> Learned:
    """Return what is `Learned` from presses of one button.

    Parameters
    ----------
    captures : sequence of sequences of int
        One capture per press: marks and spaces [us] from a mark. More presses make surer; three or more are asked for.

    Raises nothing for any integers; with no press at all the code is None.
    """
    presses = [tuple(press) for press in captures]
    frames = _usual_bursts(presses)
    read = [decode(press) for press in presses]
    known = _votes(read, lambda frame: frame.trusted and frame.code.protocol != p.HASH)
    patterns = _votes(read, lambda frame: frame.code.protocol == p.HASH)
    middle = _median_frame(frames)
    code, agreeing = _likeliest(known, patterns)
    mended = False
    if code is None or code.protocol == p.HASH and agreeing < len(presses):
        better = [frame for frame in decode(middle) if frame.trusted]
        if better:
            code, agreeing, mended = better[0].code, 0, True
    if code is not None and code.protocol == p.HASH and agreeing < 2:
        code, agreeing = None, 0
    if code is not None and code.protocol == p.HASH:
        board = board_decoder([code])
        told = [[frame for frame in decode(press, decoder=board) if frame.code == code] for press in presses]
        agreeing = sum(any(frame.trusted for frame in found) for found in told)
        known += _votes([found for found, mine in zip(read, told) if not mine], lambda frame: frame.code.protocol == p.HASH)
        read = told
    mine = [frame for found in read for frame in found if frame.code == code] or decode(middle)
    clock = median(frame.clock for frame in mine) if mine else 1.0
    stretch = round(median(frame.stretch for frame in mine)) if mine else 0
    others = tuple((other, count) for other, count in known.most_common() if other != code)
    clock, stretch, jitter = _fit(code, frames, clock, stretch)
    sureness = _sureness(code, mine, agreeing, len(presses), others, mended)
    return Learned(
        code, sureness, len(presses), agreeing, others, clock, stretch, jitter, _clusters(frames), middle,
        _advice(code, sureness, agreeing, len(presses), others, mended),
    )


def _votes(read: Sequence[list[Decoded]], counts: Callable[[Decoded], bool]) -> Counter[Code]:
    """In how many presses each code was heard in a frame that `counts`, those heard first before others as often."""
    return Counter(code for found in read for code in dict.fromkeys(frame.code for frame in found if counts(frame)))


def _likeliest(known: Counter[Code], patterns: Counter[Code]) -> tuple[Code | None, int]:
    """The code most presses say and how many; a pattern only where over twice as many say it as any code of a known protocol."""
    nothing: tuple[Code | None, int] = (None, 0)
    code, count = next(iter(known.most_common(1)), nothing)
    pattern, shared = next(iter(patterns.most_common(1)), nothing)
    return (pattern, shared) if shared > 2 * count else (code, count)


def _usual_bursts(presses: Sequence[tuple[int, ...]]) -> list[tuple[int, ...]]:
    """Return the bursts (silence to silence) of the presses that are of the commonest length, at least 9 long."""
    bursts = []
    for press in presses:
        burst: list[int] = []
        for place, value in enumerate(press):
            if value <= 0 or place & 1 and value >= t.GAP:
                bursts.append(tuple(burst))
                burst = []
                if not place & 1:
                    break
            else:
                burst.append(value)
        bursts.append(tuple(burst))
    bursts = [burst if len(burst) & 1 else burst[:-1] for burst in bursts if len(burst) >= 9]
    if not bursts:
        return []
    usual = Counter(map(len, bursts)).most_common(1)[0][0]
    return [burst for burst in bursts if len(burst) == usual]


def _median_frame(frames: Sequence[tuple[int, ...]]) -> tuple[int, ...]:
    return tuple(round(median(column)) for column in zip(*frames))


def _fit(code: Code | None, frames: Sequence[tuple[int, ...]], clock: float, stretch: int) -> tuple[float, int, int | None]:
    """Clock, stretch and remaining jitter of the frames against the nominal one, by least squares; as given if unlike."""
    if code is None or code.protocol not in ENCODED:
        return clock, stretch, None
    best = None
    for toggle in (0, 1):
        nominal = signal(code, toggle=toggle).durations[:-1]
        alike = [frame for frame in frames if len(frame) == len(nominal)]
        if not alike:
            continue
        # duration = clock * nominal + sign * stretch, sign +1 for marks: normal equations of two unknowns
        pairs = [(want, 1 - 2 * (place & 1), got) for frame in alike for place, (want, got) in enumerate(zip(nominal, frame))]
        nn, ns = sum(want * want for want, _, _ in pairs), sum(want * sign for want, sign, _ in pairs)
        ng, sg = sum(want * got for want, _, got in pairs), sum(sign * got for _, sign, got in pairs)
        determinant = nn * len(pairs) - ns * ns
        scale = (ng * len(pairs) - sg * ns) / determinant
        over = (nn * sg - ns * ng) / determinant
        rest = (sum((got - scale * want - sign * over) ** 2 for want, sign, got in pairs) / len(pairs)) ** 0.5
        if best is None or rest < best[2]:
            best = scale, round(over), rest
    if best is None or best[2] > 150:            # another frame of the press, an inverted half for example
        return clock, stretch, None
    return best[0], best[1], round(best[2])


def _clusters(frames: Sequence[tuple[int, ...]]) -> tuple[Cluster, ...]:
    """Sort marks and spaces into sizes, parted where the next larger one is far off."""
    found = []
    for kind, start in (("mark", 0), ("space", 1)):
        values = sorted(value for frame in frames for value in frame[start::2])
        group: list[int] = []
        for value in values:
            if group and value > group[-1] * _APART:
                found.append(_cluster(kind, group))
                group = []
            group.append(value)
        if group:
            found.append(_cluster(kind, group))
    return tuple(found)


def _cluster(kind: str, group: Sequence[int]) -> Cluster:
    return Cluster(kind, len(group), round(median(group)), group[0], group[-1])


def _sureness(code: Code | None, mine: Sequence[Decoded], agreeing: int, presses: int, others: tuple[tuple[Code, int], ...], mended: bool) -> int:
    """0 to 100: the decoder's confidence, less for disagreement, more for presses that agree."""
    if code is None:
        return 0
    confidence = median(frame.confidence for frame in mine) if mine else 50
    if mended:
        confidence = min(confidence, 60)
    if agreeing >= ENOUGH and not others:
        confidence += 15
    against = sum(count for _, count in others)
    share = agreeing / (agreeing + against) if agreeing else 1.0
    heard = max(agreeing, 1) / presses if not mended else 1.0
    return max(1, min(99, round(confidence * share * (0.7 + 0.3 * heard))))


def _advice(code: Code | None, sureness: int, agreeing: int, presses: int, others: tuple[tuple[Code, int], ...], mended: bool) -> tuple[str, ...]:
    words = []
    if presses < ENOUGH:
        words.append(f"{counted(presses, 'press', 'presses')} heard: press the same button at least {ENOUGH} times")
    if code is None:
        words.append("nothing could be read: hold the remote closer, away from lamps, and press again")
    elif code.protocol == p.HASH:
        words.append("a remote of no known protocol: it is recognised by its pattern and cannot be imitated")
    if mended:
        words.append("no press could be read by itself, only all of them together: check the button once more")
    if others:
        heard = ", ".join(f"{other} ({count})" for other, count in others)
        words.append(f"other codes were heard too: {heard}; was another button pressed, or is there another remote?")
    elif code is not None and not mended and agreeing < presses:
        words.append(f"{presses - agreeing} of {counted(presses, 'press', 'presses')} could not be read")
    return tuple(words)
