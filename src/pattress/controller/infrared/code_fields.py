"""A frame's bits to protocol, address and command, with every check the protocol has.

Bits come as `distance` and `biphase` leave them. `Fields` holds the last answer; `checked` says how many
check bits were compared (`CHECK_BITS`), and is negative when one failed: then there is no code.

Which of two readings wins, where bits alone do not decide:

* NEC family: address and command inverses fit - `nec`; only the command's - `necx`; neither - `nec32`
  (the kernel's rule), but `nec32` only of a frame that ends in silence, as nothing else confirms it.
* Before a 4.5 ms space, a leader mark of 4.15 to 4.85 ms is Samsung's, and any under 5.8 ms if the address
  bytes are equal; but with inverse address bytes it is `nec` (the kernel's rule; also a clipped NEC leader).
* Without any leader only frames with at least 12 check bits are read.
* Kaseikyo with a fitting check byte - `kaseikyo`; else `aeha`, but never for the three makers known to
  send the check byte: then the frame was damaged. A fourth sends `aeha` with an exclusive-or of half bytes.
"""

from . import protocols as p

# byte 6 = byte 3 XOR byte 4 XOR byte 5. Panasonic, Denon: Denon AVR-3808 RC code sheet p. 6 and JP1 Remotes wiki;
# JVC: form "JVC-48" of IrpProtocols.xml (IrpTransmogrifier), read as quoted in other programs.
CHECKING_VENDORS = (0x2002, 0x3254, 0x0103)
# Sharp: the eight half bytes behind the vendor, of which the first is parity, make that parity (form "SharpDVD", read there too).
HALVES_VENDOR, HALVES_PARITY = 0x5AAA, 0xF


def reversed_bits(word, bits):
    """Return the lowest `bits` bits of `word` in the opposite order."""
    back = 0
    for _ in range(bits):
        back = back << 1 | word & 1
        word >>= 1
    return back


def maker_allows(vendor, rest):
    """Whether the check of a vendor known to send one holds. `rest` is the exclusive-or of bytes 3 to 6."""
    if vendor == HALVES_VENDOR:
        return rest & 0xF ^ rest >> 4 == HALVES_PARITY
    return rest == 0 or vendor not in CHECKING_VENDORS


class Fields:
    """The last frame's fields: protocol, address, command, toggle (-1: has none), checked."""

    def __init__(self):
        self.protocol = self.address = self.command = 0
        self.toggle = -1
        self.checked = -1

    def set(self, protocol, address, command, toggle):
        """Hold a frame's fields; return True."""
        self.protocol, self.address, self.command = protocol, address, command
        self.toggle, self.checked = toggle, p.CHECK_BITS[protocol]
        return True

    def nec(self, first, second, leader_mark):
        """32 bits, least significant first; `leader_mark` in us (scaled to nominal), 0 if there was none."""
        one, two = first & 0xFF, first >> 8 & 0xFF
        three, four = first >> 16 & 0xFF, second & 0xFF
        plain = one ^ two == 0xFF
        if three ^ four == 0xFF:
            if plain:
                return self.set(p.NEC, one, three, -1)
            if leader_mark > 5800:
                return self.set(p.NECX, one << 8 | two, three, -1)
            if 4150 < leader_mark < 4850 or one == two and leader_mark:
                return self.set(p.SAMSUNG, one << 8 | two, three, -1)
        elif leader_mark > 5800:
            return self.set(p.NEC32, two << 8 | one, four << 8 | three, -1)
        self.checked = -1
        return False

    def sanyo(self, first, second):
        """42 bits: address 13, its inverse, command 8, its inverse."""
        address, command = first & 0x1FFF, second >> 2 & 0xFF
        inverse = (first >> 13) & 0x7FF | (second & 3) << 11
        if address ^ inverse == 0x1FFF and command ^ second >> 10 & 0xFF == 0xFF:
            return self.set(p.SANYO, address, command, -1)
        self.checked = -1
        return False

    def jvc(self, first):
        return self.set(p.JVC, first & 0xFF, first >> 8 & 0xFF, -1)

    def kaseikyo(self, first, second):
        """48 bits: vendor 16, parity 4 and address 12, command, check byte."""
        vendor = first & 0xFFFF
        three, four = first >> 16 & 0xFF, second & 0xFF
        five, six = second >> 8 & 0xFF, second >> 16 & 0xFF
        address = vendor << 12 | four << 4 | three >> 4
        if (vendor ^ vendor >> 4 ^ vendor >> 8 ^ vendor >> 12 ^ three) & 0xF:
            self.checked = -1
            return False
        rest = three ^ four ^ five ^ six
        if not maker_allows(vendor, rest):
            self.checked = -1
            return False
        if rest == 0:
            return self.set(p.KASEIKYO, address, five, -1)
        return self.set(p.AEHA, address, five << 8 | six, -1)

    def rca(self, first):
        """24 bits, most significant first: address 4, command 8, their inverses."""
        word, inverse = first & 0xFFF, first >> 12
        if word ^ inverse != 0xFFF:
            self.checked = -1
            return False
        return self.set(p.RCA, reversed_bits(word & 0xF, 4), reversed_bits(word >> 4, 8), -1)

    def sirc(self, first, bits):
        """Command 7 bits, then the device; in the 20-bit form device 5 and extension 8."""
        command, device = first & 0x7F, first >> 7
        if bits == 12:
            return self.set(p.SIRC12, device, command, -1)
        if bits == 15:
            return self.set(p.SIRC15, device, command, -1)
        return self.set(p.SIRC20, (device & 0x1F) << 8 | device >> 5, command, -1)

    def half(self, first):
        """One half of a Sharp or Denon pair, 15 bits; `toggle` is 0 for the normal half, 1 for the inverted."""
        flags = first >> 13                       # first sent is the lower: Sharp's normal half sends 1, 0
        inverted = flags >> 1
        word = first ^ 0x7FE0 if inverted else first
        protocol = p.SHARP if flags in (1, 2) else p.DENON
        self.set(protocol, word & 0x1F, word >> 5 & 0xFF, inverted)
        self.checked = 0
        return True
