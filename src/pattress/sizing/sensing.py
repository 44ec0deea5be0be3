"""Reading a contact over its cable: pull-up, wetting, coupled mains, bounce; and the alternative at mains potential.

Answers, for each wall switch, regulator and other contact: does the input stay high while mains couples from a
cable alongside; does the contact get enough current to stay clean, and read low when closed.
Coupling is taken as 100 pF/m over the whole length, with no filter: worse than most houses.
Left out: surges and radio pick-up, which the series resistor and a capacitor at the input meet.
"""

from math import hypot, log, pi, sqrt

from pattress.finding import COMMON_PRACTICE, Figure, Finding, Input, Sense, Source, judge
from pattress.job.model import Job
from pattress.quantity import show
from pattress.sizing.chosen import Chosen
from pattress.sizing.drive import LOGIC
from pattress.sizing.mains import Mains, mains_of
from pattress.sizing.ranges import not_negative, positive, share
from pattress.stock.boards import Board
from pattress.stock.credible import End, assumed
from pattress.stock.preferred import value_below

COUPLING = 100e-12               # F/m between cores of a building cable
COUPLING_SOURCE = Source("marcspages.co.uk 3382, cable capacitance", "about 100 pF/m and up, core to core")
USUAL_PULL_UP, LEAST_PULL_UP = 2.2e3, 1.0e3      # ohm, beside the weak pull of the pin
SERIES = 100.0                   # ohm at the input, against surges
WETTING = 1e-3                   # A that keeps a silver contact clean (common practice)
AGEING, WARMTH = 0.5, 0.8        # shares of an optocoupler's transfer ratio kept over life and in warmth (common practice)


def coupled_voltage(*, voltage: float, frequency: float, capacitance: float, resistance: float) -> float:
    """Return the r.m.s. voltage [V] that mains couples onto a wire pulled by `resistance` [ohm]: U x / sqrt(1 + x^2), x = 2 pi f C R."""
    not_negative(voltage=voltage, capacitance=capacitance, resistance=resistance)
    positive(frequency=frequency)
    ratio = 2.0 * pi * frequency * capacitance * resistance
    return voltage * ratio / hypot(1.0, ratio)


def idle_level(*, supply: float, coupled: float) -> float:
    """Return the lowest level [V] of an open input with `coupled` [V r.m.s.] on it."""
    not_negative(supply=supply, coupled=coupled)
    return supply - sqrt(2.0) * coupled


def largest_pull_up(*, supply: float, high_least: float, voltage: float, frequency: float, capacitance: float) -> float:
    """Return the largest pull-up [ohm] that keeps an open input above `high_least` [V]; infinite when nothing couples."""
    positive(supply=supply, high_least=high_least, voltage=voltage, frequency=frequency)
    not_negative(capacitance=capacitance)
    allowed = (supply - high_least) / sqrt(2.0) / voltage
    if allowed <= 0.0:
        raise ValueError(f"high_least must be below supply, found {high_least!r}")
    if capacitance == 0.0 or allowed >= 1.0:
        return float("inf")
    return allowed / sqrt(1.0 - allowed**2) / (2.0 * pi * frequency * capacitance)


def rise_time(*, resistance: float, capacitance: float, supply: float, level: float) -> float:
    """Return how long a pull-up takes [s] to lift a line from 0 V to `level`: R C ln(V / (V - level))."""
    not_negative(resistance=resistance, capacitance=capacitance)
    if not 0.0 < level < supply:
        raise ValueError(f"level must be above 0 and below supply, found {level!r}")
    return resistance * capacitance * log(supply / (supply - level))


def collector_current(*, led_current: float, transfer: float, ageing: float = AGEING, warmth: float = WARMTH) -> float:
    """Return the collector current [A] an optocoupler surely gives after years and in warmth: IF x CTR x allowances."""
    not_negative(led_current=led_current, transfer=transfer)
    share(ageing=ageing, warmth=warmth)
    return led_current * transfer * ageing * warmth


def least_collector_pull_up(*, supply: float, saturation: float, current: float) -> float:
    """Return the least pull-up [ohm] that an optocoupler output can pull low: (V - VCEsat) / IC. Take twice as much or more."""
    positive(supply=supply, current=current)
    not_negative(saturation=saturation)
    return (supply - saturation) / current


def mains_sensing_power(*, voltage: float, resistance: float) -> float:
    """Return the power in the series resistors of a mains-sensing optocoupler [W]: U^2 / R; share it over two, each for half the crest."""
    not_negative(voltage=voltage)
    positive(resistance=resistance)
    return voltage**2 / resistance


def detection_gap(frequency: float) -> float:
    """Return the longest time [s] a half-wave sensing output says nothing although mains is there: a whole cycle."""
    positive(frequency=frequency)
    return 1.0 / frequency


def pull_up_for(board: Board, mains: Mains, length: float) -> float:
    """Return the pull-up [ohm] from E12 for a switch cable of that length [m]: the usual one, or less where mains couples more."""
    most = largest_pull_up(supply=LOGIC, high_least=high_least(board), voltage=mains.high, frequency=mains.frequency,
                           capacitance=COUPLING * length)
    return max(LEAST_PULL_UP, value_below(min(most, USUAL_PULL_UP), 12))


def high_least(board: Board) -> float:
    """Return the lowest level that is surely read as high [V]."""
    return board.taken("input_high_least", End.MOST).value


def findings(job: Job, chosen: Chosen) -> tuple[Finding, ...]:
    """Return, for every wall switch, regulator and other contact, whether its cable can be read."""
    mains, found = mains_of(job), []
    for section, key, thing in job.contacts():
        called = f"{'contact' if section == 'input' else 'switch'} {thing.name}"
        found += [_open(f"{section}_{key}", f"{section}.{key}", called, thing.cable, chosen.board, mains),
                  _closed(f"{section}_{key}", f"{section}.{key}", thing.name, thing.cable, chosen.board, mains)]
    return tuple(found)


def _open(thing: str, subject: str, called: str, length: float, board: Board, mains: Mains) -> Finding:
    pull, needed = pull_up_for(board, mains, length), high_least(board)
    weak, high = board.taken("weak_pull", End.MOST).value, board.taken("input_high_least", End.MOST)
    level = idle_level(supply=LOGIC, coupled=_coupled(mains, length, pull))
    inner = idle_level(supply=LOGIC, coupled=_coupled(mains, length, weak))
    verdict = judge(level, needed, Sense.AT_LEAST, tight=0.05)
    reach = (LOGIC - needed) / sqrt(2.0) / (mains.high * 2.0 * pi * mains.frequency * COUPLING * LEAST_PULL_UP)
    return Finding(
        id=f"sensing.{thing}", question=f"Does the open {called} read as open with mains in the same wall?",
        subject=f"{subject}.cable", verdict=verdict, value=Figure(level, "V"), limit=Figure(needed, "V"), sense=Sense.AT_LEAST,
        nominal=Figure(LOGIC, "V"), corner=f"{mains.at_high}, alongside for all of {show(length, 'm')}, no filter",
        formula="3.3 V - sqrt2 U x / sqrt(1 + x^2), x = 2 pi f C R",
        inputs=(Input("cable", Figure(length, "m"), f"{subject}.cable"),
                Input("capacitance", Figure(COUPLING * length, "F"), "100 pF/m", COUPLING_SOURCE),
                Input("pull-up", Figure(pull, "ohm"), "from E12"),
                high.input, *mains.inputs),
        sources=(COUPLING_SOURCE,), assumptions=assumed(high),
        change=(f"at most {show(reach, 'm')} of cable beside mains, a screened cable, or a capacitor of 100 nF at the input",),
        detail=f"Pull-up {show(pull, 'ohm')} to 3.3 V and {show(SERIES, 'ohm')} in series. "
               + (f"The pin's own pull of {show(weak, 'ohm')} alone would read {show(max(inner, 0.0), 'V')}: too weak." if inner < needed
                  else f"The pin's own pull of {show(weak, 'ohm')} alone would read {show(inner, 'V')}."),
        covers_not="a cable shared with mains cores, which insulation rules may forbid anyway",
    )


def _coupled(mains: Mains, length: float, resistance: float) -> float:
    return coupled_voltage(voltage=mains.high, frequency=mains.frequency, capacitance=COUPLING * length, resistance=resistance)


def _closed(thing: str, subject: str, name: str, length: float, board: Board, mains: Mains) -> Finding:
    pull = pull_up_for(board, mains, length)
    current = LOGIC / (pull + SERIES)
    low, most = LOGIC * SERIES / (pull + SERIES), board.taken("input_low_most", End.LEAST)
    allowed = most.value
    words = f"It then reads {show(low, 'V')}, low is below {show(allowed, 'V')}."
    return Finding(
        id=f"wetting.{thing}", question=f"Does the contact of {name} get enough current to stay clean?", subject=subject,
        verdict=max(judge(current, WETTING, Sense.AT_LEAST), judge(low, allowed, Sense.AT_MOST), key=lambda v: v.severity),
        value=Figure(current, "A"), limit=Figure(WETTING, "A"), sense=Sense.AT_LEAST, nominal=Figure(current, "A"),
        corner="contact closed", formula="3.3 V / (pull-up + series)",
        inputs=(Input("pull-up", Figure(pull, "ohm"), "from E12"), Input("series", Figure(SERIES, "ohm"), "against surges"),
                most.input),
        sources=(COMMON_PRACTICE,), assumptions=assumed(most), change=("a smaller pull-up, or a switch with gold-plated contacts",), detail=words,
        covers_not="a contact that has been idle for years", safety=False,
    )
