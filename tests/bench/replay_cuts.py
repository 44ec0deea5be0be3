"""Runs under MicroPython: lines that once went over a link are run again, on a flash whose power is cut in
every operation, or in every so many.

Fed: the lines that put the old program there, "CUT FROM HERE", the lines that put
the new one. Prints how many cuts there were, and how often the next start found the old program,
the new one, or another: one that is neither whole nor known.
"""

import json
import sys

sys.path[:0] = [CUTTING]
import os
import vfs
from cutting import Flash

SECTORS = 160


class Machine:
    class Timer:
        PERIODIC = 1

        def __init__(self, *given, **more):
            pass


sys.modules["machine"] = Machine
lines = [json.loads(line) for line in sys.stdin]
first = lines[:lines.index("CUT FROM HERE")]
then = lines[len(first) + 1:]


def mounted(content):
    flash = Flash(content, SECTORS)
    vfs.mount(vfs.VfsLfs2(flash), "/")
    return flash


def forget():
    for name in list(sys.modules):
        if name == "start" or name.split(".")[0] in ("a", "b", "core"):
            del sys.modules[name]


def said(lines):
    """Run the lines as the board does, but for what they print."""
    forget()
    space = {"print": lambda *words: None}
    for line in lines:
        exec(line, space)


def started():
    """Start as the board does; return the number of the program it would run, None for a broken one."""
    forget()
    try:
        os.stat("/main.py")
        start = __import__("start")
        slots = start.Slots()
        slot, _, record = start.choose(slots.record(), slots.whole())
        with open(slots.path(slot, "manifest.json")) as file:
            if slots.load(slot, "main").differing(json.load(file), slots.path(slot)):
                return None
        with open(slots.path(slot, "plan.json")) as file:
            number = json.load(file)["number"]
        slots.note(record)
        slots.healthy()
        return number
    except (OSError, ImportError, ValueError, AttributeError):
        return None


vfs.umount("/")
sys.path[:0] = [""]
blank = Flash(None, SECTORS)
vfs.VfsLfs2.mkfs(blank)
mounted(blank.content)
said(first)
assert started() == 1
os.chdir("/")
vfs.umount("/")
BEFORE = bytes(blank.content)
cuts = olds = news = others = 0
for halves in (1, 2):       # of the cut operation half is done, or all of it
    operations, is_cut = 0, True
    while is_cut:
        operations += EVERY
        flash = mounted(bytearray(BEFORE))
        flash.left, flash.halves = operations, halves
        try:
            said(then)
            started()
        except (OSError, ValueError):
            pass
        is_cut = flash.is_off
        os.chdir("/")
        vfs.umount("/")
        mounted(flash.content)
        found = started()
        vfs.umount("/")
        cuts += is_cut
        if found == 2:
            news += is_cut
        elif found == 1:
            olds += is_cut
        else:
            others += 1
print(cuts, olds, news, others)
