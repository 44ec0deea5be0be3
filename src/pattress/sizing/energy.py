"""What the controller itself draws: waiting, and for each relay that is in.

Answers: is its standby within what the law of some places allows a thing on a network; and how
much a year that is. The energy of the loads is their own: the job does not say how long they
run. Left out: the price, which changes.
"""

from pattress.finding import Figure, Finding, Input, Sense, Source, judge_between
from pattress.job.model import Job
from pattress.quantity import show
from pattress.sizing.chosen import Chosen
from pattress.sizing.demand import demands
from pattress.sizing.drive import LOGIC, RAIL
from pattress.sizing.heat import BOARD_ALONE, BOARD_AVERAGE
from pattress.sizing.ranges import not_negative, share
from pattress.stock.credible import End, assumed

HOURS_A_YEAR = 8766.0
NETWORKED, ALONE = 2.0, 0.5      # W
RULE = Source("Regulation (EU) 2023/826: 2 W networked standby, 0.5 W off-line standby", read=False)


def yearly_energy(*, power: float, hours: float = HOURS_A_YEAR) -> float:
    """Return the energy [J] of a power [W] over some hours; a year of 8766 h unless told."""
    not_negative(power=power, hours=hours)
    return power * hours * 3600.0


def from_mains(*, output_power: float, efficiency: float, standby: float) -> float:
    """Return what a supply takes from the mains [W]: its load over its efficiency, plus what it takes idle."""
    not_negative(output_power=output_power, standby=standby)
    share(efficiency=efficiency)
    return output_power / efficiency + standby


def findings(job: Job, chosen: Chosen) -> tuple[Finding, ...]:
    """Return the standby of the controller and its yearly energy."""
    supply, board = chosen.supply.part, chosen.board
    current = BOARD_AVERAGE if job.network.wifi else BOARD_ALONE
    taken, standby = supply.taken("efficiency", End.LEAST), supply.taken("standby_power", End.MOST)
    efficiency = taken.value
    drawn = current * (RAIL if board.regulator == "linear" else LOGIC)
    waiting = from_mains(output_power=drawn, efficiency=efficiency, standby=standby.value)
    at_best = from_mains(output_power=drawn, efficiency=supply.taken("efficiency", End.LEAST, best=True).value,
                         standby=supply.taken("standby_power", End.MOST, best=True).value)
    coils = [chosen.relays[key].part for key in demands(job)]
    each = sum(r.value("coil_voltage") ** 2 / r.value("coil_resistance") for r in coils) / len(coils) / efficiency if coils else 0.0
    limit = NETWORKED if job.network.wifi else ALONE
    year = yearly_energy(power=waiting) / 3.6e6
    return (Finding(
        id="energy.controller", question="How much does the controller draw while nothing is on?", subject="network",
        verdict=judge_between(waiting, at_best, limit, Sense.AT_MOST), value=Figure(waiting, "W"), limit=Figure(limit, "W"), sense=Sense.AT_MOST,
        nominal=Figure(waiting, "W"), corner="radio linked" if job.network.wifi else "radio off", formula="P / efficiency + idle",
        inputs=(Input("board", Figure(current, "A"), "at 3.3 V, typical"), taken.input, standby.input),
        sources=(RULE,), assumptions=assumed(taken, standby), change=("radio sleep between beacons, or a supply with less idle loss",),
        detail=f"{show(year, 'kWh')} a year; each relay that is in adds {show(each, 'W')} at the mains.",
        covers_not="the loads: how long they run is not in the job", safety=False,
    ),)
