"""Infra-red by the state machine: the driver's very program is executed on an emulated chip, and hears what was sent."""

import shutil
import sys
from importlib import import_module
from pathlib import Path
from random import Random
from types import SimpleNamespace

import pytest

from pattress import interpreter
from pattress.controller.core import NEW_PRESS, REPEAT
from pattress.controller.drivers.infrared_capture import LONG_US, SILENT_MS, Ear
from pattress.controller.infrared.decoder import Decoder
from pattress.controller.infrared.protocols import ADDRESS_BITS, COMMAND_BITS, NEC, PROTOCOLS, RC6, SIRC12
from pattress.infrared.encoding import ENCODED, signal
from pattress.job.code import Code, canonical

from . import chip
from .simulated import PERIOD, Board, Clock
from .test_infrared_capture import DITTO, PERIOD_US, nec, sirc

CONTROLLER = Path(__file__).parents[3] / "src" / "pattress" / "controller"
PIN = 16
TICK_US = 2             # what the driver promises
DIVIDER = 2e-5          # share by which the clock divider of an RP2040, in 256ths, misses 83 1/3
SYSTEMS = {"RP2040": 125_000_000, "RP2350": 150_000_000}        # system clocks the interpreter starts with (from memory)


@pytest.fixture(scope="module")
def driver():
    """Return the driver, loaded beside a stand-in for the chip."""
    name = "pattress.controller.drivers.infrared_machine"
    with pytest.MonkeyPatch.context() as patch:
        patch.setitem(sys.modules, "rp2", SimpleNamespace(PIO=chip.PIO, asm_pio=chip.asm_pio))
        yield import_module(name)
    del sys.modules[name]


class Room:
    """A receiver on a pin of an emulated chip, and a loop that drains it every 5 ms."""

    def __init__(self, driver, us=0, late_us=lambda: 0, system_hz=SYSTEMS["RP2040"], by_pin=False):
        self.clock = Clock()
        self.clock.now = us
        self.board = Board(self.clock)
        self.board.level[PIN] = 1
        self.chip = chip.Chip(self.clock, self.board, system_hz)
        self.chip.late_us = late_us
        driver.rp2.StateMachine = self.chip.state_machine
        self.codes, self.edges = [], []
        self.ear = (Ear if by_pin else driver.MachineEar)(self.clock, Decoder(), lambda *row: self.codes.append(row))
        note = self.ear._note
        self.ear._note = lambda *edge: (self.edges.append(edge), note(*edge))
        self.ear.listen(self.board.Pin, PIN)
        self.is_drained = True

    @property
    def machine(self):
        return self.chip.machines[0]

    def wait(self, us):
        end = self.clock.now + us
        while self.clock.now < end:
            self.chip.run(min(self.clock.now + 5000, end))
            while self.is_drained and self.ear.drain():
                pass

    def put(self, level):
        self.chip.put(PIN, level)

    def send(self, durations):
        """Light up and go dark: marks positive, spaces negative [us]."""
        for duration in durations:
            self.put(0 if duration > 0 else 1)
            self.wait(abs(duration))
        self.put(1)

    def measured(self):
        """Return the durations between the edges that were noted [us]."""
        return [self.clock.since(after, before) for (before, _), (after, _) in zip(self.edges, self.edges[1:])]


def some_code(protocol, random):
    return canonical(Code(protocol, random.getrandbits(ADDRESS_BITS[protocol]), random.getrandbits(COMMAND_BITS[protocol])))


def signed(durations):
    return [-duration if place % 2 else duration for place, duration in enumerate(durations)]


def worst_error(room, sent):
    """Return by how much more than its rounding the worst duration is off [us]: zero or less when all are right."""
    measured = room.measured()
    assert len(measured) == len(sent)
    return max(abs(found - abs(true)) - TICK_US - DIVIDER * abs(true) for found, true in zip(measured, sent))


def is_measured_right(room, sent):
    """Return whether each duration is right to a tick, and all together, too: errors do not add up."""
    whole = sum(map(abs, sent))
    return worst_error(room, sent) <= 0 and abs(sum(room.measured()) - whole) <= TICK_US + DIVIDER * whole


@pytest.mark.parametrize("system, protocol", [*(("RP2040", number) for number in ENCODED), ("RP2350", NEC), ("RP2350", RC6)],
                         ids=lambda one: one if isinstance(one, str) else PROTOCOLS[one])
def test_each_duration_of_a_frame_is_measured_to_a_tick_and_the_code_is_heard(driver, system, protocol):
    random = Random(protocol)
    code = some_code(protocol, random)
    sent = signed(signal(code).durations)[:-1]
    room = Room(driver, system_hz=SYSTEMS[system])
    room.wait(70_000 + random.randrange(100))
    room.send(sent)
    room.wait(300_000)
    assert is_measured_right(room, sent)
    assert {row[:3] for row in room.codes} == {(code.protocol, code.address, code.command)}
    assert room.ear.lost == room.machine.dropped == 0


@pytest.mark.parametrize("us", [0, PERIOD - 440_000, PERIOD - 500_000])
def test_a_held_key_is_one_press_and_repeats(driver, us):
    room = Room(driver, us)
    room.wait(400_000)
    for frame in (nec(4, 8), DITTO, DITTO):
        room.send(frame)
        room.wait(PERIOD_US - sum(map(abs, frame)))
    assert room.codes == [(NEC, 4, 8, NEW_PRESS)] + [(NEC, 4, 8, REPEAT)] * 2


FAULTS = {      # word of the program, and what it becomes: each changes what a loop costs, or begins
    "a delay forgotten in the dark": (5, lambda word: word & ~0x1F00),
    "a delay forgotten before the light": (7, lambda word: word & ~0x1F00),
    "a cycle too many in the light": (11, lambda word: word | 0x100),
    "counts of 14 bits": (1, lambda word: word & ~0x1F | 14),
    "the line read the wrong way round": (10, lambda word: word & ~0xE0),
}


@pytest.mark.parametrize("fault", FAULTS)
def test_a_program_with_a_fault_does_not_measure_right(driver, fault, monkeypatch):
    place, change = FAULTS[fault]
    words = list(driver.durations.words)
    assert change(words[place]) != words[place]
    words[place] = change(words[place])
    monkeypatch.setattr(driver.durations, "words", words)
    room, sent = Room(driver), nec(4, 8)
    room.wait(70_000)
    room.send(sent)
    room.wait(20_000)
    assert len(room.edges) != len(sent) + 1 or not is_measured_right(room, sent)


def test_the_program_fits_beside_another(driver):
    """A block holds 32 instructions (RP2040 datasheet, 3.2)."""
    assert len(driver.durations.words) <= 16 and driver.durations.joined


def late_room(driver, late_us, by_pin):
    """Send NEC frames while interrupts come late by up to `late_us`; return the room."""
    random = Random("late")
    room = Room(driver, late_us=lambda: random.randrange(late_us + 1), by_pin=by_pin)
    real = room.clock.us
    if by_pin:
        room.ear._now = lambda: real() + random.randrange(late_us + 1)
    room.wait(300_000)
    for _ in range(10):
        room.send(nec(4, 8))
        room.wait(PERIOD_US - 68_000)
    room.wait(300_000)
    return room


def heard(room):
    return sum(row[:3] == (NEC, 4, 8) for row in room.codes)


@pytest.mark.parametrize("late_us", [0, 100, 1000, 5000, 7000])
def test_a_late_interrupt_changes_nothing(driver, late_us):
    """The eight words of the shortest marks and spaces, 562 us each, fill the queue in 9 ms."""
    room = late_room(driver, late_us, by_pin=False)
    assert heard(room) == 10 and room.ear.lost == 0
    assert worst_error_in_frames(room) <= 0


def worst_error_in_frames(room):
    """Return the worst error of a duration within the frames; the pauses between are taken apart."""
    inner = [length for length in room.measured() if length < 20_000]
    assert len(inner) == 10 * 67
    return max(abs(found - abs(true)) - TICK_US - DIVIDER * abs(true) for found, true in zip(inner, nec(4, 8) * 10))


def test_the_pin_interrupt_bears_little_of_that(driver):
    assert heard(late_room(driver, 100, by_pin=True)) == 10
    assert heard(late_room(driver, 1000, by_pin=True)) < 5


def test_words_lost_while_the_processor_stood_still_are_counted_and_the_next_frame_is_heard(driver):
    held = [0]
    room = Room(driver, late_us=lambda: held[0])
    room.wait(300_000)
    held[0] = 45_000        # as long as the erase of a sector
    room.send(nec(4, 8))
    room.wait(300_000)
    assert room.machine.dropped > 0 and room.ear.lost > 0 and room.codes == []
    held[0] = 0
    room.send(nec(4, 8))
    room.wait(300_000)
    assert [row[:3] for row in room.codes] == [(NEC, 4, 8)]


@pytest.mark.parametrize("seconds", [0.06, 0.07, 0.5, 3, 1100])
def test_a_pause_longer_than_a_count_is_taken_from_the_clock(driver, seconds):
    room = Room(driver)
    room.wait(70_000)
    room.send(sirc(3, 21))
    room.wait(round(seconds * 1e6))
    pause = room.clock.now - 70_000 - sum(map(abs, sirc(3, 21)))
    frame = len(room.edges)
    room.send(sirc(3, 21))
    room.wait(300_000)
    assert room.edges[frame][1] == 0
    assert room.clock.since(room.edges[frame][0], room.edges[frame - 1][0]) == pytest.approx(
        ((pause + PERIOD // 2) % PERIOD) - PERIOD // 2, abs=3 * TICK_US)
    assert {row[:3] for row in room.codes} == {(SIRC12, 3, 21)}
    assert (sum(row[3] == NEW_PRESS for row in room.codes) == 2) == (seconds > 0.3)


def test_a_line_that_stays_low_is_silence_in_the_end_and_the_next_frame_is_heard(driver):
    room = Room(driver)
    room.wait(300_000)
    room.put(0)
    room.wait(10_000)
    room.wait(2 * LONG_US)
    assert room.ear.is_silent()
    room.put(1)
    room.wait(70_000)
    room.send(nec(4, 8))
    room.wait(300_000)
    assert [row[:3] for row in room.codes] == [(NEC, 4, 8)]


def test_it_is_silent_only_when_nothing_came_for_a_while(driver):
    room = Room(driver)
    room.wait(1000 * SILENT_MS)
    assert room.ear.is_silent()
    room.send(nec(4, 8))
    assert not room.ear.is_silent()
    room.wait(1000 * SILENT_MS - 5000)
    assert not room.ear.is_silent()
    room.put(0)
    room.wait(4000)
    assert not room.ear.is_silent()
    room.put(1)
    room.wait(1000 * SILENT_MS + 5000)
    assert room.ear.is_silent()


def test_noise_gives_no_code(driver):
    random, room = Random("noise"), Room(driver)
    for _ in range(40):
        room.send([random.randrange(60, 3000) * (1 if i % 2 == 0 else -1) for i in range(random.randrange(1, 90))])
        room.wait(random.randrange(6000, 90_000))
    room.wait(300_000)
    assert room.codes == []


def test_a_machine_that_somebody_else_has_is_told(driver):
    room = Room(driver)
    with pytest.raises(ValueError, match="claimed"):
        driver.MachineEar(room.clock, Decoder(), None).listen(room.board.Pin, PIN)


HANDLER = """
import sys
from micropython import heap_lock, heap_unlock

class rp2:
    class PIO:
        JOIN_RX = 2
    def asm_pio(fifo_join):
        return lambda program: program
    class StateMachine:
        def __init__(self, number, program, freq, jmp_pin):
            self.left = 0
        def irq(self, handler, hard):
            self.handler = handler
        def active(self, value):
            pass
        def rx_fifo(self):
            return self.left
        def get(self):
            self.left -= 1
            return WORD

sys.modules["rp2"] = rp2
WORD = (32768 - 281) << 15 | 32768 - 281        # 562 us dark, 562 us light

class Pin:
    IN, PULL_UP = 0, 2
    def __init__(self, number, mode, pull):
        pass
    def value(self):
        return 1

from controller.drivers import clock
from controller.drivers.infrared_machine import MachineEar
from controller.infrared.decoder import Decoder
ear = MachineEar(clock, Decoder(), print)
made = []
real = rp2.StateMachine.active
rp2.StateMachine.active = lambda machine, value: made.append(machine)
ear.listen(Pin, 16)
machine = made[0]
for waiting in (1, 3, 8):
    machine.left = waiting
    heap_lock()
    machine.handler(machine)
    LEAK
    heap_unlock()
edges = ear._noted
print(edges, [ear._times[i + 1] - ear._times[i] for i in range(7)], [ear._levels[i] for i in range(edges)][-3:])
"""


@pytest.mark.parametrize("leak", [False, True])
def test_the_handler_takes_no_memory(leak, tmp_path):
    """Under the interpreter; the board locks its memory while such a handler runs, and a number of 30 bits costs none there."""
    shutil.copytree(CONTROLLER, tmp_path / "controller")
    program = HANDLER.replace("LEAK", "[machine]" if leak else "pass")
    if leak:
        with pytest.raises(interpreter.InterpreterError, match="memory allocation failed, heap is locked"):
            interpreter.run(program, folder=tmp_path)
    else:
        assert interpreter.run(program, folder=tmp_path) == ("25 [562, 562, 562, 562, 562, 562, 562] [0, 1, 1]",)
