"""Driving the coils: does every relay pull in when it must, and stay out when it must.

Answers: the voltage left for a hot coil at the lowest rail; what each pin and all pins together
give; the pull-down that holds every relay off while the board starts, against the weak pulls
its pins then have; and whether a relay with a plain diode has let go before the dead time of a
fan is over. Left out: the ringing of long coil wires, and pins that send pulses (the pin
assignment keeps relays off those).
"""

from collections.abc import Iterable
from functools import partial

from pattress.finding import COMMON_PRACTICE, Assumption, Figure, Finding, Input, Sense, Source, Verdict, judge, judge_between
from pattress.job.model import Job
from pattress.quantity import show
from pattress.sizing.chosen import Chosen
from pattress.sizing.demand import demands
from pattress.sizing.ranges import not_negative, positive
from pattress.stock.boards import Board
from pattress.stock.credible import End, Known, assumed
from pattress.stock.parts import Part
from pattress.stock.preferred import value_below

USUAL_TOLERANCE = 0.04           # of the rail while no supply is chosen yet; `findings` takes that of the chosen one
COPPER_RISE = 0.00393            # per kelvin: IEC 60028, standard annealed copper
COPPER_SOURCE = Source("IEC 60287 table 1, in a public source file", "alpha20 of copper")
RAIL = 5.0                       # V
WIRING_SHARE = 0.01              # of the rail, lost on the way to the coils
LOGIC = 3.3                      # V
BOX_RISE = 20.0                  # K inside the enclosure over the site at most; `heat` checks it
COIL_RISE = 40.0                 # K/W of a coil in still air (from memory)
FORCED_GAIN = 20.0               # collector over base current for sure saturation
SATURATION_SOURCE = Source("rftools.io transistor switch", "forced beta 10 to 20, citing Horowitz & Hill 3rd ed. ch. 2")
PULL_SHARE = 0.6                 # least over typical weak pull where only the typical is given (common practice)
USUAL_PULL_DOWN = 10e3           # ohm where no pin has a weak pull-up
GATE_SERIES = 100.0              # ohm before the input of a driver that draws no current (common practice, no source)
SENSIBLE_PIN_SHARE = 0.5         # of an absolute maximum, where no design value is given (common practice, no source)
DIODE_SLOWS = 5.0                # release with a plain diode over release without, the most (from memory)
MEMORY = Source("trade knowledge", read=False)


def hot_operate_voltage(*, operate_voltage: float, temperature: float) -> float:
    """Return the voltage [V] at which a coil surely pulls in at `temperature` [degC], given at 20 degC.

    The current must be the same, and copper resists 0.393 % more per kelvin.
    """
    positive(operate_voltage=operate_voltage)
    return operate_voltage * (1.0 + COPPER_RISE * (temperature - 20.0))


def base_current(*, collector_current: float, gain: float, overdrive: float = 1.0) -> float:
    """Return the base current [A]: overdrive x Ic / gain; with a forced gain of 10 to 20 and no overdrive for saturation."""
    not_negative(collector_current=collector_current)
    positive(gain=gain, overdrive=overdrive)
    return overdrive * collector_current / gain


def largest_base_resistor(*, output_high: float, base_voltage: float, current: float) -> float:
    """Return the largest base resistor [ohm]: (VOH - VBE) / IB, at the lowest high level and the highest VBE."""
    positive(output_high=output_high, base_voltage=base_voltage, current=current)
    if output_high <= base_voltage:
        raise ValueError(f"output_high must be above base_voltage, found {output_high!r}")
    return (output_high - base_voltage) / current


def pulled_level(*, supply: float, pull_up: float, pull_down: float) -> float:
    """Return the voltage [V] where a pull-up from `supply` meets a pull-down."""
    positive(supply=supply, pull_up=pull_up, pull_down=pull_down)
    return supply * pull_down / (pull_up + pull_down)


def largest_pull_down(*, supply: float, pull_up: float, allowed: float) -> float:
    """Return the largest pull-down [ohm] that keeps a pulled-up pin at or below `allowed` [V]."""
    positive(supply=supply, pull_up=pull_up, allowed=allowed)
    if allowed >= supply:
        raise ValueError(f"allowed must be below supply, found {allowed!r}")
    return allowed * pull_up / (supply - allowed)


def coil_current_most(relay: Part, rail: float, *, best: bool = False) -> float:
    """Return the most a coil draws [A] from `rail` [V]: cold, and at the lower end of its resistance."""
    return rail / (relay.value("coil_resistance") * (1.0 - relay.taken("coil_tolerance", End.MOST, best=best).value))


def rail_low(supply: Part, *, best: bool = False) -> float:
    """Return the lowest 5 V rail at the coils [V]."""
    return RAIL * (1.0 - supply.taken("output_tolerance", End.MOST, best=best).value - WIRING_SHARE)


def rail_high(supply: Part, *, best: bool = False) -> float:
    """Return the highest 5 V rail [V]."""
    return RAIL * (1.0 + supply.taken("output_tolerance", End.MOST, best=best).value)


def driver_loss(driver: Part, *, best: bool = False) -> Known:
    """Return what a driver loses by: its resistance where the sheet gives one, else its saturation voltage."""
    name = "on_resistance" if driver.known("on_resistance") is not None else "saturation_voltage"
    return driver.taken(name, End.MOST, best=best)


def drop(driver: Part, current: float, *, best: bool = False) -> float:
    """Return the voltage lost in a driver [V] at a coil current [A]."""
    lost = driver_loss(driver, best=best).value
    return lost if driver.known("on_resistance") is None else lost * current


def weak_pull_up(board: Board, *, best: bool = False) -> float | None:
    """Return the strongest weak pull-up [ohm] a relay may meet while the board starts; None where no pin has one.

    Where the board's file gives a typical pull only, the strongest is 0.6 of it (common practice, no source).
    """
    if not any(pin.output and not pin.reserved and pin.reset == "weak high" for pin in board.pins):
        return None
    least = board.figure("weak_pull_least")
    if least is not None:
        return least
    typical = board.taken("weak_pull", End.LEAST, best=best).value
    return typical if best else PULL_SHARE * typical


def pull_down(driver: Part, board: Board) -> float:
    """Return the pull-down from E12 [ohm] that holds a driver off while the board starts."""
    pull_up = weak_pull_up(board)
    if pull_up is None:
        return USUAL_PULL_DOWN
    limit = largest_pull_down(supply=LOGIC, pull_up=pull_up, allowed=driver.value("off_voltage"))
    return min(value_below(limit, 12), USUAL_PULL_DOWN)


def base_resistor(driver: Part, board: Board, current: float) -> float:
    """Return the base resistor from E24 [ohm] for an NPN driver: saturated at the lowest high level of the pin."""
    voltage = driver.taken("base_voltage", End.MOST).value
    needed = base_current(collector_current=current, gain=FORCED_GAIN) + voltage / pull_down(driver, board)
    return value_below(largest_base_resistor(output_high=output_high(board).value, base_voltage=voltage, current=needed))


def pin_current(driver: Part, board: Board, current: float, *, best: bool = False) -> float:
    """Return the most a pin gives [A] to drive a coil of `current` [A] through this driver."""
    if driver.word("arrangement") == "NPN":
        return (LOGIC - 0.6) / base_resistor(driver, board, current)
    return LOGIC / pull_down(driver, board) + driver.taken("input_current", End.MOST, best=best).value


def _driven_by(driver: Part) -> tuple[Known, ...]:
    """Return the figures of a driver that a pin meets."""
    if driver.word("arrangement") == "NPN":
        return (driver.taken("base_voltage", End.MOST),)
    needed = (driver.taken("gate_voltage", End.MOST),) if driver.word("arrangement") == "N-MOSFET" else ()
    return (*needed, driver.taken("input_current", End.MOST))


def output_high(board: Board, *, best: bool = False) -> Known:
    """Return the least a pin of a board gives as high [V]."""
    return board.taken("output_high_least", End.LEAST, best=best)


def _pin_limit(board: Board, *, best: bool = False) -> Known:
    return board.taken("pin_current", End.LEAST, best=best)


def _total_limit(board: Board) -> float | None:
    total, absolute = board.figure("total_current"), board.figure("total_current_absolute")
    if total is None and absolute is not None:
        return SENSIBLE_PIN_SHARE * absolute
    return total


def coil_temperature(relay: Part, ambient: float) -> float:
    """Return the temperature of a coil that has been on [degC]: site, box, and its own heat."""
    power = relay.value("coil_voltage") ** 2 / relay.value("coil_resistance")
    return ambient + BOX_RISE + COIL_RISE * power


def driver_verdict(driver: Part, relays: Iterable[Part], board: Board, supply: Part | None = None, ambient: float = 30.0) -> Verdict:
    """Return the worst verdict on a driver for all these relays on this board, on the rail of a usual supply unless one is given."""
    relays = tuple(relays)
    high, low = (rail_high(supply), rail_low(supply)) if supply else (RAIL * (1.0 + USUAL_TOLERANCE), RAIL * (1.0 - USUAL_TOLERANCE - WIRING_SHARE))
    currents = [coil_current_most(relay, high) for relay in relays]
    verdicts = [Verdict.HOLDS, _opens(driver, board)]
    for relay, current in zip(relays, currents):
        needed = hot_operate_voltage(operate_voltage=relay.value("operate_voltage"),
                                     temperature=coil_temperature(relay, ambient))
        verdicts.append(judge_between(low - drop(driver, current), low - drop(driver, current, best=True), needed, Sense.AT_LEAST))
        verdicts.append(judge(current, driver.value("current_most"), Sense.AT_MOST))
    if currents:
        verdicts.append(_of_one_pin(driver, board, max(currents)))
        if (total := _total_limit(board)) is not None:
            most, least = (sum(pin_current(driver, board, current, best=best) for current in currents) for best in (False, True))
            verdicts.append(judge_between(most, least, total, Sense.AT_MOST))
    return max(verdicts, key=lambda verdict: verdict.severity)


def _opens(driver: Part, board: Board) -> Verdict:
    """Return whether a pin's high level opens a MOSFET."""
    if driver.word("arrangement") != "N-MOSFET":
        return Verdict.HOLDS
    (high, needed), (best_high, least_needed) = (
        (output_high(board, best=best).value, driver.taken("gate_voltage", End.MOST, best=best).value) for best in (False, True))
    return judge_between(high, best_high, needed, Sense.AT_LEAST, best_limit=least_needed, tight=0.0)


def _of_one_pin(driver: Part, board: Board, current: float) -> Verdict:
    (given, bears), (at_best, bears_at_best) = ((pin_current(driver, board, current, best=best), _pin_limit(board, best=best).value) for best in (False, True))
    return judge_between(given, at_best, bears, Sense.AT_MOST, best_limit=bears_at_best)


def findings(job: Job, chosen: Chosen) -> tuple[Finding, ...]:
    """Return the answers for every relay, for the pins together, and for the start of the board."""
    found = [_pulls_in(key, demand.name, demand.subject, job, chosen) for key, demand in demands(job).items()]
    if found:
        found += [_pin(job, chosen), _pins_together(job, chosen), _held_off(chosen)]
    found += [_lets_go(key, job.fan[key].name, chosen) for key in job.fan if chosen.fans[key].dead > 0.0]
    return tuple(found)


def _board_input(board: Board, name: str) -> Input:
    figure = board.figures[name]
    shown = figure.figure if figure.value is not None else f"unknown: {figure.why}"
    return Input(name.replace("_", " "), shown, f"board {board.type}, {figure.at}".rstrip(", "), figure.source)


def _pulls_in(key: str, name: str, subject: str, job: Job, chosen: Chosen) -> Finding:
    relay, driver, supply = chosen.relays[key].part, chosen.driver.part, chosen.supply.part
    left, at_best = (rail_low(supply, best=best) - drop(driver, coil_current_most(relay, rail_high(supply, best=best), best=best), best=best)
                     for best in (False, True))
    temperature = coil_temperature(relay, job.site.ambient)
    needed = hot_operate_voltage(operate_voltage=relay.value("operate_voltage"), temperature=temperature)
    verdict = judge_between(left, at_best, needed, Sense.AT_LEAST)
    lost, tolerance, coil = driver_loss(driver), supply.taken("output_tolerance", End.MOST), relay.taken("coil_tolerance", End.MOST)
    return Finding(
        id=f"drive.{key}", question=f"Does the relay of {name} pull in with the rail low and its coil hot?",
        subject=subject, verdict=verdict, value=Figure(left, "V"), limit=Figure(needed, "V"), sense=Sense.AT_LEAST,
        nominal=Figure(RAIL - drop(driver, relay.value("coil_voltage") / relay.value("coil_resistance")), "V"),
        corner=f"rail {show(rail_low(supply), 'V')}, coil {show(temperature, 'degC')}",
        formula="rail - drop of the driver >= operate voltage x (1 + 0.00393 (t - 20))",
        inputs=(Input("relay", relay.designation, f"{subject}.relay"), relay.input("operate_voltage"),
                relay.input("coil_resistance"), Input("driver", driver.designation, "chosen"), lost.input,
                tolerance.input, Input("ambient", Figure(job.site.ambient, "degC"), "site.ambient"),
                Input("rise in the box", Figure(BOX_RISE, "K"), "taken; see heat.controller", MEMORY),
                Input("rise of the coil", Figure(COIL_RISE, "K/W"), "still air", MEMORY)),
        sources=(COPPER_SOURCE,), assumptions=assumed(lost, tolerance, coil),
        change=() if verdict not in (Verdict.FAILS, Verdict.UNKNOWN) else (
            "a driver that loses less (a logic-level MOSFET), a supply with a closer tolerance, or a cooler box",),
        covers_not="a supply that sags while the radio sends; see supply.controller",
    )


def _coil_currents(job: Job, chosen: Chosen) -> list[float]:
    high = rail_high(chosen.supply.part)
    return [coil_current_most(chosen.relays[key].part, high) for key in demands(job) for _ in range(chosen.relay_count(key))]


def _circuit_words(chosen: Chosen, current: float) -> str:
    driver, board = chosen.driver.part, chosen.board
    down = f"pull-down {show(pull_down(driver, board), 'ohm')}"
    if driver.word("arrangement") == "NPN":
        return f"{driver.designation}, base resistor {show(base_resistor(driver, board, current), 'ohm')}, {down} at the base"
    return f"{driver.designation}, {show(GATE_SERIES, 'ohm')} in series with each input, {down}"


def _pin(job: Job, chosen: Chosen) -> Finding:
    board, driver, current = chosen.board, chosen.driver.part, max(_coil_currents(job, chosen))
    most, limit, high = pin_current(driver, board, current), _pin_limit(board), output_high(board)
    verdict = max(_of_one_pin(driver, board, current), _opens(driver, board), key=lambda one: one.severity)
    closed = "" if _opens(driver, board) in (Verdict.HOLDS, Verdict.TIGHT) else \
        f" It needs {show(driver.taken('gate_voltage', End.MOST).value, 'V')} to open, and a pin gives {show(high.value, 'V')} at the least."
    return Finding(
        id="drive_pin.controller", question="Can one pin drive its relay?", subject="board.type",
        verdict=verdict, value=Figure(most, "A"), limit=Figure(limit.value, "A"), sense=Sense.AT_MOST,
        nominal=Figure(most, "A"), corner=f"pin at {show(LOGIC, 'V')}; resistor chosen at the lowest high level",
        formula="IC / 20 + VBE / Rpull for a transistor; VOH / Rpull for a gate",
        inputs=(_board_input(board, "pin_current"), _board_input(board, "output_high_least"),
                Input("driver", driver.designation, chosen.driver.reason), *(known.input for known in _driven_by(driver)),
                Input("coil current", Figure(current, "A"), "largest coil, rail high")),
        sources=(SATURATION_SOURCE,), assumptions=assumed(limit, high, *_driven_by(driver)),
        change=("a logic-level MOSFET, which takes next to nothing from the pin",),
        detail=_circuit_words(chosen, current) + "; a diode across every coil." + closed,
        covers_not="the charge a gate takes for some nanoseconds",
    )


def _pins_together(job: Job, chosen: Chosen) -> Finding:
    board, driver = chosen.board, chosen.driver.part
    total, at_best = (sum(pin_current(driver, board, current, best=best) for current in _coil_currents(job, chosen)) for best in (False, True))
    limit, designed = _total_limit(board), board.figure("total_current") is not None
    answer = partial(
        Finding, id="drive_total.controller", question="Can the board drive all relays together?", subject="board.type",
        sense=Sense.AT_MOST, corner="every relay in", formula="sum over all relay pins",
        inputs=(_board_input(board, "total_current"), _board_input(board, "total_current_absolute")),
        assumptions=assumed(*_driven_by(driver)), covers_not="other outputs on the same board",
    )
    if limit is None:
        return answer(verdict=Verdict.UNKNOWN, value=Figure(total, "A"), limit=None,
                       change=("measure the 3.3 V rail with every relay in",))
    return answer(verdict=judge_between(total, at_best, limit, Sense.AT_MOST), value=Figure(total, "A"), limit=Figure(limit, "A"),
                   nominal=Figure(total, "A"), sources=() if designed else (COMMON_PRACTICE,),
                   detail="" if designed else "Half of the absolute maximum is allowed: no design value is given.",
                   change=("a logic-level MOSFET for each relay",))


def _held_off(chosen: Chosen) -> Finding:
    board, driver = chosen.board, chosen.driver.part
    pull_up, down = weak_pull_up(board), pull_down(driver, board)
    off = driver.value("off_voltage")
    level, at_best = (0.0 if up is None else pulled_level(supply=LOGIC, pull_up=up, pull_down=down) for up in (pull_up, weak_pull_up(board, best=True)))
    return Finding(
        id="drive_reset.controller", question="Does every relay stay off while the board starts?", subject="board.type",
        verdict=judge_between(level, at_best, off, Sense.AT_MOST, tight=0.05), value=Figure(level, "V"), limit=Figure(off, "V"),
        sense=Sense.AT_MOST, nominal=Figure(level, "V"),
        corner="a pin with the strongest weak pull-up" if pull_up is not None else "no relay pin has a weak pull-up",
        formula="3.3 V x Rdown / (Rup + Rdown)",
        inputs=(driver.input("off_voltage"), Input("pull-down", Figure(down, "ohm"), "from E12, at each driver input"),
                _board_input(board, "weak_pull_least"), _board_input(board, "weak_pull")),
        assumptions=(Assumption(
            "board.type", f"a weak pull-up of {show(pull_up, 'ohm')}",
            "the sheet gives a typical value only" if board.figure("weak_pull") is not None else "the board's file gives none",
            f"the voltage at a relay pin while the reset button is held: below {show(off, 'V')}",
        ),) if pull_up is not None and board.figure("weak_pull_least") is None else (),
        change=(f"a smaller pull-down than {show(down, 'ohm')}, or pins without a weak pull-up for the relays",),
        detail=f"{show(down, 'ohm')} from every driver input to ground.",
        covers_not="pulses some pins send at the start; the pin assignment keeps relays off them",
    )


def released_after(relay: Part, *, best: bool = False) -> float:
    """Return how long a relay with a plain diode across its coil takes to let go and come to rest [s]: 5 x release time + bounce."""
    return DIODE_SLOWS * relay.taken("release_time", End.MOST, best=best).value + relay.taken("bounce_time", End.MOST, best=best).value


def _lets_go(key: str, name: str, chosen: Chosen) -> Finding:
    relay, dead = chosen.relays[key].part, chosen.fans[key].dead
    release, bounce = relay.taken("release_time", End.MOST), relay.taken("bounce_time", End.MOST)
    slow = released_after(relay)
    return Finding(
        id=f"drive_release.{key}", question=f"Has every relay of {name} let go before the next one closes?",
        subject=f"fan.{key}", verdict=judge_between(slow, released_after(relay, best=True), dead, Sense.AT_MOST),
        value=Figure(slow, "s"), limit=Figure(dead, "s"),
        sense=Sense.AT_MOST, nominal=Figure(release.value, "s"), corner="plain diode across the coil, five times slower",
        formula="5 x release time + bounce <= dead time",
        inputs=(release.input, bounce.input, Input("dead time", Figure(dead, "s"), f"fan_capacitor.{key}")),
        sources=(MEMORY,), assumptions=assumed(release, bounce),
        change=("a zener diode in series with the diode, or a longer dead time",),
        covers_not="a relay that sticks",
    )
