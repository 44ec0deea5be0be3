"""How warm it gets in the box: every watt that is lost, and what the walls give off.

Answers: does the inside stay within what the other questions reckon with, and within what the
parts bear. Free convection and radiation in one figure for each wall material; the back against
the wall gives off nothing. Left out: sunshine, a box buried in insulation, hot spots.
"""

from pattress.finding import COMMON_PRACTICE, Assumption, Figure, Finding, Input, Sense, Source, Verdict, judge_between
from pattress.job.model import UNKNOWN, Enclosure, Job
from pattress.quantity import show
from pattress.sizing.chosen import Chosen
from pattress.sizing.demand import demands
from pattress.sizing.drive import BOX_RISE, LOGIC, RAIL, coil_current_most, driver_loss, drop, rail_high
from pattress.sizing.ranges import not_negative, positive, share
from pattress.sizing.tracks import COPPER, track_resistance, width_needed
from pattress.stock.credible import End, Known, assumed

WALLS = {"plastic": 3.5, "painted steel": 5.5, "stainless steel": 3.7, "aluminium": 12.0}      # W/m2 K
WALL_SOURCE = Source("industrialmonitordirect.com, enclosure cooling", "k of box walls")
CONTACT = 10e-3                  # ohm of a contact and its terminals under load, worn (from memory)
TRACK_LENGTH = 0.10              # m from terminal to relay and back
BOARD_AVERAGE, BOARD_ALONE = 0.12, 0.05     # A of a board with its radio linked but not sending, and with it off (from memory)
LARGEST = Enclosure.model_construct(width=0.60, height=0.60, depth=0.25, material="aluminium")     # that one screws to a wall (common practice, no source)
SMALLEST = Enclosure.model_construct(width=0.12, height=0.08, depth=0.05, material="plastic")


def free_area(*, width: float, height: float, depth: float) -> float:
    """Return the area of a box [m2] that gives off heat: all faces but the back."""
    positive(width=width, height=height, depth=depth)
    return width * height + 2.0 * depth * (width + height)


def rise(*, power: float, area: float, coefficient: float) -> float:
    """Return how much warmer the inside gets [K]: P / (k A)."""
    not_negative(power=power)
    positive(area=area, coefficient=coefficient)
    return power / (coefficient * area)


def area_needed(*, power: float, rise: float, coefficient: float) -> float:
    """Return the area [m2] that gives off `power` [W] at a rise [K]."""
    not_negative(power=power)
    positive(rise=rise, coefficient=coefficient)
    return power / (coefficient * rise)


def regulator_loss(*, input_voltage: float, output_voltage: float, current: float) -> float:
    """Return the heat of a linear regulator [W]: (Vin - Vout) I."""
    not_negative(input_voltage=input_voltage, output_voltage=output_voltage, current=current)
    return (input_voltage - output_voltage) * current


def supply_loss(*, output_power: float, efficiency: float) -> float:
    """Return the heat of a supply module [W]: P (1/eff - 1)."""
    not_negative(output_power=output_power)
    share(efficiency=efficiency)
    return output_power * (1.0 / efficiency - 1.0)


def losses(job: Job, chosen: Chosen, *, best: bool = False) -> dict[str, float]:
    """Return every loss in the box at its most [W]: all relays in, all loads on; with `best` where what is unknown is at its best."""
    high = rail_high(chosen.supply.part, best=best)
    coils = contacts = tracks = 0.0
    for key, demand in demands(job).items():
        current = coil_current_most(chosen.relays[key].part, high, best=best)
        together, flows = chosen.closed_at_once(key), demand.best if best else demand.worst
        coils += together * (high - drop(chosen.driver.part, current, best=best)) * current
        contacts += CONTACT * flows**2
        if flows > 0.0:
            tracks += flows**2 * track_resistance(
                length=TRACK_LENGTH, width=max(width_needed(flows), 1e-3), thickness=COPPER, temperature=60.0)
    average = chosen.board.taken("radio_average_current", End.MOST, best=best).value
    logic = (average if job.network.wifi else BOARD_ALONE) * (RAIL if chosen.board.regulator == "linear" else LOGIC)
    module = supply_loss(output_power=coils + logic, efficiency=chosen.supply.part.taken("efficiency", End.LEAST, best=best).value)
    return {"relay coils": coils, "contacts": contacts, "tracks": tracks, "board": logic, "supply": module}


def findings(job: Job, chosen: Chosen) -> tuple[Finding, ...]:
    """Return whether the box stays cool enough with everything on."""
    parts, at_best = losses(job, chosen), losses(job, chosen, best=True)
    power = sum(parts.values())
    box = SMALLEST if job.site.enclosure == UNKNOWN else job.site.enclosure
    best_box = LARGEST if job.site.enclosure == UNKNOWN else job.site.enclosure
    warmer, at_best_warmer = _rise_in(box, power), _rise_in(best_box, sum(at_best.values()))
    limits = _limits(chosen)
    weakest = min(limits, key=lambda known: known.value)
    limit = max(0.1, min(BOX_RISE, weakest.value - job.site.ambient))
    best_limit = max(0.1, min(BOX_RISE, min(known.value for known in _limits(chosen, best=True)) - job.site.ambient))
    area, coefficient = _area_of(box), WALLS[box.material]
    taken = _taken(job, chosen)
    unknown_box = () if job.site.enclosure != UNKNOWN else (Assumption(
        "site.enclosure", "120 x 80 x 50 mm of plastic", "the job does not say", "measure the box"),)
    currents = dict.fromkeys(assumption for demand in demands(job).values() for assumption in demand.assumptions)
    assumptions = (*unknown_box, *assumed(*taken, *limits), *currents)
    verdict = judge_between(warmer, at_best_warmer, limit, Sense.AT_MOST, best_limit=best_limit)
    factor = (area_needed(power=power, rise=limit, coefficient=coefficient) / area) ** 0.5
    return (Finding(
        id="heat.controller", question="Does the box stay cool enough with everything on?", subject="site.enclosure",
        verdict=verdict, value=Figure(warmer, "K"), limit=Figure(limit, "K"), sense=Sense.AT_MOST, nominal=Figure(warmer, "K"),
        corner=f"every load on, every relay in, {show(job.site.ambient, 'degC')} outside", formula="rise = sum of losses / (k A)",
        inputs=(*(Input(name, Figure(watts, "W"), "at its most") for name, watts in parts.items()),
                Input("free area", Figure(area, "m2"), "site.enclosure, back excluded"),
                Input("walls", f"{coefficient:g} W/m² K, {box.material}", "site.enclosure.material", WALL_SOURCE),
                Input("ambient", Figure(job.site.ambient, "degC"), "site.ambient"), *(known.input for known in taken),
                Input("weakest part", weakest.input.figure, weakest.input.origin, weakest.input.source),
                Input("reckoned with", Figure(BOX_RISE, "K"), "by drive and supply")),
        sources=(WALL_SOURCE, COMMON_PRACTICE), assumptions=assumptions,
        change=() if verdict is Verdict.HOLDS else (
            *(("settle the figures above",) if verdict is Verdict.UNKNOWN else ()),
            *((f"a box {show(factor, '')} times as large each way",) if factor > 1.0 else ()),
            "painted steel or aluminium walls", "latching relays, or fewer loads on together"),
        detail=f"{show(power, 'W')} in all; the inside reaches {show(job.site.ambient + warmer, 'degC')}.",
        covers_not="a box in an insulated wall, sunshine, and hot spots",
    ),)


def _area_of(box: Enclosure) -> float:
    return free_area(width=box.width, height=box.height, depth=box.depth)


def _rise_in(box: Enclosure, power: float) -> float:
    return rise(power=power, area=_area_of(box), coefficient=WALLS[box.material])


def _taken(job: Job, chosen: Chosen) -> tuple[Known, ...]:
    """Return the figures that the losses hang on."""
    radio = (chosen.board.taken("radio_average_current", End.MOST),) if job.network.wifi else ()
    supply, relays = chosen.supply.part, {choice.part.designation: choice.part for choice in chosen.relays.values()}
    coils = (relay.taken("coil_tolerance", End.MOST) for relay in relays.values())
    return (supply.taken("efficiency", End.LEAST), *radio, supply.taken("output_tolerance", End.MOST), *coils, driver_loss(chosen.driver.part))


def _limits(chosen: Chosen, *, best: bool = False) -> tuple[Known, ...]:
    """Return what each chosen part and the board bear [degC]."""
    parts = {choice.part.designation: choice.part for choice in (*chosen.relays.values(), chosen.supply)}
    return (*(part.taken("ambient_most", End.LEAST, best=best) for part in parts.values()), chosen.board.taken("ambient_most", End.LEAST, best=best))
