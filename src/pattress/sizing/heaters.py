"""A heater that nobody watches: who may put it on, for how long, and what a power cut does.

Answers, for every resistive heater and every socket for one: is it put on by a hand at the wall only, does it go off by
itself, and does it stay off after a power cut? Somebody who puts it on at the wall has looked; the network, a rule and the
return of the power have not. That it is off when its sensor is silent needs no question: no rule puts anything on by a reading
that is not known. Left out: what the heater itself does. A program is no protective control: the appliance keeps its own
thermostat and thermal cut-out.
"""

from pattress.finding import Finding, Input, Sense, Source, Verdict
from pattress.job.by_rule import puts_on, rules_on
from pattress.job.model import Job, Load
from pattress.quantity import show
from pattress.sizing.controls import controls_of

HEATERS = ("resistive heater",)
REMOTE = Source("IEC 60335-1, household appliances, clause 22: remote operation is enabled by hand at the appliance, and its duration is set before it starts", read=False)
PORTABLE = Source("IEC 60335-2-30, room heaters, 7.12: portable ones are not for timers, programmers or separate remote control, as they may be covered", read=False)
USUAL = "2 h"          # in what is proposed: 30 to 60 min for an iron, 2 to 4 h for a heater (common practice, no source)


def findings(job: Job) -> tuple[Finding, ...]:
    """Return for every heater who may put it on, whether it goes off by itself and what a power cut does."""
    return tuple(one for key, load in job.load.items() if load.kind in HEATERS for one in (_put_on(job, key, load), _on_time(job, key, load), _after_a_cut(key, load)))


def _put_on(job: Job, key: str, load: Load) -> Finding:
    rules = puts_on(job, key)
    others = [*(["the network"] if controls_of(job, key).network else []), *(f"rule.{name}" for name in rules)]
    return _answer(
        f"put_on.{key}", f"Is {load.name} put on by a hand at the wall only?", key, not others, (REMOTE, PORTABLE),
        (f'a rule "{key} is put on at the wall only"', *(f"no rule.{name}" for name in rules)),
        "Only by a switch or a remote." if not others else
        f"{' and '.join(others)} may put it on while nobody looks at it: it may be covered, misplaced or left on something that burns.")


def _on_time(job: Job, key: str, load: Load) -> Finding:
    times = [rule.time for _, rule in rules_on(job, key) if rule.kind == "limit" or (rule.kind == "stay" and not rule.renews)]
    return _answer(
        f"longest_on.{key}", f"Does {load.name} go off by itself?", key, bool(times), (REMOTE,), (f'a rule "{key} is on for at most {USUAL}"',),
        f"After {show(min(times), 's')} at most, whoever put it on." if times else "Whoever forgets it leaves it on: nothing switches it off.")


def _after_a_cut(key: str, load: Load) -> Finding:
    stays = load.restore == "off"
    return _answer(
        f"after_cut.{key}", f"Does {load.name} stay off after a power cut?", key, stays, (REMOTE,), ('restore = "off"',),
        "Until somebody puts it on." if stays else f"It {'comes on' if load.restore == 'on' else 'comes back as it was'} when the power returns, whether anybody is there or not.")


def _answer(identity: str, question: str, key: str, holds: bool, sources: tuple[Source, ...], change: tuple[str, ...], detail: str) -> Finding:
    return Finding(
        id=identity, question=question, subject=f"load.{key}", verdict=Verdict.HOLDS if holds else Verdict.FAILS, value=None, limit=None,
        sense=Sense.AT_LEAST, formula="at the wall only, for a time, and never by the return of the power", inputs=(Input("kind", "resistive heater", f"load.{key}.kind"),),
        sources=sources, change=() if holds else change, detail=detail,
        covers_not="the heater's own thermostat and thermal cut-out, which it keeps: a program is no protective control",
    )
