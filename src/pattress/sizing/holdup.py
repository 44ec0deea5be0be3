"""Riding through: the radio's burst, and the moment after the mains is gone.

Answers: the bulk capacitor at 5 V that covers the supply's reaction to a radio burst; and the
capacitor that would let a snapshot be written after a power cut. The control program saves some
seconds after a change and needs no hold-up; this says what it would take, or, when the job asks
for a warning of power failure, what it takes. Left out: the
resistance of capacitors, a save for which the file system erases more than one sector, and the module's own hold-up.
"""

from pattress.finding import COMMON_PRACTICE, Figure, Finding, Input, Sense, Source, Verdict, judge
from pattress.job.model import Job
from pattress.quantity import show
from pattress.sizing.chosen import Chosen
from pattress.sizing.drive import rail_low
from pattress.sizing.heat import BOARD_ALONE, BOARD_AVERAGE
from pattress.sizing.ranges import not_negative, positive
from pattress.sizing.supply import DROPOUT, SERIES_DIODE, at_rail, board_peak
from pattress.stock.boards import Board
from pattress.stock.credible import End, assumed
from pattress.stock.parts import Part
from pattress.stock.preferred import value_above

REACTION = 0.3e-3                # s a module takes to answer a step (from memory)
DIP = 0.15                       # V the rail may dip meanwhile (common practice)
BULK_MOST = 4.7e-3               # F most modules still start into (RAC05-K: 6 mF)
BULK_SOURCE = Source("RAC05-K datasheet, rev. 5/2018", "largest capacitive load 6000 uF at 5 V")
LEAST_LEFT = 0.8 * 0.8           # of a capacitor's printed value: 20 % low as made, a fifth less in its life (common practice)
WRITE_TIME, LONGEST_WRITE = 50e-3, 405e-3        # s to write one snapshot: its sector erase takes 45 ms, and 400 ms at most
ERASE_SOURCE = Source("W25Q64JV serial flash, sector erase 45 ms typical, 400 ms at most", "as printed in a public note of its parameters")
NOTICE_TIME = 15e-3              # s until the board has believed the warning: two looks, each late by what may hold a turn
MEMORY = Source("trade knowledge", read=False)


def bulk_capacitance(*, current: float, time: float, dip: float) -> float:
    """Return the capacitance [F] that gives a current for a time within a dip [V]: C = I t / dV."""
    not_negative(current=current, time=time)
    positive(dip=dip)
    return current * time / dip


def radio_step(job: Job, board: Board) -> float:
    """Return how much more the board draws at 5 V [A] when its radio goes from idle to its peak."""
    return at_rail(current=max(board_peak(board) - BOARD_AVERAGE, 0.0) if job.network.wifi else 0.05, regulator=board.regulator)


def bulk_fitted(job: Job, board: Board) -> float:
    """Return the bulk capacitor at the 5 V input [F], from E6."""
    return value_above(_bulk_needed(job, board) / LEAST_LEFT, 6)


def _bulk_needed(job: Job, board: Board) -> float:
    return bulk_capacitance(current=max(radio_step(job, board), 0.05), time=REACTION, dip=DIP)


def _ridden(job: Job, board: Board, supply: Part) -> tuple[float, float, float]:
    """Return the rail's lowest level with mains and the lowest the board runs on [V], and what it draws at 5 V with all relays out [A]."""
    least = board.taken("supply_least", End.MOST).value
    end = least + DROPOUT + SERIES_DIODE if board.regulator == "linear" else max(least, 3.0) + SERIES_DIODE
    return rail_low(supply), end, at_rail(current=BOARD_AVERAGE if job.network.wifi else BOARD_ALONE, regulator=board.regulator)


def hold_up_fitted(job: Job, board: Board, supply: Part) -> float:
    """Return the capacitor at the 5 V rail [F], from E6, that holds the board up while a snapshot is written."""
    start, end, drawn = _ridden(job, board, supply)
    time = LONGEST_WRITE + NOTICE_TIME * job.board.power_fail
    return value_above(bulk_capacitance(current=drawn, time=time, dip=max(start - end, 0.05)) / LEAST_LEFT, 6)


def findings(job: Job, chosen: Chosen) -> tuple[Finding, ...]:
    """Return the bulk capacitor, and what hold-up would take."""
    return (_bulk(job, chosen), _hold_up(job, chosen))


def _bulk(job: Job, chosen: Chosen) -> Finding:
    board = chosen.board
    step, needed, fitted = radio_step(job, board), _bulk_needed(job, board), bulk_fitted(job, board)
    return Finding(
        id="bulk.controller", question="Is there a bulk capacitor for the radio's burst that the supply starts into?",
        subject="board", verdict=judge(fitted, BULK_MOST, Sense.AT_MOST), value=Figure(fitted, "F"), limit=Figure(BULK_MOST, "F"),
        sense=Sense.AT_MOST, nominal=Figure(needed, "F"), corner="radio from idle to peak", formula="C = I t / dV, and 20 % each for tolerance and age",
        inputs=(Input("step", Figure(step, "A"), f"board {board.type}, at 5 V"), Input("reaction", Figure(REACTION, "s"), "of the module", MEMORY),
                Input("dip", Figure(DIP, "V"), "allowed", COMMON_PRACTICE)),
        sources=(BULK_SOURCE,), change=("a supply that reacts faster, or one that starts into more",),
        detail=f"{show(fitted, 'F')} at the 5 V input of the board.", covers_not="the capacitor's own resistance: take a low-impedance type",
        safety=False,
    )


def _hold_up(job: Job, chosen: Chosen) -> Finding:
    board, warned = chosen.board, job.board.power_fail
    lowest, tolerance = board.taken("supply_least", End.MOST), chosen.supply.part.taken("output_tolerance", End.MOST)
    start, end, drawn = _ridden(job, board, chosen.supply.part)
    room, notice = max(start - end, 0.05), NOTICE_TIME * warned
    time = LONGEST_WRITE + notice
    needed = bulk_capacitance(current=drawn, time=time, dip=room)
    fitted = hold_up_fitted(job, board, chosen.supply.part)
    return Finding(
        id="hold_up.controller", subject="board",
        question="Can the supply start into what holds the board up while a snapshot is written?" if warned else
        "What would it take to write a snapshot after the mains is gone?",
        verdict=judge(fitted, BULK_MOST, Sense.AT_MOST) if warned else Verdict.HOLDS,
        value=Figure(fitted if warned else needed, "F"), limit=Figure(BULK_MOST, "F") if warned else None,
        sense=Sense.AT_MOST, nominal=Figure(bulk_capacitance(current=drawn, time=WRITE_TIME + notice, dip=room), "F"), corner=f"the longest erase, rail from {show(start, 'V')} to {show(end, 'V')}, relays let go first",
        formula="C = I t / (V1 - V2)" + ", and 20 % each for tolerance and age, the next value up" * warned,
        inputs=(Input("current", Figure(drawn, "A"), "board at 5 V, relays out"), Input("time", Figure(time, "s"), "one write with its erase" + ", and the warning believed" * warned, ERASE_SOURCE),
                Input("end", Figure(end, "V"), f"board {board.type}", lowest.input.source)),
        assumptions=assumed(lowest, tolerance),
        sources=(Source("vbatpower.com, hold-up time and bulk capacitor energy"), *((BULK_SOURCE,) if warned else ())),
        change=("hold up before a converter, at 12 V, where the same energy needs a tenth of the capacitance",),
        detail=(f"To be fitted at the 5 V rail: {show(fitted, 'F')}, 20 % each for tolerance and age in it; the warning must come "
                "before the rail falls, and pulls pin power_fail to ground." if warned else
                "Not needed: the snapshot is written some seconds after a change, and a cut restores by policy."),
        covers_not=("how soon the circuit that senses the mains warns" if warned else
                    "the sense of the mains that would start the write"), safety=False,
    )
