"""What is fitted: every part and value of the circuit, gathered from the questions that choose them.

Each value is chosen in the module of its question and nowhere else; here they come together for the circuit.
"""

from collections.abc import Mapping

from pattress.circuit.blocks.status_lamp import LAMP_DROP
from pattress.circuit.fitted import Bleed, Branch, Driver, Fitted, Inlet, Sensing, Snubber
from pattress.fan.design import FanDesign
from pattress.job.model import Job
from pattress.quantity import show
from pattress.sizing import feedback
from pattress.sizing.choice import feed_terminal
from pattress.sizing.chosen import Chosen
from pattress.sizing.demand import demands
from pattress.sizing.discharge import PIECES, bleeder_piece, interference_capacitor
from pattress.sizing.drive import GATE_SERIES, LOGIC, RAIL, base_resistor, coil_current_most, pull_down, rail_high
from pattress.sizing.fuses import supply_fuse
from pattress.sizing.holdup import bulk_fitted, hold_up_fitted
from pattress.sizing.mains import Mains, mains_of
from pattress.sizing.residual import controller_feed
from pattress.sizing.sensing import SERIES
from pattress.sizing.supply import STATUS_LAMP, board_peak
from pattress.sizing.suppression import needs_snubber, snubber_part, snubber_resistor, varistor_for
from pattress.stock.boards import Board
from pattress.stock.credible import End
from pattress.stock.parts import Part, Parts
from pattress.stock.preferred import value_above


def fitted(job: Job, parts: Parts, chosen: Chosen, fan_designs: Mapping[str, FanDesign], pull_ups: Mapping[str, float]) -> Fitted:
    """Return everything that the circuit of a job is given."""
    mains, asked, board, supply = mains_of(job), demands(job), chosen.board, chosen.supply.part
    sensing = feedback.circuit(parts, board, mains)
    return Fitted(
        contacts={key: chosen.relays[key].part for key in asked}, relays={key: chosen.relay_count(key) for key in asked},
        currents={key: demand.carried for key, demand in asked.items()},
        branches={key: _branches(design, parts) for key, design in fan_designs.items()},
        terminals={key: choice.part.designation for key, choice in chosen.terminals.items()} | {
            f"feed.{key}": part.designation if (part := feed_terminal(parts, feed)) else "" for key, feed in job.feed.items()},
        snubbers=_snubbers(job, parts, chosen, mains),
        sensing=Sensing(optocoupler=sensing.part, diode=sensing.diode, series=sensing.resistor, series_rating=f"1 W, for {show(mains.crest / 2.0, 'V')} at least",
                        bleed=feedback.BLEED, pull_up=feedback.PULL_UP, capacitor=sensing.capacitor) if sensing else None,
        driver=_driver(parts, chosen), supply=supply, inlet=_inlet(parts, supply, mains),
        bulk=bulk_fitted(job, board), hold_up=hold_up_fitted(job, board, supply) if job.board.power_fail else None,
        contact_series=SERIES, pull_ups=pull_ups, lamp=lamp_resistor(board), logic=LOGIC, rail=RAIL,
        board_current=board_peak(board), feed=controller_feed(job))


def lamp_resistor(board: Board) -> float:
    """Return the resistor before the status lamp [ohm], from E24: what the budget counts flows, or the little that a pin gives."""
    most = min(STATUS_LAMP, board.taken("pin_current", End.LEAST).value)
    return value_above((LOGIC - LAMP_DROP) / most, 24)


def _driver(parts: Parts, chosen: Chosen) -> Driver:
    driver = chosen.driver.part
    current = max((coil_current_most(choice.part, rail_high(chosen.supply.part)) for choice in chosen.relays.values()), default=0.0)
    arrangement = driver.word("arrangement")
    return Driver(
        part=driver, input=base_resistor(driver, chosen.board, current) if arrangement == "NPN" else GATE_SERIES,
        pull_down=pull_down(driver, chosen.board), coil_current=current,
        diode=None if arrangement == "Darlington array" else feedback.diode_for(parts, crest=current / 2.0, voltage=rail_high(chosen.supply.part)))


def _inlet(parts: Parts, supply: Part, mains: Mains) -> Inlet:
    capacitor = interference_capacitor(parts)
    bleed = Bleed(piece=bleeder_piece(capacitor.value("capacitance"), mains), pieces=PIECES, rating=f"0.25 W, for {show(mains.crest / PIECES, 'V')} at least") if capacitor else None
    return Inlet(fuse=supply_fuse(parts, supply, mains), varistor=varistor_for(parts, mains), capacitor=capacitor, bleed=bleed)


def _snubbers(job: Job, parts: Parts, chosen: Chosen, mains: Mains) -> dict[str, Snubber]:
    found: dict[str, Snubber] = {}
    for key, demand in demands(job).items():
        part = snubber_part(demand, parts) if needs_snubber(demand) else None
        if part:
            found[key] = Snubber(part=part.designation, capacitance=part.value("capacitance"), rating=f"X2, {show(part.value('voltage'), 'V')} AC",
                                 resistance=snubber_resistor(demand, chosen.relays[key].part, mains))
    return found


def _branches(design: FanDesign, parts: Parts) -> tuple[Branch, ...]:
    """Return the branches of a fan's regulator, in the order of its relays; without damping and bleeds where the fan is not known well enough."""
    found = []
    for place, capacitance in enumerate(design.drive.capacitors):
        part = next((part for part in parts.of("capacitor") if part.word("class") == "motor run" and abs(part.value("capacitance") - capacitance) < 1e-12), None)
        bleed = design.bleeds[place] if place < len(design.bleeds) else None
        found.append(Branch(
            part=part.designation if part else "", capacitance=capacitance, rating=f"motor run, {show(part.value('voltage'), 'V')} AC" if part else "motor run",
            damping=design.damping.resistance if design.damping else None,
            damping_rating=f"loses {show(design.damping.running_loss, 'W')}, takes pulses of {show(design.damping.pulse_energy, 'J')}: wire-wound" if design.damping else "",
            bleed=Bleed(piece=bleed.piece, pieces=bleed.pieces,
                        rating=f"loses {show(bleed.piece_loss, 'W')} with {show(bleed.piece_voltage, 'V')} across it: twice both at least") if bleed else None))
    return tuple(found)
