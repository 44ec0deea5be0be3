"""Stands for the interpreter's module `rp2`: programs for a state machine, run by an emulator of the chip.

`asm_pio` encodes instructions as the RP2040 datasheet does (section 3.4, "Instruction Set"); an
independent emulator (`rp2040py`) decodes and executes them, a cycle of the machine at a time, with its clock divider.
It does not join the queues of a machine, so a word is taken out at once here and waits in a queue of
eight, beyond which words are dropped (3.5.4 and 3.4.6 of the datasheet). The time from a
machine's flag to its handler is `late_us`, a function of nothing. Emulated is an RP2040; `system_hz` may be another chip's.
"""

from rp2040py.peripherals import pio_registers as registers
from rp2040py.rp2040 import RP2040

JOINED, ALONE = 8, 4
PAD = 1 << 6             # a pin is read only with its input enabled (RP2040 datasheet, PADS_BANK0: IE)


class PIO:
    JOIN_NONE, JOIN_TX, JOIN_RX = 0, 1, 2
    SHIFT_LEFT, SHIFT_RIGHT = 0, 1


class Program:
    """An assembled program: opcodes, where it wraps, whether the queues are joined for receiving."""

    def __init__(self):
        self.words, self.labels, self.target, self.top, self.joined = [], {}, 0, None, False


class _Delay:
    def __init__(self, words):
        self.words = words

    def __getitem__(self, cycles):
        self.words[-1] |= cycles << 8


def asm_pio(*, fifo_join=PIO.JOIN_NONE):
    """Return a decorator that assembles a function, as the interpreter's own does."""
    def assembled(function):
        program = Program()
        for is_second in (False, True):     # the first pass finds the labels
            program.words.clear()
            _run(function, program, is_second)
        program.joined = fifo_join == PIO.JOIN_RX
        return program
    return assembled


def _run(function, program, is_second):
    def word(bits):
        program.words.append(bits)
        return _Delay(program.words)

    def at(label):
        return program.labels[label] if is_second else 0

    def wrap_target():
        program.target = len(program.words)

    def wrap():
        program.top = len(program.words) - 1

    names = {
        "label": lambda name: program.labels.__setitem__(name, len(program.words)),
        "wrap_target": wrap_target, "wrap": wrap,
        "jmp": lambda condition, label=None: word(at(condition) if label is None else condition << 5 | at(label)),
        "x_dec": 2, "pin": 6,
        "in_": lambda source, bits: word(0x4000 | source << 5 | bits & 31),
        "out": lambda into, bits: word(0x6000 | into << 5 | bits & 31),
        "push": lambda block: word(0x8000 | (0 if block == 1 else 0x20)), "noblock": 1,
        "mov": lambda into, source: word(0xA000 | into << 5 | source), "invert": lambda source: source | 0x08,
        "irq": lambda number: word(0xC000 | number), "rel": lambda number: number | 0x10,
        "set": lambda into, value: word(0xE000 | into << 5 | value),
        "x": 1, "y": 2, "null": 3, "osr": 7,
    }
    kept = dict(function.__globals__)
    function.__globals__.update(names)
    try:
        function()
    finally:
        function.__globals__.clear()
        function.__globals__.update(kept)


class Chip:
    """One chip whose time is that of a clock of `simulated`; a world moves its pins."""

    def __init__(self, clock, board, system_hz=125_000_000):
        self.clock, self.board, self.system_hz = clock, board, system_hz
        self.silicon = RP2040()
        self.silicon.simulator = self       # so that nothing runs unless we let it
        self.machines, self.late_us = {}, lambda: 0
        self._system = 0                    # cycles of the system clock that passed
        self._begun = clock.now
        self._counts, self._is_stirred = [1], True

    def run(self, until_us):
        """Let time pass to a moment, calling what interrupts on the way. The line stands still meanwhile.

        Where every machine's X stood at zero from one run to the next, only the clock moves on.
        """
        block, last = self.silicon.pio[0], int((until_us - self._begun) * self.system_hz / 1e6)
        counts = [block.machines[number].x for number in self.machines]
        is_resting = not any(counts + self._counts) and all(machine.due is None for machine in self.machines.values())
        self._counts = counts
        if is_resting and not self._is_stirred:
            self._begun += until_us - self.us_of(self._system)
            last = self._system
        self._is_stirred = False
        advance, system = block.advance, self._system
        dues = [machine.due for machine in self.machines.values() if machine.due is not None]
        while system < last:
            step = (block.next_due_fp - block.cycle_fp + 255) // 256 or 1
            step = min(step, last - system, *[max(1, due - system) for due in dues])
            advance(step)
            system += step
            if block.irq or dues:
                for machine in self.machines.values():
                    machine.collect(system)
                dues = [machine.due for machine in self.machines.values() if machine.due is not None]
        self._system = system
        self.clock.now = until_us

    def put(self, pin, level):
        """The world moves a line."""
        self._is_stirred = True
        self.board.put(pin, level)
        self.silicon.gpio[pin].set_input_value(bool(level))

    def us_of(self, system):
        return self._begun + system * 1e6 / self.system_hz

    def state_machine(self, number, program, freq, jmp_pin):
        if number in self.machines:
            raise ValueError("StateMachine claimed by external resource")
        self.machines[number] = StateMachine(self, number, program, freq, jmp_pin.number)
        return self.machines[number]


class StateMachine:
    """Machine of the first block, as the interpreter offers it."""

    def __init__(self, chip, number, program, freq, pin):
        self.chip, self.number, self.words, self.dropped = chip, number, [], 0
        self.room = JOINED if program.joined else ALONE
        self.handler = self.due = None
        self.block = chip.silicon.pio[0]
        for place, word in enumerate(program.words):
            self._write(registers.INSTR_MEM0 + 4 * place, word)
        divider = round(chip.system_hz * 256 / freq)
        own = 24 * number
        self._write(registers.SM0_CLKDIV + own, divider << 8)
        self._write(registers.SM0_EXECCTRL + own, pin << 24 | program.top << 12 | program.target << 7)
        self._write(registers.SM0_SHIFTCTRL + own, 0)      # both shift left
        chip.silicon.gpio[pin].pad_value = PAD
        chip.silicon.gpio[pin].set_input_value(bool(chip.board.level[pin]))

    def _write(self, offset, value):
        self.block.write_uint32(offset, value)

    def active(self, value):
        self._write(registers.CTRL, value << self.number)

    def irq(self, handler, trigger=1, hard=False):
        assert hard, "only an interrupt that comes at once"
        self.handler = handler

    def rx_fifo(self):
        return len(self.words)

    def get(self):
        return self.words.pop(0)

    def collect(self, system):
        """Take what the machine handed over; call the handler when its time has come."""
        while self.block.read_uint32(registers.FLEVEL) >> 8 * self.number + 4 & 15:
            word = self.block.read_uint32(registers.RXF0 + 4 * self.number)
            if len(self.words) < self.room:
                self.words.append(word)
            else:
                self.dropped += 1
        flag = 1 << self.number
        if self.due is None and self.block.irq & flag:
            self.due = system + int(self.chip.late_us() * self.chip.system_hz / 1e6)
        if self.due is not None and system >= self.due:
            self.due = None
            self.block.raw_write_value = flag
            self._write(registers.IRQ, flag)
            self.chip.clock.now = int(self.chip.us_of(system))
            self.handler(self)
