"""Relays, contacts, status lamp and watchdog on real pins.

The board's pin class is handed in. Relays are driven open in the constructor, the level before
the direction. Contacts are wired to ground and held up by the pin's pull-up, so low is closed;
whether a changed contact is believed is the program's business. Contacts are read, not
interrupted: what is shorter than the time between two looks would not be believed anyway, and
a wire that mains couples into cannot flood the board.
"""

from array import array

MOST_COUNTED = 0x3FFFFFFF       # the board's small integers


class Outputs:
    """The relays, bit 0 = relay 0; `level` is the pin level that closes one."""

    def __init__(self, pin_class, numbers, level):
        self.pins = [pin_class(number, pin_class.OUT, value=1 - level) for number in numbers]
        self.level = level
        self.closed = 0
        self.operations = array("i", [0] * len(numbers))

    def drive(self, closed):
        """Bring the relays to `closed`: whatever opens goes first. Allocates nothing."""
        opening, closing = self.closed & ~closed, closed & ~self.closed
        for i in range(len(self.pins)):
            if opening >> i & 1:
                self.pins[i].value(1 - self.level)
        for i in range(len(self.pins)):
            if closing >> i & 1:
                self.pins[i].value(self.level)
                if self.operations[i] < MOST_COUNTED:
                    self.operations[i] += 1
        self.closed = closed

    def release(self):
        """Open every relay, whatever was known of them."""
        for pin in self.pins:
            pin.value(1 - self.level)
        self.closed = 0


class Inputs:
    """All contacts in one row: the switches, then the contacts of each regulator, then feedback: (channel, pin), low = live, then inputs."""

    def __init__(self, pin_class, switches, regulators, feedback=(), inputs=()):
        self.switches = len(switches)
        self.owner, self.number = array("i"), array("i")        # whose contact it is, and which of its contacts
        numbers = list(switches)
        for i in range(len(switches)):
            self._add(i, 0)
        for i in range(len(regulators)):
            numbers.extend(regulators[i])
            for contact in range(len(regulators[i])):
                self._add(i, contact)
        self.contacts = len(numbers)
        for channel, number in feedback:
            numbers.append(number)
            self._add(channel, 0)
        self.inputs_at = len(numbers)
        for i in range(len(inputs)):
            numbers.append(inputs[i])
            self._add(i, 0)
        self.pins = [pin_class(number, pin_class.IN, pin_class.PULL_UP) for number in numbers]
        self.count = len(numbers)
        self.seen = bytearray(self.count)

    def closed(self, place):
        """Return the level of a contact now: 1 closed, 0 open."""
        return 1 - self.pins[place].value()

    def learn(self):
        """Look at every contact; return the levels of switches, then of inputs, and each regulator's closed contacts.

        A line that is live by now is no contact to learn: it counts as dead until it is told.
        """
        switches, contacts = [0] * self.switches, []
        for i in range(self.contacts):
            self.seen[i] = self.closed(i)
            if i < self.switches:
                switches[i] = self.seen[i]
                continue
            if self.number[i] == 0:
                contacts.append(0)
            contacts[-1] |= self.seen[i] << self.number[i]
        for i in range(self.inputs_at, self.count):
            self.seen[i] = self.closed(i)
            switches.append(self.seen[i])
        return switches, contacts

    def is_still(self):
        """Return whether every contact stands as it was last told."""
        for i in range(self.count):
            if self.closed(i) != self.seen[i]:
                return False
        return True

    def _add(self, owner, number):
        self.owner.append(owner)
        self.number.append(number)


class PowerWarning:
    """The supply's warning that the mains is gone: a contact to ground; None when there is none."""

    def __init__(self, pin_class, number):
        self.pin = None if number is None else pin_class(number, pin_class.IN, pin_class.PULL_UP)
        self._was_low = False

    def is_given(self):
        """Return whether it stands, now and at the look before: one look may be a disturbance."""
        is_low = self.pin is not None and not self.pin.value()
        given = is_low and self._was_low
        self._was_low = is_low
        return given


# What the status lamp shows: tenths of a second lit, dark, lit, dark ...
STARTING, RUNNING, UNLINKED, MINIMAL, TRIAL, TROUBLE = range(6)
PATTERNS = (
    b"\x0a\x00",
    b"\x01\x1d",                    # a short blink every three seconds
    b"\x01\x02\x01\x1a",
    b"\x05\x05",
    b"\x09\x01",
    b"\x01\x02\x01\x02\x01\x17",
)


class Lamp:
    """The status lamp; `pin` is None when the board has none."""

    def __init__(self, pin_class, number):
        self.pin = None if number is None else pin_class(number, pin_class.OUT, value=0)
        self.pattern = -1
        self.show(STARTING)

    def show(self, pattern):
        """Begin a pattern of PATTERNS unless it is shown already."""
        if pattern != self.pattern:
            self.pattern, self._place, self._left = pattern, -1, 0
            self.advance(0)

    def advance(self, elapsed):
        """Let time pass for the pattern [ms]."""
        self._left -= elapsed
        lengths = PATTERNS[self.pattern]
        while self._left <= 0:
            self._place = (self._place + 1) % len(lengths)
            self._left += 100 * lengths[self._place]
            if self.pin and lengths[self._place]:
                self.pin.value(1 - self._place % 2)


class Watchdog:
    """Resets the board unless the loop keeps turning; `timer` is the hardware watchdog, None on a bench."""

    def __init__(self, timer):
        self.timer = timer
        self._turns = -1

    def feed(self, turns):
        """Feed it if the loop has turned since the last time."""
        if self.timer is not None and turns != self._turns:
            self._turns = turns
            self.timer.feed()
