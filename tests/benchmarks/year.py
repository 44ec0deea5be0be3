"""How long a household-year takes on one core, and how much of that is the control program itself."""

from time import process_time

from pattress.controller import core
from pattress.design import design_of
from pattress.rehearsal.year import live_year

JOB = "examples/sewing-room/job.toml"
DAYS = 73               # a fifth of a year
AIM = 5.0               # for a whole year [s]


def main():
    """Print processor time, events and the share of the core."""
    design = design_of(JOB)
    things = {**design.job.load, **design.job.fan}
    usual = [things[row["key"]].operations_per_day for row in design.plan["channels"]]
    spent, step = [0.0], core.step

    def timed(plan, state, event):
        began = process_time()
        todo = step(plan, state, event)
        spent[0] += process_time() - began
        return todo

    began = process_time()
    year = live_year(design.plan, usual, seed=1, household=0, days=DAYS)
    whole = (process_time() - began) * 365 / DAYS
    core.step = timed
    try:
        live_year(design.plan, usual, seed=1, household=0, days=DAYS)
    finally:
        core.step = step
    inside = spent[0] * 365 / DAYS
    print(f"a household-year of {JOB}: {whole:.1f} s of one core (aim {AIM:.0f} s), {year.events * 365 // DAYS} events, "
          f"{whole / year.events / 365 * DAYS * 1e6:.0f} us each; at most {min(1.0, inside / whole):.0%} in the control program")


if __name__ == "__main__":
    main()
