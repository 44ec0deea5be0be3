"""Temperature and humidity from a sensor of the 11 or 22 class on one wire.

The board pulls the line low; the sensor answers with 40 bits, each a low of about 50 us and a
high of 26 to 28 us (0) or 70 us (1). Figures from sheets of both classes, read in the project's
notes on them. The high pulses are timed one by one, which holds the processor for 5 ms; the
interpreter's own driver would hold it for 270 ms and a switch could wait so long.

What arrives is believed only if the sum is right and the value is one that the class can
measure; what is older than `STALE_MS` is shown as unknown, never as a value.
"""

ELEVEN, TWENTY_TWO = "11 class", "22 class"

BITS = 40
PULSES = BITS + 3               # the line let go and the sensor's greeting come first, at the end nothing
ONE_US = 48                     # a longer high is a 1
WAIT_US = 200                   # no pulse of a healthy sensor is so long
START_MS = 20                   # the line low: the 11 class wants 18 ms, the 22 class takes it
LEAST_MS = 2500                 # between two readings: both classes want more than 2 s
USUAL_MS = 30_000               # a room changes slowly, and a reading costs time
STALE_MS = 5 * USUAL_MS
WARMING_MS = 1500               # after power-up: 1 s at least

# Tenths of a degC and of % relative humidity that a sensor of the class can mean.
RANGES = {ELEVEN: (0, 600, 50, 1000), TWENTY_TWO: (-400, 1250, 0, 1000)}

GOOD, TOO_SHORT, WRONG_SUM, NOT_CREDIBLE = range(4)


def collect(pulses, count, frame):
    """Fill `frame`, five bytes, from the last 40 of `count` high pulses [us]; return whether there were so many."""
    first = count - BITS
    if first < 0:
        return False
    for i in range(5):
        byte = 0
        for bit in range(8):
            byte = byte << 1 | (pulses[first + 8 * i + bit] > ONE_US)
        frame[i] = byte
    return True


def judge(kind, frame):
    """Return (outcome, tenths of degC, tenths of %) of five bytes; the figures count only if GOOD."""
    if sum(frame[:4]) & 0xFF != frame[4]:
        return WRONG_SUM, 0, 0
    if kind == ELEVEN:
        humidity = 10 * frame[0] + frame[1]
        temperature = 10 * frame[2] + (frame[3] & 0x7F)
        sign, is_tenths = frame[3] & 0x80, frame[1] < 10 and frame[3] & 0x7F < 10
    else:
        humidity = frame[0] << 8 | frame[1]
        temperature = (frame[2] & 0x7F) << 8 | frame[3]
        sign, is_tenths = frame[2] & 0x80, True
    if sign:
        temperature = -temperature
    coldest, hottest, driest, wettest = RANGES[kind]
    if not (is_tenths and coldest <= temperature <= hottest and driest <= humidity <= wettest) or not any(frame):
        return NOT_CREDIBLE, 0, 0       # a line that stays low reads as zeros, sum and all
    return GOOD, temperature, humidity


class Sensor:
    """One sensor. `tell(place, tenths, fresh)` takes its two values, `place` and the one after it.

    `pulse` is the interpreter's `time_pulse_us`. Call `start`, wait START_MS, call `finish`.
    """

    def __init__(self, pin_class, number, kind, clock, tell, place, pulse):
        self.kind, self.clock, self.tell, self.place, self.pulse = kind, clock, tell, place, pulse
        self.pin = pin_class(number, pin_class.OPEN_DRAIN, value=1)
        self.outcome = TOO_SHORT
        self.tried = self.failed = 0
        self._frame, self._pulses = bytearray(5), [0] * PULSES
        self._values = [0, 0]
        self._is_fresh = False
        self._tried_at = self._good_at = clock.ms()
        self._pause = WARMING_MS

    def is_due(self):
        """Return whether it may be asked again; tells the values stale when they are."""
        now = self.clock.ms()
        if self._is_fresh and self.clock.since(now, self._good_at) >= STALE_MS:
            self._is_fresh = False
            self._tell()
        return self.clock.since(now, self._tried_at) >= self._pause

    def start(self):
        """Pull the line low."""
        self._tried_at = self.clock.ms()
        self.pin.value(0)

    def give_up(self):
        """Let the line go without reading: something more pressing happened."""
        self.pin.value(1)
        self._pause = LEAST_MS

    def finish(self):
        """Let the line go and read the answer; return its outcome. Holds the processor for about 5 ms."""
        self.pin.value(1)
        count = 0
        while count < PULSES:
            length = self.pulse(self.pin, 1, WAIT_US)
            if length < 0:
                break
            self._pulses[count] = length
            count += 1
        self.tried += 1
        self.outcome = TOO_SHORT
        if collect(self._pulses, count, self._frame):
            self.outcome, temperature, humidity = judge(self.kind, self._frame)
            if self.outcome == GOOD:
                self._good_at, self._is_fresh = self.clock.ms(), True
                self._values[0], self._values[1] = temperature, humidity
                self._tell()
        self.failed += self.outcome != GOOD
        self._pause = USUAL_MS if self.outcome == GOOD else 2 * LEAST_MS
        return self.outcome

    def _tell(self):
        for i in (0, 1):
            self.tell(self.place + i, self._values[i], 1 if self._is_fresh else 0)
