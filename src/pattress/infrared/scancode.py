"""The Linux kernel's numbers for infra-red codes, and the keymap files that list them.

Keymaps (`/usr/lib/udev/rc_keymaps/*.toml` of the Debian package ir-keytable) name the buttons of many remotes.
They are read from the user's own disk; none is part of this package. The layout of scancodes follows the kernel's
`userspace-api/media/rc/rc-protos.rst` and the sources of its decoders, `drivers/media/rc/ir-*-decoder.c`.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pattress.controller.infrared import protocols as p
from pattress.errors import PattressError
from pattress.incoming import FileRefusal, text_of, toml_of
from pattress.job.code import Code, CodeError, canonical
from pattress.plural import counted
from pattress.refusal import advice

KEYMAPS = Path("/usr/lib/udev/rc_keymaps")

# kernel name: protocol, bits of the command below the address
LAYOUT = {
    "nec": (p.NEC, 8), "necx": (p.NECX, 8), "nec32": (p.NEC32, 16), "sanyo": (p.SANYO, 8), "jvc": (p.JVC, 8),
    "rc5": (p.RC5, 8), "rc6_0": (p.RC6, 8), "rc6_6a_20": (p.RC6A20, 16), "rc6_6a_24": (p.RC6A24, 16),
    "rc6_6a_32": (p.RC6A32, 16), "rc6_mce": (p.RC6MCE, 16), "sharp": (p.SHARP, 8),
    "sony12": (p.SIRC12, 16), "sony15": (p.SIRC15, 16), "sony20": (p.SIRC20, 8), "rc5_sz": (p.RC5SZ, 6),
}
_ALIASES = {"rc-5-sz": "rc5_sz", "rc-5": "rc5", "rc6": "rc6_0", "rc_6_mce": "rc6_mce", "sony": "sony12"}
KERNEL_NAMES = tuple(LAYOUT)


class KeymapError(PattressError):
    """A keymap file cannot be used. Usual cause: a path to something else, or a remote of a protocol not decoded here."""

    def __init__(self, path: Path, found: str, allowed: str) -> None:
        super().__init__(f"{path}: found {found}{advice(allowed, '')}")


def from_scancode(name: str, scancode: int) -> Code:
    """Return the `Code` of a kernel scancode, in the form the decoder reports.

    Raises
    ------
    CodeError
        The kernel protocol is not one we decode, or the scancode has more bits than it.
    """
    known = _ALIASES.get(name, name)
    if known not in LAYOUT:
        raise CodeError(f"kernel protocol {name!r}", ", ".join(KERNEL_NAMES))
    if known == "nec32" and scancode < 1 << 24 or known == "nec" and 1 << 16 <= scancode < 1 << 24:
        known = "necx"          # the kernel compares numbers only, and this is what it reports for such a frame
    protocol, bits = LAYOUT[known]
    address, command = scancode >> bits, scancode & (1 << bits) - 1
    if protocol == p.RC5SZ:
        address = (address >> 7) << 6 | address & 0x3F
    if not 0 <= address < 1 << p.ADDRESS_BITS[protocol] or command >= 1 << p.COMMAND_BITS[protocol]:
        most = (1 << p.ADDRESS_BITS[protocol]) - 1
        raise CodeError(f"scancode {scancode:#x} of {name}", f"address 0x0 to {most:#x}, command of {p.COMMAND_BITS[protocol]} bits")
    return canonical(Code(protocol, address, command))


@dataclass(frozen=True)
class Keymap:
    """The buttons of one remote from a keymap file: (kernel key name, code) in the file's order."""

    name: str
    buttons: tuple[tuple[str, Code], ...]
    left_out: tuple[str, ...]      # what the file holds that we do not decode, one phrase each


def read_keymap(path: Path) -> Keymap:
    """Return the `Keymap` in one TOML file of the kernel's form.

    Raises
    ------
    KeymapError
        The file cannot be read, is not of that form, or holds nothing we decode.
    """
    path, form = Path(path), "TOML with [[protocols]] tables, as the files in " + str(KEYMAPS)
    try:
        tables = toml_of(text_of(path, "a keymap file")).get("protocols")
    except FileRefusal as refusal:
        raise KeymapError(path, f"no readable file ({refusal.found})", f"{form} (Debian package ir-keytable)") from None
    if not isinstance(tables, list) or not all(isinstance(table, dict) for table in tables):
        raise KeymapError(path, "no [[protocols]] tables", form)
    name, buttons, left_out = path.stem, [], []
    for table in tables:
        name = str(table.get("name", name))
        protocol = str(table.get("variant", table.get("protocol", "")))
        scancodes = table.get("scancodes", {})
        if not isinstance(scancodes, dict):
            raise KeymapError(path, f"scancodes of {name!r} that are no table", 'lines such as 0x1e01 = "KEY_POWER"')
        for text, key in scancodes.items():
            try:
                buttons.append((str(key), _keymap_code(table, protocol, int(text, 0))))
            except ValueError:
                left_out.append(f"{key} {text} ({protocol or 'no protocol named'})")
    if not buttons:
        raise KeymapError(path, f"{counted(len(left_out), 'code')}, none of a protocol decoded here", ", ".join(KERNEL_NAMES))
    return Keymap(name, tuple(buttons), tuple(left_out))


def _keymap_code(table: Mapping[str, Any], protocol: str, scancode: int) -> Code:
    """The code of one entry; a pulse-distance table with Samsung's leader and 32 bits is Samsung's."""
    if protocol == "pulse_distance" and table.get("header_pulse") == table.get("header_space") == 4500 and table.get("bits") == 32:
        octets = [int(f"{scancode >> shift & 0xFF:08b}"[::-1], 2) for shift in (24, 16, 8, 0)]
        if octets[2] ^ octets[3] != 0xFF:
            raise CodeError(f"scancode {scancode:#x}", "a third byte that is the inverse of the fourth")
        return canonical(Code(p.SAMSUNG, octets[0] << 8 | octets[1], octets[2]))
    return from_scancode(protocol, scancode)
