"""Temperature and humidity: the sheets' worked examples, every wrong bit found or told, and nothing stale shown."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pattress.controller.drivers.humidity import (
    ELEVEN, GOOD, LEAST_MS, NOT_CREDIBLE, STALE_MS, START_MS, TOO_SHORT, TWENTY_TWO, USUAL_MS, WARMING_MS, WRONG_SUM,
    Sensor, collect, judge,
)

from .simulated import Board, Clock

# Worked examples as the makers' sheets print them (from memory): 22 class 65.2 %, 35.1 degC and -10.1 degC; 11 class 53 %, 24 degC.
SHEET_22 = bytes((0b00000010, 0b10001100, 0b00000001, 0b01011111, 0b11101110))
SHEET_22_COLD = bytes((0b00000010, 0b10001100, 0b10000000, 0b01100101, 0b01110011))
SHEET_11 = bytes((0b00110101, 0, 0b00011000, 0, 0b01001101))


@pytest.mark.parametrize("kind, frame, read", [
    (TWENTY_TWO, SHEET_22, (GOOD, 351, 652)), (TWENTY_TWO, SHEET_22_COLD, (GOOD, -101, 652)), (ELEVEN, SHEET_11, (GOOD, 240, 530)),
])
def test_the_sheets_examples(kind, frame, read):
    assert judge(kind, frame) == read


def pulses_of(frame, zero=27, one=70, before=(31, 80)):
    """Return the high pulses of an answer: line let go, greeting, 40 bits."""
    return [*before, *(one if byte >> 7 - bit & 1 else zero for byte in frame for bit in range(8))]


def framed(first, second, third, fourth):
    return bytes((first, second, third, fourth, first + second + third + fourth & 0xFF))


def frame_22(temperature, humidity):
    magnitude = abs(temperature) | (0x8000 if temperature < 0 else 0)
    return framed(humidity >> 8, humidity & 255, magnitude >> 8, magnitude & 255)


# Bits: 26 to 28 us is 0, 70 us is 1 (sheets of both classes, in the project's notes); timing of each pulse to some us.
@given(st.integers(-400, 800), st.integers(1, 1000), st.integers(20, 40), st.integers(56, 85),
       st.sampled_from([(), (80,), (31, 80), (5, 30)]))
def test_every_value_of_the_range_is_read_back(temperature, humidity, zero, one, before):
    pulses, frame = pulses_of(frame_22(temperature, humidity), zero, one, before), bytearray(5)
    assert collect(pulses, len(pulses), frame)
    assert judge(TWENTY_TWO, frame) == (GOOD, temperature, humidity)


@given(st.integers(-400, 800), st.integers(1, 1000), st.integers(0, 39))
def test_one_wrong_bit_is_always_found(temperature, humidity, place):
    frame = bytearray(frame_22(temperature, humidity))
    frame[place // 8] ^= 1 << place % 8
    assert judge(TWENTY_TWO, frame)[0] == WRONG_SUM


@pytest.mark.parametrize("kind, frame", [
    (TWENTY_TWO, framed(0, 0, 0, 0)),               # a line that stays low
    (TWENTY_TWO, framed(255, 255, 255, 255)),       # or high
    (TWENTY_TWO, frame_22(-401, 500)), (TWENTY_TWO, frame_22(200, 1001)),
    (ELEVEN, framed(2, 0x8C, 1, 0x5F)),             # a sensor of the other class
    (ELEVEN, framed(53, 0, 99, 0)), (ELEVEN, framed(0, 0, 24, 0)),
])
def test_what_the_class_cannot_mean_is_not_believed(kind, frame):
    assert judge(kind, frame)[0] == NOT_CREDIBLE


def test_fewer_than_forty_pulses_are_no_answer():
    assert not collect([70] * 39, 39, bytearray(5))


class Line:
    """A sensor at the end of the wire: answers with pulses, or not at all."""

    def __init__(self):
        self.pulses, self.left = [], []

    def answer(self, frame):
        self.pulses = pulses_of(frame)

    def pulse(self, pin, level, most):
        if not self.left:
            return -1
        return self.left.pop(0)


@pytest.fixture()
def line():
    return Line()


@pytest.fixture()
def sensor(line):
    clock = Clock(ms=(1 << 30) - 10_000)        # the counter wraps in ten seconds
    board = Board(clock)
    told = []
    sensor = Sensor(board.Pin, 17, TWENTY_TWO, clock, lambda *row: told.append(row), 2, line.pulse)
    sensor.told, sensor.board = told, board
    return sensor


def measure(sensor, line):
    sensor.start()
    sensor.clock.wait(1000 * START_MS)
    line.left = list(line.pulses)
    return sensor.finish()


def test_the_line_is_let_go_at_rest_and_pulled_low_to_ask(sensor, line):
    assert sensor.board.driven[-1][1:] == (17, 1) and sensor.board.direction[17] == "open drain"
    line.answer(SHEET_22)
    start = sensor.clock.now
    assert measure(sensor, line) == GOOD
    assert sensor.board.driven[-2:] == [(start, 17, 0), (start + 1000 * START_MS, 17, 1)]
    assert sensor.told == [(2, 351, 1), (3, 652, 1)]


def test_it_is_not_asked_before_it_is_warm_nor_more_often_than_it_can(sensor, line):
    assert not sensor.is_due()
    sensor.clock.wait(1000 * WARMING_MS)
    assert sensor.is_due()
    line.answer(SHEET_22)
    measure(sensor, line)
    sensor.clock.wait(1000 * (USUAL_MS - START_MS) - 1000)
    assert not sensor.is_due()
    sensor.clock.wait(1000)
    assert sensor.is_due()
    line.pulses = []
    assert measure(sensor, line) == TOO_SHORT
    sensor.clock.wait(1000 * LEAST_MS)
    assert not sensor.is_due()          # a failed one is tried again soon, but not at once
    sensor.clock.wait(1000 * LEAST_MS)
    assert sensor.is_due()


def test_a_wrong_sum_keeps_the_last_value_until_it_is_stale(sensor, line):
    line.answer(SHEET_22)
    measure(sensor, line)
    line.answer(SHEET_22[:4] + b"\0")
    for _ in range(STALE_MS // 10_000 - 1):
        sensor.clock.wait(10_000_000)
        sensor.is_due()
        assert measure(sensor, line) == WRONG_SUM
    assert sensor.told[-1] == (3, 652, 1)
    sensor.clock.wait(20_000_000)
    sensor.is_due()
    assert sensor.told[-2:] == [(2, 351, 0), (3, 652, 0)]
    sensor.is_due()
    assert len(sensor.told) == 4        # told once
    assert sensor.failed == sensor.tried - 1


def test_given_up_lets_the_line_go_and_asks_again_later(sensor, line):
    sensor.clock.wait(1000 * WARMING_MS)
    sensor.start()
    sensor.give_up()
    assert sensor.board.driven[-1][1:] == (17, 1) and sensor.tried == 0 and not sensor.is_due()
    sensor.clock.wait(1000 * LEAST_MS)
    assert sensor.is_due()
