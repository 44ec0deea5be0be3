"""Which air is damper, by two sensors.

Answers, for each rule that compares the water in the air of two sensors: can they tell? Each sensor reads temperature and humidity a
little wrong, and the two errors add up. A rule that ends at less than that error may run on for ever in air that is equally damp, and
one whose two figures lie closer than the error goes on and off for nothing. Judged at usual indoor air against a cold damp day. Left
out: other air (the warmer and damper, the larger the error), sensors that age, and where they hang.
"""

from dataclasses import dataclass
from itertools import product
from math import ceil

from pattress.finding import COMMON_PRACTICE, Figure, Finding, Input, Sense, Source, Verdict, judge
from pattress.job.condition import Condition
from pattress.job.model import Job
from pattress.quantity import show
from pattress.sizing.moist_air import grams_of_water


@dataclass(frozen=True, slots=True)
class Air:
    """Air that a sensor may be in."""

    temperature: float      # degC
    humidity: float         # share

    @property
    def water(self) -> float:
        """Return the water in it [g/m3]."""
        return grams_of_water(temperature=self.temperature, humidity=self.humidity)

    def __str__(self) -> str:
        return f"{show(self.temperature, 'degC')} and {show(self.humidity, '%')}"


ACCURACY = {"11 class": (2.0, 0.05), "22 class": (0.5, 0.02)}       # either way [K, share]
BEST = "22 class"
INSIDE, OUTSIDE = Air(24.0, 0.60), Air(5.0, 0.90)
SHEETS = Source("11 class and 22 class sensor sheets", "2 K and 5 %, 0.5 K and 2 %", read=False)
MOIST_AIR = Source("ASHRAE Handbook, Fundamentals, 2017, chapter 1", "equations 5 and 6, read in the source of PsychroLib 2.5.0")


def told_between(*, kind: str, air: Air) -> tuple[float, float]:
    """Return the least and the most water that a sensor of a class may tell of some air [g/m3]. It never tells more than 100 %."""
    kelvin, share = ACCURACY[kind]
    corners = [grams_of_water(temperature=air.temperature + sign * kelvin, humidity=min(1.0, max(0.0, air.humidity + other * share)))
               for sign, other in product((-1, 1), repeat=2)]
    return min(corners), max(corners)


def error_of_difference(*, inside: str, outside: str) -> float:
    """Return by how much the difference of water between `INSIDE` and `OUTSIDE` may be told wrong, either way [g/m3], by the classes of the sensors."""
    least_in, most_in = told_between(kind=inside, air=INSIDE)
    least_out, most_out = told_between(kind=outside, air=OUTSIDE)
    return max(most_in - INSIDE.water + OUTSIDE.water - least_out, INSIDE.water - least_in + most_out - OUTSIDE.water)


def findings(job: Job) -> tuple[Finding, ...]:
    """Return, for every rule that waits for air that is damper than other air, whether its sensors can tell."""
    return tuple(_told(key, condition, job) for key, ruled in job.rule.items() for condition in ruled.says.conditions if condition.state == "damper")


def _told(key: str, condition: Condition, job: Job) -> Finding:
    sensors = [(place, job.sensor[place]) for place in (condition.key, condition.other_sensor)]
    (_, inside), (_, outside) = sensors
    error = error_of_difference(inside=inside.kind, outside=outside.kind)
    can_tell = 2.0 * error <= INSIDE.water - OUTSIDE.water
    least = min(condition.end, condition.begin - condition.end)
    value, limit = (least, error) if can_tell else (INSIDE.water - OUTSIDE.water, 2.0 * error)
    verdict = judge(value, limit, Sense.AT_LEAST)
    said = f"by {_grams(condition.begin)}, until {_grams(condition.end)}"
    if not can_tell:
        detail = (f"They may be {_grams(error)} wrong about the {_grams(value)} between {INSIDE} inside and {OUTSIDE} outside, "
                  "so no two figures can be told apart there.")
    else:
        detail = f"They may be {_grams(error)} wrong about the difference between {INSIDE} inside and {OUTSIDE} outside."
        if verdict is Verdict.FAILS:
            detail += (" Below that they may never see that it is over." if condition.end < error
                       else " Closer together than that, the rule begins and ends though nothing has changed.")
    return Finding(
        id=f"damp.{key}", question=f"Can {inside.name} and {outside.name} tell which air is damper?", subject=f"rule.{key}.says",
        verdict=verdict, value=Figure(value, "g/m3"), limit=Figure(limit, "g/m3"), sense=Sense.AT_LEAST, nominal=Figure(value, "g/m3"),
        corner=f"{INSIDE} inside, {OUTSIDE} outside, both sensors wrong",
        formula="until and begin - until, each >= the error of phi Pws / (R T) inside and outside together",
        inputs=(Input("figures", said, f"rule.{key}.says"),
                *(Input(place, f"{sensor.kind}, {show(ACCURACY[sensor.kind][0], 'K')} and {show(ACCURACY[sensor.kind][1], '%')}", f"sensor.{place}.kind", SHEETS)
                  for place, sensor in sensors), Input("error", Figure(error, "g/m3"), "both errors together")),
        sources=(MOIST_AIR, COMMON_PRACTICE), change=() if verdict is Verdict.HOLDS else _change(condition, error, can_tell, {inside.kind, outside.kind}),
        detail=detail, covers_not="warmer and damper air, in which the error is larger; sensors that age; where they hang", safety=False,
    )


def _change(condition: Condition, error: float, can_tell: bool, kinds: set[str]) -> tuple[str, ...]:
    step = ceil(11.0 * error) / 10.0        # a tenth of a gram, and a tenth of the error to spare
    figures = (f"in the rule, by {_grams(max(condition.begin, 2.0 * step))}, until {_grams(step)}",) if can_tell else ()
    better = () if kinds == {BEST} else (f"two sensors of the {BEST}, which are {_grams(error_of_difference(inside=BEST, outside=BEST))} wrong at most",)
    return figures + better


def _grams(value: float) -> str:
    return show(value, "g/m3", 2)
