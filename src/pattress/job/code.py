"""A button's code as people write it: ``nec 0x04:0x08`` is protocol, address, command.

The text form stands in the job file and on every sheet; the three numbers go into the board's plan.
A code has exactly one text form: where two protocols would describe the same transmitted bits
(`necx` with an address whose bytes are inverses *is* `nec`), only the first by the decoder's rule
is allowed, and the error names it.
"""

import re
from dataclasses import dataclass

from pattress.controller.infrared.code_fields import HALVES_VENDOR, maker_allows
from pattress.controller.infrared.protocols import (
    ADDRESS_BITS,
    AEHA,
    COMMAND_BITS,
    KASEIKYO,
    NEC,
    NEC32,
    NECX,
    PROTOCOLS,
    RC6A32,
    RC6MCE,
    SAMSUNG,
)
from pattress.refusal import Refusal, as_found, nearest, word_list

NAMES = PROTOCOLS[1:]
LONGEST = 60                 # characters of a code's text
MCE_VENDOR = 0x800F          # Linux kernel rc-core: this vendor's frames carry a toggle in the data

_SHAPE = re.compile(r"([a-z0-9]+)\s+(0x[0-9a-f]+|[0-9]+)\s*:\s*(0x[0-9a-f]+|[0-9]+)", re.IGNORECASE)


class CodeError(Refusal):
    """The text or the numbers are no button's code. Usual cause: a digit lost in copying."""


@dataclass(frozen=True, order=True)
class Code:
    """One button of one remote: protocol number of `PROTOCOLS`, address, command."""

    protocol: int
    address: int
    command: int

    @property
    def name(self) -> str:
        """The protocol's name, for example ``"nec"``."""
        return PROTOCOLS[self.protocol]

    def __str__(self) -> str:
        return format_code(self)


def code(*, protocol: int | str, address: int, command: int) -> Code:
    """Return the `Code` of these numbers after checking that it is one.

    Parameters
    ----------
    protocol : int or str
        Number or name of `PROTOCOLS`.
    address, command : int
        Within the protocol's bits.

    Raises
    ------
    CodeError
        The protocol is unknown, a number does not fit, or another protocol describes the same frame.
    """
    if isinstance(protocol, str):
        if protocol not in NAMES:
            raise _unknown_protocol(protocol, repr(protocol))
        protocol = PROTOCOLS.index(protocol)
    if not 0 < protocol < len(PROTOCOLS):
        raise CodeError(f"protocol number {protocol}", f"1 to {len(PROTOCOLS) - 1}")
    name = PROTOCOLS[protocol]
    for quantity, value, bits in (
        ("address", address, ADDRESS_BITS[protocol]),
        ("command", command, COMMAND_BITS[protocol]),
    ):
        if not 0 <= value < 1 << bits:
            raise CodeError(
                f"{name} with {quantity} {hex(value)}",
                f"{quantity} of {name} from 0x0 to {hex((1 << bits) - 1)} ({bits} bits)",
            )
    found = Code(protocol, address, command)
    plain = canonical(found)
    if plain != found:
        raise CodeError(f"{_text(found)}, the very frame of {_text(plain)}", _text(plain))
    if protocol in (KASEIKYO, AEHA):
        _check_maker(found)
    return found


def canonical(found: Code) -> Code:
    """Return the code the decoder reports for the frame of `found`.

    The rules are the kernel's (Linux rc-core, ir-nec-decoder) for the NEC family; for Kaseikyo and
    RC-6 they are ours and stated in `pattress.controller.infrared`.
    """
    protocol, address, command = found.protocol, found.address, found.command
    if protocol == NEC32 and _inverse(command >> 8, command & 0xFF):
        protocol, address, command = NECX, (address & 0xFF) << 8 | address >> 8, command & 0xFF
    if protocol in (NECX, SAMSUNG) and _inverse(address >> 8, address & 0xFF):
        protocol, address = NEC, address >> 8
    if protocol == AEHA and (command >> 8 ^ command) & 0xFF == kaseikyo_check(address=address, command=0):
        protocol, command = KASEIKYO, command >> 8
    if protocol == RC6A32 and address == MCE_VENDOR:
        protocol, command = RC6MCE, command & 0x7FFF
    elif protocol == RC6MCE and address != MCE_VENDOR:
        protocol = RC6A32
    return Code(protocol, address, command)


def kaseikyo_check(*, address: int, command: int) -> int:
    """Return the check byte of a Kaseikyo frame: byte 3 XOR byte 4 XOR byte 5.

    Source: Denon AVR-3808 RC code sheet, 2007-07-06, p. 6; JP1 Remotes wiki, page Kaseikyo.
    """
    vendor, device = address >> 12, address & 0xFFF
    parity = (vendor ^ vendor >> 4 ^ vendor >> 8 ^ vendor >> 12) & 0xF
    return (parity | (device & 0xF) << 4) ^ device >> 4 ^ command


def _check_maker(found: Code) -> None:
    """Refuse a code whose frame the decoder refuses: the check of a maker known to send one fails in it."""
    vendor, check = found.address >> 12, kaseikyo_check(address=found.address, command=0)
    rest = 0 if found.protocol == KASEIKYO else check ^ found.command >> 8 ^ found.command & 0xFF
    if not maker_allows(vendor, rest):
        sent = "aeha with a check that fits, as learnt from the remote" if vendor == HALVES_VENDOR else _text(
            Code(KASEIKYO, found.address, found.command >> 8))
        raise CodeError(f"{_text(found)}, whose check this maker's remotes never send", sent)


def format_code(found: Code) -> str:
    """Return the text form of a code: ``nec 0x04:0x08``, hex digits padded to the field."""
    return _text(found)


def parse_code(text: object) -> Code:
    """Return the `Code` a text such as ``nec 0x04:0x08`` names; numbers in hex (0x) or decimal.

    Raises
    ------
    CodeError
        Not of that form, unknown protocol, a number out of range, or not the form decoded for
        these bits. The message says what was found, what is allowed and the nearest.
    """
    match = _SHAPE.fullmatch(text.strip()) if isinstance(text, str) and len(text) <= LONGEST else None
    if match is None:
        raise CodeError(
            as_found(text), f"protocol address:command, as in 'nec 0x04:0x08'; protocols {word_list(NAMES)}"
        )
    name, address, command = match[1].lower(), _number(match[2]), _number(match[3])
    if name not in NAMES:
        raise _unknown_protocol(name, repr(text), f" {match[2]}:{match[3]}")
    return code(protocol=name, address=address, command=command)


def _number(text: str) -> int:
    return int(text, 16 if text[:2] in ("0x", "0X") else 10)


def _inverse(one: int, other: int) -> bool:
    return one ^ other == 0xFF


def _text(found: Code) -> str:
    address = f"0x{found.address:0{-(-ADDRESS_BITS[found.protocol] // 4)}x}"
    command = f"0x{found.command:0{-(-COMMAND_BITS[found.protocol] // 4)}x}"
    return f"{PROTOCOLS[found.protocol]} {address}:{command}"


def _unknown_protocol(name: str, shown: str, rest: str = "") -> CodeError:
    near = nearest(name, NAMES)
    return CodeError(f"{shown}, whose protocol is not known here", word_list(NAMES), near and near + rest)
