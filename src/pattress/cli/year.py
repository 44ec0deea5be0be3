"""A year of many households, printed: wear against endurance, response, nuisances, each with its confidence."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import partial
from math import isinf
from os import cpu_count
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pattress.cli import text
from pattress.cli.terminal import A_CHECK_FAILS, ALL_HOLDS, print_json, progress_line, say
from pattress.design import Design, design_of
from pattress.designators import relay_designator
from pattress.errors import UseError
from pattress.finding import Figure
from pattress.plural import counted
from pattress.stock.own import Own

if TYPE_CHECKING:
    from pattress.rehearsal.confidence import Mean
    from pattress.rehearsal.year import Year

MODE_CHANGES = 2.0      # a day, of a mode such as away: by hand, invented as the habits are
A_YEAR = 365            # days
SHARES = ((0.5, "half"), (0.95, "95 %"), (0.999, "99.9 %"))
NUISANCES = {
    "overtaken": "moved again before it had settled, or by two at once", "too short": "let go before it was believed",
    "not heard": "presses of a remote lost on the way", "no network": "asked while the network was gone",
    "no power": "operated while the power was gone", "waits": "noted, and made to wait by a named wait",
    "refused": "codes of other remotes, heard and left alone, and what a rule does not allow",
}

NOTES = (
    "In brackets: 95 % confidence of the mean over households, Student's t; none for one household.",
    "An operation is a cycle, on and off again, as the life of a relay is counted (IEC 61810-2:2011, scope, in its publisher's summary).",
    "Habits, inputs and air are invented, habits around the job's operations_per_day; no heater warms that air. Energy: full power whenever on; of a fan at most that.",
    "Outages: U.S. Energy Information Administration, Electric Power Annual, table 11.1, IEEE method, all events, "
    "2023: SAIFI 1.348 a year, CAIDI 271.8 min. Dips of a few seconds are invented.",
    "Years until then: endurance of the sheet over operations. One in ten: until of these homes' relays so many have "
    "failed, the sheet's endurance taken as B10 (common practice, no source); Weibull (same scope) of shape 1 to 4 (from memory).",
)


def live(path: Path, own: Own, *, seed: int, households: int, workers: int | None, days: int, scheduler: str, as_json: bool) -> int:
    """Let households of a job, or of every job in a folder, live for so many days and print what that says of a year."""
    from pattress.rehearsal.fleet import homes_of, live_all

    designs = {str(job): design_of(job, own) for job in _jobs(path)}
    homes = [home for job, design in designs.items()
             for home in homes_of(job, design.plan, _usual(design), seed=seed, households=households, days=days, kinds=[one.kind for one in design.job.input.values()])]
    progress = progress_line(as_json)
    years = live_all(homes, workers=min(workers or cpu_count() or 1, len(homes)), scheduler=scheduler,
                     progress=lambda done, of: progress(f"households {done}/{of}"))
    asked = {"seed": seed, "asked": households, "days": days}
    facts = {job: _facts(designs[job], lived) | asked for job, lived in years.items() if lived}
    if not facts:
        say("no household was done", err=True)
        return A_CHECK_FAILS
    if as_json:
        print_json({"jobs": facts} if path.is_dir() else facts[str(path)])
    else:
        say("\n\n".join((f"{job}\n\n" if path.is_dir() else "") + _told(found) for job, found in facts.items()) + "\n\n" + "\n".join(NOTES))
    return A_CHECK_FAILS if any(found["problems"] for found in facts.values()) else ALL_HOLDS


def _jobs(path: Path) -> list[Path]:
    """Return the job itself, or the jobs of a folder: its TOML files, and those called job.toml one folder down."""
    if not path.is_dir():
        return [path]
    found = sorted({*path.glob("*.toml"), *path.glob("*/job.toml")})
    if not found:
        raise UseError(f"there is no job in {path}\n  allowed: FOLDER/NAME.toml or FOLDER/NAME/job.toml")
    return found


def _usual(design: Design) -> list[float]:
    """Return how often a day each channel is operated: as the job says, or as sizing takes an unknown."""
    from pattress.sizing.contacts import operations_a_day

    things = {**design.job.load, **design.job.fan}
    return [operations_a_day(things[row["key"]]) if row["key"] in things else MODE_CHANGES for row in design.plan["channels"]]


def _facts(design: Design, years: "tuple[Year, ...]") -> dict[str, Any]:
    from pattress.rehearsal import wear
    from pattress.sizing.flash import ERASES, SECTORS

    def count(of: "Callable[[Year], float]") -> dict[str, float | None] | None:
        return _plain(wear.per_year(years, of))

    channels = [{
        "channel": row["name"], "hours_on": count(partial(_hours_on, channel=number)),
        "energy_kwh": _plain(wear.energy(years, number, _power(design, row["key"]))),
        "closings_by_restore": count(partial(_restore_closings, channel=number)),
    } for number, row in enumerate(design.plan["channels"]) if row["key"] not in design.job.mode]
    keys = [row["key"] for row in design.plan["channels"]]
    powers = [_power(design, key) for key in keys]
    rules = [{
        "rule": key, "says": str(design.job.rule[key].says), "put_on": count(partial(_put_on, rule=number)), "put_off": count(partial(_put_off, rule=number)),
        "refused": count(partial(_refused, rule=number, walled=_walled(design, key, keys))), "hours_on": count(partial(_hours_by, rule=number)),
        "energy_kwh": count(partial(_energy_by, rule=number, powers=powers)),
    } for number, key in enumerate(design.plan.get("rule_keys", ()))]
    saves = wear.per_year(years, lambda year: year.saves)
    return {
        "households": len(years), "events": sum(year.events for year in years), "relays": list(_relays(design, years)), "channels": channels,
        "rules": rules,
        "flash": {"writes": _plain(saves), "years": _plain(wear.years_until(ERASES * SECTORS, saves))},
        "responses": {words: _plain(wear.response(years, share)) for share, words in SHARES},
        "slowest": max((max(year.responses) for year in years if year.responses), default=None),
        "restores": count(lambda year: year.restores), "most_together": max(year.most_together for year in years),
        "acted_twice": count(lambda year: year.acted_twice),
        "outcomes": {name: _plain(found) for name, found in wear.outcomes(years).items()},
        "problems": [f"household {year.household}: {words}" for year in years for words in year.problems],
        "problem_count": sum(year.problem_count for year in years),
    }


def _relays(design: Design, years: "tuple[Year, ...]") -> Iterator[dict[str, Any]]:
    """Yield for each relay its closings, the endurance that sizing found for it, and the years until it is used up."""
    from pattress.rehearsal import wear
    from pattress.rehearsal.habits import DAYS_A_YEAR

    endurance = {finding.id.partition(".")[2]: next(
        (put_in.figure.value for put_in in finding.inputs
         if put_in.name.startswith(("endurance", "lamp endurance")) and isinstance(put_in.figure, Figure)), None)
        for finding in design.findings if finding.id.startswith("endurance.")}
    relay = 0
    for row in design.plan["channels"]:
        if row["key"] in design.job.mode:
            continue
        end = max(row["masks"]).bit_length()
        for number in range(relay, end):
            closings = [year.closings[number] * DAYS_A_YEAR / year.days for year in years]
            a_year, rated = wear.per_year(years, partial(_closings, relay=number)), endurance.get(row["key"])
            b10 = [wear.years_to_b10(rated, closings, shape=shape) for shape in wear.SHAPES] if rated is not None else []
            yield {"relay": number, "mark": relay_designator(number), "channel": row["name"], "closings": _plain(a_year), "endurance": rated,
                   "years": _plain(wear.years_until(rated, a_year)) if rated is not None else None,
                   "years_to_b10": [None if isinf(one) else one for one in sorted(b10)] if rated is not None else None}
        relay = end


def _hours_on(year: "Year", *, channel: int) -> float:
    from pattress.rehearsal.wear import HOUR_MS

    return year.time_on[channel] / HOUR_MS


def _restore_closings(year: "Year", *, channel: int) -> float:
    return year.restore_closings[channel]


def _put_on(year: "Year", *, rule: int) -> float:
    return year.rules[rule].put_on


def _put_off(year: "Year", *, rule: int) -> float:
    return year.rules[rule].put_off


def _refused(year: "Year", *, rule: int, walled: int | None) -> float:
    return year.rules[rule].refused if walled is None else year.barred[walled]


def _walled(design: Design, key: str, keys: Sequence[str]) -> int | None:
    """Return the channel that this rule keeps the network from, None where it is no such rule."""
    rule = design.job.rule[key].says
    return keys.index(rule.thing) if rule.kind in ("wall", "kept") else None


def _hours_by(year: "Year", *, rule: int) -> float:
    from pattress.rehearsal.wear import HOUR_MS

    return sum(year.rules[rule].time_on) / HOUR_MS


def _energy_by(year: "Year", *, rule: int, powers: Sequence[float]) -> float:
    """Return what the loads take [kWh] while a rule has them on."""
    from pattress.rehearsal.wear import HOUR_MS

    return sum(time * power for time, power in zip(year.rules[rule].time_on, powers, strict=True)) / HOUR_MS / 1000


def _closings(year: "Year", *, relay: int) -> float:
    return year.closings[relay]


def _power(design: Design, key: str) -> float:
    """Return what a channel's load takes [W]: of a fan what its nameplate says of full speed."""
    load = design.job.load.get(key)
    if key in design.job.mode:
        return 0.0
    return load.power * load.count if load else design.job.fan[key].power


def _plain(found: "Mean | None") -> dict[str, float | None] | None:
    if found is None:
        return None
    return {name: None if value is None or isinf(value) else value
            for name, value in (("mean", found.value), ("low", found.low), ("high", found.high))}


def _told(facts: Mapping[str, Any]) -> str:
    rows = [(row["mark"], row["channel"], _figure(row["closings"]), _number(row["endurance"]), _figure(row["years"]),
             _span(row["years_to_b10"])) for row in facts["relays"]]
    lines = [text.table(("relay", "channel", "operations a year", "endurance", "years until then", "one in ten"), rows), ""]
    channels = [(row["channel"], _figure(row["hours_on"]), _figure(row["energy_kwh"]), _figure(row["closings_by_restore"])) for row in facts["channels"]]
    lines += [text.table(("channel", "hours on a year", "kWh a year", "closings when power returns"), channels), ""]
    if facts["rules"]:
        rules = [(row["rule"], *(_figure(row[name]) for name in ("put_on", "put_off", "refused", "hours_on", "energy_kwh"))) for row in facts["rules"]]
        lines += [text.table(("rule", "puts on a year", "puts off", "refuses a hand", "hours on by it", "kWh"), rules), ""]
    lines.append(f"snapshots written: {_figure(facts['flash']['writes'])} a year; flash: {_figure(facts['flash']['years'])} years")
    lines += [f"wall switch to relay, {words} within: {_figure(found)} ms" for words, found in facts["responses"].items() if found]
    if facts["slowest"] is not None:
        lines.append(f"slowest of all: {facts['slowest']} ms")
    lines.append(f"power came back: {_figure(facts['restores'])} times a year; most channels that then closed within 10 ms: {facts['most_together']}")
    lines.append(f"a button held once acted twice: {_figure(facts['acted_twice'])} times a year")
    lines += [f"{name}: {_figure(facts['outcomes'][name])} a year ({words})" for name, words in NUISANCES.items() if name in facts["outcomes"]]
    done, asked = facts["households"], facts["asked"]
    lines += ["", f"{counted(done, 'household')}{f' of {asked} asked for' if done < asked else ''}, {counted(facts['days'], 'day')} each, "
                  f"{counted(facts['events'], 'event')}, {counted(facts['problem_count'], 'problem')}, seed {facts['seed']}"]
    return "\n".join([*lines, *facts["problems"]])


def _span(ends: list[float | None] | None) -> str:
    if not ends or ends[0] is None:
        return "-"
    low, high = (_number(end) for end in (ends[0], ends[-1]))
    return low if low == high else f"{low} to {high}"


def _figure(found: Mapping[str, float | None] | None) -> str:
    if found is None or found["mean"] is None:
        return "-"
    if found["low"] is None or found["high"] is None:
        return _number(found["mean"])
    return f"{_number(found['mean'])} ({_number(found['low'])} to {_number(found['high'])})"


def _number(value: float | None) -> str:
    return "-" if value is None else f"{value:.0f}" if abs(value) >= 100 else f"{value:.3g}"
