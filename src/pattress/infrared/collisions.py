"""Which buttons of the other remotes in the room may trigger ours, and which addresses are free of that.

Certain: the same frame. Possible, and said why: a frame that becomes ours when its end, its leader or its head is
lost, or that differs in one bit of a protocol without any check. What is not looked at: remotes that are not given.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from pattress.controller.infrared import protocols as p
from pattress.infrared.encoding import wire_bits
from pattress.job.code import Code, canonical
from pattress.job.code import code as checked_code
from pattress.plural import counted

# Protocols a person may give our own remote, those with the most check bits first
OFFERED = (p.NEC, p.KASEIKYO, p.SHARP, p.DENON, p.RCA, p.NECX, p.SAMSUNG, p.RC6, p.RC5, p.JVC, p.SIRC15, p.SIRC12)
_NEC_FAMILY = (p.NEC, p.NECX, p.NEC32, p.SANYO)


@dataclass(frozen=True)
class Remote:
    """A remote by name with its buttons: (button, code)."""

    name: str
    buttons: tuple[tuple[str, Code], ...]


@dataclass(frozen=True)
class Collision:
    """One of our buttons that a button of another remote triggers, or may."""

    button: str
    code: Code
    remote: str             # whose
    other_button: str
    other: Code
    certain: bool           # True: each press does; False: under the circumstance `why` names
    why: str

    def __str__(self) -> str:
        verb = "triggers" if self.certain else "may trigger"
        return f"{self.remote} {self.other_button} ({self.other}) {verb} {self.button} ({self.code}): {self.why}"


def collisions(ours: Remote, others: Sequence[Remote]) -> tuple[Collision, ...]:
    """Return the `Collision`s of our `Remote` with each of the `others`, the certain ones first."""
    found = []
    for remote in others:
        for other_button, other in remote.buttons:
            for button, code in ours.buttons:
                why = why_mistaken(heard=other, for_=code)
                if why:
                    found.append(Collision(button, code, remote.name, other_button, other, *why))
    return tuple(sorted(found, key=lambda one: (not one.certain, one.button, one.remote, one.other_button)))


def why_mistaken(*, heard: Code, for_: Code) -> tuple[bool, str] | None:
    """Return (certain, why) if a sent code may be taken `for_` another, else None."""
    heard, ours = canonical(heard), canonical(for_)
    if heard == ours:
        if ours.protocol == p.HASH:
            return True, "both are recognised by the same pattern only"
        return True, "the same frame"
    if p.HASH in (heard.protocol, ours.protocol):
        return None
    sent, wanted = wire_bits(heard), wire_bits(ours)
    if heard.protocol == ours.protocol:
        if p.CHECK_BITS[ours.protocol] < 8 and sum(one != other for one, other in zip(sent, wanted)) == 1:
            return False, "one bit differs and the protocol has no check"
        return None
    pair = heard.protocol, ours.protocol
    if pair in ((p.SIRC20, p.SIRC15), (p.SIRC20, p.SIRC12), (p.SIRC15, p.SIRC12)) and sent[:len(wanted)] == wanted:
        return False, "the shorter code is the beginning of the longer, if its end is lost"
    if ours.protocol == p.JVC and heard.protocol in _NEC_FAMILY and sent[:16] == wanted:
        return False, "the first half of this frame is the whole of ours, if its end is lost"
    if pair in ((p.NECX, p.SAMSUNG), (p.SAMSUNG, p.NECX)) and sent == wanted:
        return False, "only the leader differs, and a receiver's gain control may shorten it"
    if pair == (p.RC5SZ, p.RC5) and sent[1:2] + sent[2:] == wanted:
        return False, "ours is this frame without its first bit, if that is lost"
    if pair == (p.AEHA, p.KASEIKYO) and sum(one != other for one, other in zip(sent, wanted)) == 1:
        return False, "one bit differs, and it is the check's only fault"
    if {p.RC6A32, p.RC6MCE} == set(pair) and heard.command & 0x7FFF == ours.command & 0x7FFF and heard.address == ours.address:
        return False, "only the toggle bit differs"
    return None


@dataclass(frozen=True)
class Proposal:
    """An address no other remote in the room uses, with the codes our buttons would have there."""

    protocol: int
    address: int
    buttons: tuple[tuple[str, Code], ...]
    apart: int              # bits in which it differs from the nearest address in use; all bits if there is none

    def __str__(self) -> str:
        first = self.buttons[0][1] if self.buttons else Code(self.protocol, self.address, 0)
        return f"{p.PROTOCOLS[self.protocol]} address 0x{self.address:x}: {first} and on, {counted(self.apart, 'bit')} from any in use"


def free_addresses(ours: Remote, others: Sequence[Remote], *, protocols: Sequence[int] = OFFERED, count: int = 3) -> tuple[Proposal, ...]:
    """Return up to `count` `Proposal`s per protocol under which our buttons collide with none of the others.

    Commands are kept where they fit the protocol, else numbered from 0. Addresses that differ in the most bits
    from those in use come first; of equals the lowest.
    """
    proposals = []
    for protocol in protocols:
        used = _addresses_in_use(protocol, others)
        bits = p.ADDRESS_BITS[protocol]
        commands = [code.command for _, code in ours.buttons]
        if any(command >> p.COMMAND_BITS[protocol] for command in commands) or len(set(commands)) < len(commands):
            commands = list(range(len(ours.buttons)))
        if not commands or max(commands) >> p.COMMAND_BITS[protocol]:
            continue
        ranked = sorted(_candidates(protocol), key=lambda address: (-_apart(address, used, bits), address))
        kept = 0
        for address in ranked:
            if address in used or kept == count:
                continue
            try:
                codes = [checked_code(protocol=protocol, address=address, command=command) for command in commands]
            except ValueError:                  # another protocol's frame
                continue
            remote = Remote(ours.name, tuple((button, code) for (button, _), code in zip(ours.buttons, codes)))
            if not collisions(remote, others):
                proposals.append(Proposal(protocol, address, remote.buttons, _apart(address, used, bits)))
                kept += 1
    return tuple(proposals)


def _addresses_in_use(protocol: int, others: Sequence[Remote]) -> set[int]:
    """Addresses of the protocol that any given remote sends."""
    return {code.address for remote in others for _, code in remote.buttons if code.protocol == protocol}


def _candidates(protocol: int) -> list[int] | range:
    """Addresses to try: all of a short field; of a long one those a universal remote can be set to."""
    bits = p.ADDRESS_BITS[protocol]
    if bits <= 8:
        return range(1 << bits)
    if protocol == p.SAMSUNG:
        return [octet * 0x101 for octet in range(256)]            # the custom code is sent twice
    if protocol == p.KASEIKYO:
        return [0x2002 << 12 | device for device in range(0, 1 << 12, 17)]
    return range(0, 1 << bits, 257)


def _apart(address: int, used: set[int], bits: int) -> int:
    return min(((address ^ other).bit_count() for other in used), default=bits)
