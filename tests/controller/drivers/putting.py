"""Runs under MicroPython: a new program is put on littlefs2, and the power is cut in every operation.

Prints how many cuts there were, and how often the next start found the old program, the new
one, or another: one that is neither whole nor known.
"""

import os
import sys

sys.path[:0] = ["..", DRIVERS]
from binascii import hexlify
from hashlib import sha256
from json import dumps

from controller.filling import accept, clear
from controller.start import Slots, choose
from cutting import Flash

CARELESS = False
CHECK = open("main.py").read()
PROGRAM = "NUMBER = {}\n" + "# of some length\n" * 40


def write(path, text):
    with open(path, "w") as file:
        file.write(text)


def put(number):
    """Put a program on the board that is mounted on /f."""
    slots = Slots("/f")
    slot = clear(slots)
    files = {"main.py": CHECK, "full.py": PROGRAM.format(number), "board.json": dumps(number)}
    manifest = dumps({"files": {name: hexlify(sha256(files[name].encode()).digest()).decode() for name in files}})
    if CARELESS:                # says that it is there before it is
        write("/f/" + slot + "/manifest.json", manifest)
        record = slots.record()
        record.update({"slot": slot, "trial": True})
        slots.note(record)
    write("/f/" + slot + "/manifest.new", manifest)
    for name in files:
        write("/f/" + slot + "/" + name, files[name])
    forget()
    accept(slots, slot)


def forget():
    for name in list(sys.modules):
        if name[0] in "ab" and (len(name) == 1 or name[1] == "."):
            del sys.modules[name]


def started():
    """Start as the board does; return the number of the program it would run, None for a broken one."""
    slots = Slots("/f")
    slot, _, record = choose(slots.record(), slots.whole())
    slots.note(record)
    forget()
    try:
        import json

        with open(slots.path(slot, "manifest.json")) as file:
            if slots.load(slot, "main").differing(json.load(file), slots.path(slot)):
                return None
        return slots.load(slot, "full").NUMBER
    except (OSError, ImportError, ValueError, AttributeError):
        return None


def mounted(content):
    flash = Flash(content)
    os.mount(os.VfsLfs2(flash), "/f")
    return flash


blank = Flash()
os.VfsLfs2.mkfs(blank)
mounted(blank.content)
put(1)
put(2)                          # so that an older program lies where the new one goes
started()
Slots("/f").healthy()
os.umount("/f")
BEFORE = bytes(blank.content)

cuts = olds = news = others = 0
for halves in (1, 2):
    operations, is_cut = 0, True
    while is_cut:
        operations += 7 if CARELESS else 1
        flash = mounted(bytearray(BEFORE))
        flash.left, flash.halves = operations, halves
        try:
            put(3)
            started()
            Slots("/f").healthy()
        except OSError:
            pass
        is_cut = flash.is_off
        os.umount("/f")
        mounted(flash.content)
        found = started()
        os.umount("/f")
        cuts += is_cut
        if found == 3:
            news += is_cut
        elif found == 2:
            olds += is_cut
        else:
            others += 1
print(cuts, olds, news, others)
