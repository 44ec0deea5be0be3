"""Independent encoders and a decoder from Debian, driven without hardware: ir-ctl, irsimsend, irsimreceive.

A missing program is an error that names its package: the tests that compare with the world must run.
"""

import os
import shutil
import subprocess
from pathlib import Path

from pattress.controller.infrared import protocols as p
from pattress.infrared.encoding import wire_bits
from pattress.infrared.scancode import LAYOUT

PACKAGES = {"ir-ctl": "v4l-utils", "irsimsend": "lirc", "irsimreceive": "lirc", "gcc": "gcc", "chromium": "chromium"}
SHIM = Path(__file__).with_name("ir_ctl_shim.c")


def program(name):
    """Return the path of a program, or fail with the Debian package that has it."""
    found = shutil.which(name)
    if not found:
        raise AssertionError(f"{name} is missing: install the Debian package {PACKAGES[name]}")
    return found


def build_shim(folder):
    """Compile the transmitter that /dev/null plays; return its path."""
    library = Path(folder, "ir_ctl_shim.so")
    subprocess.run([program("gcc"), "-shared", "-fPIC", "-Wall", "-Werror", "-O1", "-o", library, SHIM, "-ldl"], check=True)
    return library


def sent_by_ir_ctl(shim, folder, *arguments):
    """Return (frames, carriers, warnings): what ir-ctl would send, each frame a list of durations [us] from a mark."""
    log = Path(folder, "ir-ctl.log")
    log.unlink(missing_ok=True)
    ended = subprocess.run(
        [program("ir-ctl"), "-d", "/dev/null", *arguments], capture_output=True, text=True, check=False,
        env=os.environ | {"LD_PRELOAD": str(shim), "IR_CTL_LOG": str(log)},
    )
    assert ended.returncode == 0, ended.stderr
    lines = [line.split() for line in log.read_text().splitlines()]
    frames = [[int(value) for value in line[1:]] for line in lines if line[0] == "sent"]
    return frames, [int(line[1]) for line in lines if line[0] == "carrier"], ended.stderr


def lircd_remote(protocol, codes, *, name=None):
    """Return the lircd.conf block that describes these codes of one protocol: a table, in lirc's own terms."""
    name = name or p.PROTOCOLS[protocol].upper()
    carrier_lines = {
        p.RC5: ["bits 13", "flags RC5", "plead 889", "one 889 889", "zero 889 889", "gap 90000"],
        p.RC5SZ: ["bits 14", "flags RC5", "plead 889", "one 889 889", "zero 889 889", "gap 90000"],
        p.RC6: ["bits 21", "flags RC6", "header 2667 889", "one 444 444", "zero 444 444", "rc6_mask 0x10000", "gap 80000"],
        p.RC6A20: ["bits 25", "flags RC6", "header 2667 889", "one 444 444", "zero 444 444", "rc6_mask 0x100000", "gap 80000"],
        p.RC6A24: ["bits 29", "flags RC6", "header 2667 889", "one 444 444", "zero 444 444", "rc6_mask 0x1000000", "gap 80000"],
        p.RC6A32: ["bits 37", "flags RC6", "header 2667 889", "one 444 444", "zero 444 444", "rc6_mask 0x100000000", "gap 80000"],
    }
    carrier_lines[p.RC6MCE] = carrier_lines[p.RC6A32]
    keys = []
    if protocol in carrier_lines:
        lines = carrier_lines[protocol]
        for code in codes:
            bits = wire_bits(code)
            bits = bits[1:] if protocol in (p.RC5, p.RC5SZ) else [bit ^ 1 for bit in bits]
            keys.append(_hex(bits))
    else:
        lines = _distance_lines(protocol)
        for code in codes:
            bits = wire_bits(code)
            if protocol in (p.SHARP, p.DENON):
                keys.append(_hex(bits) + " " + _hex(bits[:5] + [bit ^ 1 for bit in bits[5:]]))
            else:
                keys.append(_hex(bits))
    return "\n".join([
        "begin remote", f"name {name}", "eps 30", "aeps 100", *lines, "begin codes",
        *(f"KEY_{place} {key}" for place, key in enumerate(keys)), "end codes", "end remote", "",
    ])


def _distance_lines(protocol):
    """Published nominal values, written out here once more, not taken from the decoder's table."""
    nec = ["bits 32", "header 9000 4500", "one 563 1688", "zero 563 563", "ptrail 563", "gap 40000"]
    return ["flags SPACE_ENC"] + {
        p.NEC: nec, p.NECX: nec, p.NEC32: nec,
        p.SAMSUNG: ["bits 32", "header 4500 4500", "one 560 1690", "zero 560 560", "ptrail 560", "gap 46000"],
        p.SANYO: ["bits 42", "header 9000 4500", "one 563 1688", "zero 563 563", "ptrail 563", "gap 40000"],
        p.JVC: ["bits 16", "header 8440 4220", "one 527 1583", "zero 527 528", "ptrail 527", "gap 20000"],
        p.KASEIKYO: ["bits 48", "header 3456 1728", "one 432 1296", "zero 432 432", "ptrail 432", "gap 75000"],
        p.AEHA: ["bits 48", "header 3456 1728", "one 432 1296", "zero 432 432", "ptrail 432", "gap 75000"],
        p.RCA: ["bits 24", "header 4000 4000", "one 500 2000", "zero 500 1000", "ptrail 500", "gap 8000"],
        p.SIRC12: ["bits 12", "header 2400 600", "one 1200 600", "zero 600 600", "gap 25000"],
        p.SIRC15: ["bits 15", "header 2400 600", "one 1200 600", "zero 600 600", "gap 20000"],
        p.SIRC20: ["bits 20", "header 2400 600", "one 1200 600", "zero 600 600", "gap 10000"],
        p.SHARP: ["bits 15", "one 320 1780", "zero 320 730", "ptrail 320", "gap 40000"],
        p.DENON: ["bits 15", "one 264 1848", "zero 264 792", "ptrail 264", "gap 43600"],
    }[protocol]


def _hex(bits):
    return f"0x{int(''.join(map(str, bits)), 2):x}"


def sent_by_irsimsend(folder, remotes, *, count=1):
    """Return all durations irsimsend makes of a lircd.conf text, every key `count` times, from a mark."""
    Path(folder, "lircd.conf").write_text(remotes)
    subprocess.run(
        [program("irsimsend"), "-c", str(count), "lircd.conf"], cwd=folder, check=True, capture_output=True,
        env=os.environ | {"XDG_CACHE_HOME": str(folder)},
    )
    durations = []
    for line in Path(folder, "simsend.out").read_text().splitlines():
        kind, value = line.split()
        assert kind == ("space" if len(durations) & 1 else "pulse")
        durations.append(int(value))
    return durations


def read_by_irsimreceive(folder, remotes, captures, *, silence=200_000):
    """Return (key, remote) of every frame irsimreceive decodes from captures, in order, parted by `silence` [us]."""
    Path(folder, "lircd.conf").write_text(remotes)
    lines = ["space 1000000"]
    for capture in captures:
        for place, value in enumerate(capture):
            lines.append(f"{'space' if place & 1 else 'pulse'} {value}")
        lines.append(f"space {silence}")
    Path(folder, "captures.txt").write_text("\n".join(merged_spaces(lines)) + "\n")
    ended = subprocess.run(
        [program("irsimreceive"), "lircd.conf", "captures.txt"], cwd=folder, capture_output=True, text=True, check=False,
        env=os.environ | {"XDG_CACHE_HOME": str(folder)},
    )
    answers = [line.split() for line in ended.stdout.splitlines()]
    return [(words[2], words[3]) for words in answers if len(words) == 4]


def merged_spaces(lines):
    """Join what follows one another in the same state: a capture's own last space and the silence after it."""
    joined = []
    for line in lines:
        kind, value = line.split()
        if joined and joined[-1][0] == kind:
            joined[-1][1] += int(value)
        else:
            joined.append([kind, int(value)])
    return [f"{kind} {value}" for kind, value in joined]


def to_scancode(code):
    """Return the kernel's protocol name and scancode of a code, or None where the kernel has no such decoder."""
    for name, (protocol, bits) in LAYOUT.items():
        if protocol == code.protocol:
            address = (code.address >> 6) << 7 | code.address & 0x3F if protocol == p.RC5SZ else code.address
            return name, address << bits | code.command
    return None
