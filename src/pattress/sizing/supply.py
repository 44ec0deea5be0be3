"""The 5 V budget: every relay in, the radio sending, and still something left.

Answers: does the supply module give what everything takes together; and does the 3.3 V
regulator of the board still regulate at the lowest rail. Left out: the half second of charging
at switch-on, and the dip while the module reacts (see the bulk capacitor).
"""

from dataclasses import dataclass

from pattress.finding import COMMON_PRACTICE, Figure, Finding, Input, Sense, Source, Verdict, judge_between
from pattress.job.model import Job
from pattress.quantity import show
from pattress.sizing.chosen import Chosen
from pattress.sizing.demand import demands
from pattress.sizing.drive import BOX_RISE, LOGIC, RAIL, coil_current_most, pin_current, rail_high, rail_low
from pattress.sizing.ranges import not_negative, positive, share
from pattress.stock.boards import Board
from pattress.stock.credible import End, Known, assumed
from pattress.stock.parts import Part

SPARE = 0.30                     # of the sum, kept in hand (common practice)
RADIO_OFF = 0.1                  # A of a board whose radio stays off (from memory)
STEP_DOWN_EFFICIENCY = 0.85      # of a switching 3.3 V regulator (from memory)
STATUS_LAMP = 5e-3               # A
RECEIVER = 1.5e-3                # A of an infra-red receiver, several times its typical 0.35 mA (module data sheet 81733, from memory)
SENSOR = 2.5e-3                  # A of a temperature and humidity sensor, measuring
SENSING = LOGIC / 1e3            # A through each closed contact, at the strongest pull-up used
DROPOUT, SERIES_DIODE = 1.3, 0.3     # V of the usual linear regulator at its most, and of the diode before it
HALF = 0.5                       # of its current a module still gives at its highest ambient
MEMORY = Source("trade knowledge", read=False)
DROPOUT_SOURCE = Source("AMS1117 datasheet, electrical characteristics", "drop-out at 0.8 A")


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the budget: what, and how much at 5 V [A]."""

    name: str
    current: float
    origin: str


def at_rail(*, current: float, regulator: str, rail: float = RAIL, logic: float = LOGIC,
            efficiency: float = STEP_DOWN_EFFICIENCY) -> float:
    """Return what a 3.3 V current draws from the rail [A]: the same through a linear regulator, less through a switching one."""
    not_negative(current=current)
    positive(rail=rail, logic=logic)
    share(efficiency=efficiency)
    return current if regulator == "linear" else current * logic / (rail * efficiency)


def needed_rating(*, currents: list[float], spare: float = SPARE) -> float:
    """Return the supply rating [A] for all currents together with something in hand: (1 + spare) x sum."""
    not_negative(spare=spare, **{f"current {i}": current for i, current in enumerate(currents)})
    return (1.0 + spare) * sum(currents)


def derated(*, rating: float, temperature: float, full_to: float, most: float) -> float:
    """Return what a module gives [A] at a temperature [degC]: all up to `full_to`, falling straight to half at `most`, then none."""
    not_negative(rating=rating)
    if temperature <= full_to:
        return rating
    if temperature > most:
        return 0.0
    return rating * (1.0 - HALF * (temperature - full_to) / (most - full_to))


def regulated_least(*, rail: float, series_drop: float, dropout: float, wanted: float = LOGIC) -> float:
    """Return the voltage after a linear regulator [V] at a low rail: what is left, at most what is wanted."""
    not_negative(rail=rail, series_drop=series_drop, dropout=dropout)
    return min(wanted, rail - series_drop - dropout)


def budget(job: Job, chosen: Chosen, rail: float, *, best: bool = False) -> tuple[Line, ...]:
    """Return the lines of the 5 V budget at its worst: every relay that can be in, the radio at its peak."""
    board = chosen.board
    coils = [coil_current_most(chosen.relays[key].part, rail, best=best) for key in demands(job)
             for _ in range(chosen.closed_at_once(key))]
    pins = sum(pin_current(chosen.driver.part, board, current, best=best) for current in coils)
    logic = pins + SENSING * (len(list(job.contacts()))) + RECEIVER * bool(job.remote)
    logic += SENSOR * len(job.sensor) + STATUS_LAMP * job.board.status_lamp
    radio = board_peak(board, best=best) if job.network.wifi else RADIO_OFF
    return (
        Line("relay coils", sum(coils), f"{len(coils)} in at once, rail high, coils at their least resistance"),
        Line("board with its radio", at_rail(current=radio, regulator=board.regulator), f"board {board.type}, {board.regulator}"),
        Line("pins, contacts, receiver, sensors, lamp", at_rail(current=logic, regulator=board.regulator), "counted from the job"),
    )


def board_peak(board: Board, *, best: bool = False) -> float:
    """Return the current a board must be given at 3.3 V [A]: its peak while its radio sends, and no less than its maker asks for."""
    least, peak = board.figure("supply_current_least"), board.taken("radio_peak_current", End.MOST, best=best).value
    return peak if least is None else max(least, peak)


def supply_verdict(supply: Part, job: Job, chosen: Chosen) -> Verdict:
    """Return whether a module gives the budget, with its spare, in the warmth of the box."""
    insulated = Verdict.HOLDS if supply.word("insulation") == "reinforced" else Verdict.UNKNOWN
    return max(_suffices(supply, job, chosen), insulated, key=lambda verdict: verdict.severity)


def _suffices(supply: Part, job: Job, chosen: Chosen) -> Verdict:
    most, least = (sum(line.current for line in budget(job, chosen, rail_high(supply, best=best), best=best)) for best in (False, True))
    given, at_best = (gives(supply, job.site.ambient, best=best) for best in (False, True))
    return judge_between(most, least, given, Sense.AT_MOST, best_limit=at_best, tight=SPARE / (1.0 + SPARE))


def gives(supply: Part, ambient: float, *, best: bool = False) -> float:
    """Return what a module gives [A] inside the box."""
    full, most = _derating(supply, best=best)
    return derated(rating=supply.value("output_current"), temperature=ambient + BOX_RISE, full_to=min(full.value, most.value), most=most.value)


def _derating(supply: Part, *, best: bool = False) -> tuple[Known, Known]:
    """Return up to which temperature a module gives all, and where it gives half [degC]."""
    return supply.taken("ambient_full", End.LEAST, best=best), supply.taken("ambient_most", End.LEAST, best=best)


def findings(job: Job, chosen: Chosen) -> tuple[Finding, ...]:
    """Return whether the 5 V supply suffices, whether it separates, and whether the 3.3 V regulator holds."""
    found = [_budget(job, chosen), _separation(chosen)]
    if chosen.board.regulator == "linear":
        found.append(_regulator(chosen))
    return tuple(found)


def _budget(job: Job, chosen: Chosen) -> Finding:
    supply, board = chosen.supply.part, chosen.board
    lines = budget(job, chosen, rail_high(supply))
    total = sum(line.current for line in lines)
    limit = gives(supply, job.site.ambient)
    verdict = _suffices(supply, job, chosen)
    nominal = total - lines[0].current + sum(
        chosen.relays[key].part.value("coil_voltage") / chosen.relays[key].part.value("coil_resistance")
        * chosen.closed_at_once(key) for key in demands(job))
    peak, asked = board.taken("radio_peak_current", End.MOST), board.figures["supply_current_least"]
    radio = (peak,) if job.network.wifi else ()
    coils = {choice.part.designation: choice.part.taken("coil_tolerance", End.MOST) for choice in chosen.relays.values()}
    assumptions = assumed(*radio, *_derating(supply), supply.taken("output_tolerance", End.MOST), *coils.values())
    return Finding(
        id="supply.controller", question="Does the 5 V supply give enough with every relay in and the radio sending?",
        subject="board", verdict=verdict, value=Figure(total, "A"), limit=Figure(limit, "A"), sense=Sense.AT_MOST,
        nominal=Figure(nominal, "A"), corner="every relay in, rail high, radio peak", formula="sum of the budget lines",
        inputs=(*(Input(line.name, Figure(line.current, "A"), line.origin) for line in lines),
                Input("supply", supply.designation, chosen.supply.reason), supply.input("output_current"),
                *(known.input for known in _derating(supply)), Input("ambient", Figure(job.site.ambient, "degC"), "site.ambient"),
                *(known.input for known in radio),
                *((Input("its maker asks for", asked.figure, f"board {board.type}, {asked.at}", asked.source),) if asked.value is not None else ())),
        sources=(COMMON_PRACTICE, MEMORY), assumptions=assumptions,
        change=() if verdict is Verdict.HOLDS else (
            f"a supply of at least {show(needed_rating(currents=[line.current for line in lines]), 'A')}",),
        detail=f"Tight means less than {show(SPARE, '%')} of the sum in hand.",
        covers_not="the dip before the module reacts; a bulk capacitor covers that",
    )


def _separation(chosen: Chosen) -> Finding:
    supply = chosen.supply.part
    word = supply.word("insulation")
    verdict = {"reinforced": Verdict.HOLDS, "unknown": Verdict.UNKNOWN}.get(word, Verdict.FAILS)
    return Finding(
        id="supply_separation.controller", question="Does the supply keep mains from the low-voltage side?",
        subject="board", verdict=verdict, value=None, limit=None, sense=Sense.AT_LEAST,
        formula="reinforced or double insulation between mains and what a person touches",
        inputs=(Input("supply", supply.designation, chosen.supply.reason), supply.input("insulation")),
        sources=(Source("IEV entry SELV (IEC 61558-1:2005 3.7.16)"),),
        change=() if verdict is Verdict.HOLDS else ("a module whose sheet says reinforced insulation, certified to IEC 61558 or IEC 62368-1",),
        detail="The voltage alone does not make the low-voltage side touchable: the separation does.",
        covers_not="the board under the module; see board_distance.mains_to_touchable",
    )


def _regulator(chosen: Chosen) -> Finding:
    board, supply = chosen.board, chosen.supply.part
    low = rail_low(supply)
    left, at_best = (regulated_least(rail=rail_low(supply, best=best), series_drop=SERIES_DIODE, dropout=DROPOUT) for best in (False, True))
    needed, tolerance = board.taken("supply_least", End.MOST), supply.taken("output_tolerance", End.MOST)
    least, at_best_least = needed.value, board.taken("supply_least", End.MOST, best=True).value
    return Finding(
        id="supply_regulator.controller", question="Does the 3.3 V regulator still hold with the 5 V rail low?",
        subject="board.type", verdict=judge_between(left, at_best, least, Sense.AT_LEAST, best_limit=at_best_least),
        value=Figure(left, "V"), limit=Figure(least, "V"), sense=Sense.AT_LEAST, nominal=Figure(min(LOGIC, RAIL - SERIES_DIODE - DROPOUT), "V"),
        corner=f"rail {show(low, 'V')}, the most a 1117-class regulator and the board's diode drop",
        formula="rail - diode - drop-out",
        inputs=(tolerance.input, needed.input, Input("drop-out", Figure(DROPOUT, "V"), "1117 class", DROPOUT_SOURCE),
                Input("diode", Figure(SERIES_DIODE, "V"), "between socket and rail", MEMORY)),
        sources=(DROPOUT_SOURCE,), assumptions=assumed(needed, tolerance),
        change=("a board with a low-drop-out regulator, or a supply with a closer tolerance",),
        covers_not="regulators other than the usual one of such boards",
    )
