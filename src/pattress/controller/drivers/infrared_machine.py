"""Infra-red by a state machine of the RP2040 and RP2350: it measures marks and spaces, the loop reads codes from that.

The machine looks at the receiver's line every 2 us by its own clock and counts; when a mark ends
it hands over one word, the space before it and the mark. So the interrupt may come late, by
eight marks less one, without any duration changing. Counts follow each other without a gap, so
their sum is the time that passed. A space or mark that is longer than a count reaches is taken from the
board's clock. Exists on boards with such a machine only; elsewhere `infrared_capture` listens.

Cycles of an instruction, and what each does: RP2040 datasheet, chapter 3 (PIO); RP2350 datasheet, chapter 11.
"""

import rp2

from .infrared_capture import SILENT_MS, Ear

NUMBER = 0              # of the machine; the radio's driver takes one of the other block first (from memory)
TICK_US = 2
CYCLES = 3              # of the machine in a tick, whichever way round
WORDS = 8               # that wait for the interrupt at most
END = 1 << 15           # a count has 15 bits: two of them make a number that costs no memory
LONGEST_US = TICK_US * END


@rp2.asm_pio(fifo_join=rp2.PIO.JOIN_RX)
def durations():
    mov(osr, invert(null))
    out(y, 15)                  # where every count begins; it goes down and stays at zero
    wrap_target()
    mov(x, y)
    label("dark")
    jmp(x_dec, "still dark")
    set(x, 0)
    label("still dark")
    jmp(pin, "dark")[1]
    in_(x, 15)
    mov(x, y)[1]
    label("lit")
    jmp(x_dec, "still lit")
    set(x, 0)
    label("still lit")
    jmp(pin, "over")
    jmp("lit")
    label("over")
    in_(x, 15)
    push(noblock)
    irq(rel(0))
    wrap()


class MachineEar(Ear):
    """One receiver, heard by a state machine. Raises ValueError or OSError in `listen` when somebody else has it."""

    def listen(self, pin_class, number):
        self.pin = pin_class(number, pin_class.IN, pin_class.PULL_UP)
        counter = rp2.StateMachine(NUMBER, durations, freq=1_000_000 // TICK_US * CYCLES, jmp_pin=self.pin)
        counter.irq(handler=self.take, hard=True)
        self._until = self._now()       # where the last mark ended
        counter.active(1)

    def take(self, counter):
        """The interrupt: note both edges of each mark. A queue found full has lost marks, or is about to."""
        is_full = counter.rx_fifo() >= WORDS
        after = self.clock.after
        while counter.rx_fifo():
            word = counter.get()
            space, mark = TICK_US * (END - (word >> 15)), TICK_US * (END - (word & END - 1))
            if space == LONGEST_US or mark == LONGEST_US:
                begun = after(self._now(), -mark)
            else:
                begun = after(self._until, space)
            self._until = after(begun, mark)
            self._note(begun, 0)
            self._note(self._until, 1)
        if is_full:
            self._until = self._now()
            self._note(self._until, 1)      # the line seen dark twice: `drain` counts what is lost between

    def _silence(self):
        """As any ear's; but while a mark is on that may be a remote's, no more than was told already."""
        silence = super()._silence()
        return self._told if silence < 1000 * SILENT_MS and not self.pin.value() else silence
