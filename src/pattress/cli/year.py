"""A year of many households, printed: wear against endurance, response, nuisances, each with its confidence."""

from collections.abc import Mapping
from math import isinf
from os import cpu_count
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pattress.cli import text
from pattress.cli.terminal import A_CHECK_FAILS, ALL_HOLDS, print_json, progress_line
from pattress.design import Design, design_of

if TYPE_CHECKING:
    from pattress.rehearsal.wear import Mean

SHARES = ((0.5, "half"), (0.95, "95 %"), (0.999, "99.9 %"))
NUISANCES = {
    "overtaken": "moved again before it had settled, or by two at once", "too short": "let go before it was believed",
    "not heard": "presses of a remote lost on the way", "no network": "asked while the network was gone",
    "no power": "operated while the power was gone", "waits": "noted, and made to wait by a named wait",
    "refused": "codes of other remotes, heard and left alone",
}


def live(job: Path, parts: Path | None, *, seed: int, households: int, workers: int | None, as_json: bool) -> int:
    """Let households live for a year under a job's plan and print what that says."""
    from pattress.rehearsal.year import live_years

    design, progress = design_of(job, parts), progress_line(as_json)
    years = live_years(design.plan, _usual(design), seed=seed, households=households, workers=min(workers or cpu_count() or 1, households),
                       progress=lambda done, of: progress(f"households {done}/{of}"))
    if not years:
        click.echo("no household was done", err=True)
        return A_CHECK_FAILS
    facts = _facts(design, years) | {"seed": seed, "asked": households}
    if as_json:
        print_json(facts)
    else:
        click.echo(_told(facts))
    return A_CHECK_FAILS if facts["problems"] else ALL_HOLDS


def _usual(design: Design) -> list[float]:
    """Return how often a day each channel is operated: as the job says, or as sizing takes an unknown."""
    from pattress.sizing.contacts import WORST_OPERATIONS

    things = {**design.job.load, **design.job.fan}
    rates = [things[row["key"]].operations_per_day for row in design.plan["channels"]]
    return [WORST_OPERATIONS if rate == "unknown" else rate for rate in rates]


def _facts(design: Design, years: tuple) -> dict[str, Any]:
    from pattress.rehearsal import wear
    from pattress.sizing.flash import ERASES, SECTORS

    endurance = {finding.id.partition(".")[2]: next((put_in.figure.value for put_in in finding.inputs if put_in.name.startswith("endurance")
                                                     or put_in.name.startswith("lamp endurance")), None)
                 for finding in design.findings if finding.id.startswith("endurance.")}
    relays, relay = [], 0
    for row in design.plan["channels"]:
        end = max(row["masks"]).bit_length()
        for number in range(relay, end):
            closings = wear.per_year(years, lambda year, number=number: year.closings[number])
            rated = endurance.get(row["key"])
            relays.append({"relay": number, "channel": row["name"], "closings": _plain(closings), "endurance": rated,
                           "years": _plain(wear.years_until(rated, closings)) if isinstance(rated, (int, float)) else None})
        relay = end
    saves = wear.per_year(years, lambda year: year.saves)

    def hours(channel: int) -> "Mean":
        return wear.per_year(years, lambda year: year.time_on[channel] / 3.6e6)

    return {
        "households": len(years), "events": sum(year.events for year in years), "relays": relays,
        "hours_on": {row["name"]: _plain(hours(number)) for number, row in enumerate(design.plan["channels"])},
        "flash": {"writes": _plain(saves), "years": _plain(wear.years_until(ERASES * SECTORS, saves))},
        "responses": {words: _plain(wear.response(years, share)) for share, words in SHARES},
        "restores": _plain(wear.per_year(years, lambda year: year.restores)),
        "acted_twice": _plain(wear.per_year(years, lambda year: year.acted_twice)),
        "outcomes": {name: _plain(found) for name, found in wear.outcomes(years).items()},
        "problems": [f"household {year.household}: {words}" for year in years for words in year.problems],
        "problem_count": sum(year.problem_count for year in years),
    }


def _plain(found: "Mean | None") -> dict[str, float | None] | None:
    if found is None:
        return None
    return {name: None if value is None or isinf(value) else value
            for name, value in (("mean", found.value), ("low", found.low), ("high", found.high))}


def _told(facts: Mapping[str, Any]) -> str:
    rows = [(f"relay {row['relay']}", row["channel"], _figure(row["closings"]), _number(row["endurance"]), _figure(row["years"]))
            for row in facts["relays"]]
    lines = [text.table(("relay", "channel", "closings a year", "endurance of the sheet", "years until then"), rows), ""]
    lines.append(f"snapshots written: {_figure(facts['flash']['writes'])} a year; flash: {_figure(facts['flash']['years'])} years")
    lines += [f"wall switch to relay, {words} within: {_figure(found)} ms" for words, found in facts["responses"].items() if found]
    lines.append(f"power came back: {_figure(facts['restores'])} times a year")
    lines.append(f"a button held once acted twice: {_figure(facts['acted_twice'])} times a year")
    lines += [f"{name}: {_figure(facts['outcomes'][name])} a year ({words})" for name, words in NUISANCES.items() if name in facts["outcomes"]]
    done, asked = facts["households"], facts["asked"]
    lines += ["", f"{done} household{'s' if done > 1 else ''}{f' of {asked} asked for' if done < asked else ''}, {facts['events']} events, "
                  f"{facts['problem_count']} problems, seed {facts['seed']}"]
    lines += facts["problems"]
    lines += ["", "In brackets: 95 % confidence of the mean over households, Student's t; none for one household.",
              "Habits are invented around the job's operations_per_day; an operation is one throw, so on and off are two.",
              "Outages: EIA, Electric Power Annual, table 11.1, 2023, all events: 1.348 a year of 272 min on average; short dips invented.",
              "Years: endurance of the sheet over closings; it does not say how many relays fail by then."]
    return "\n".join(lines)


def _figure(found: Mapping[str, float | None] | None) -> str:
    if found is None or found["mean"] is None:
        return "-"
    if found["low"] is None or found["high"] is None:
        return _number(found["mean"])
    return f"{_number(found['mean'])} ({_number(found['low'])} to {_number(found['high'])})"


def _number(value: float | None) -> str:
    return "-" if value is None else f"{value:.0f}" if abs(value) >= 100 else f"{value:.3g}"
