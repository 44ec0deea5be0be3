"""Runs under MicroPython: the copy in the read-only partition is made anew, and the power is cut in every operation.

Prints how many cuts there were, and how often the partition then held the old copy, the new
one, none, or another: one that says whose it is and is not as its files are. CARELESS writes without
making the old copy void first.
"""

import os
import sys
import vfs

sys.path[:0] = [VIRTUAL]
from partition import SIZE, Partition

import rom

CARELESS = False
KNOWN = ("old", "new")


def made(name, partition):
    rom.fill(partition, ("bundle", name.encode()), name, "c", lambda: None)


def found(memory):
    """Return whose copy lies there, None for none, "?" when it is not as its files are."""
    try:
        vfs.mount(vfs.VfsRom(memory), "/rom")
    except OSError:
        return None
    try:
        with open("/rom/bundle") as file:
            name = file.read()
        return name if name in KNOWN and is_same(name, "/rom/c") else "?"
    except (OSError, UnicodeError):
        return None                     # no label: it is nobody's, and not used
    finally:
        vfs.umount("/rom")


def is_same(source, copy):
    for name in os.listdir(source):
        try:
            with open(source + "/" + name, "rb") as one, open(copy + "/" + name, "rb") as other:
                if one.read() != other.read():
                    return False
        except OSError:
            return False
    return True


before = Partition(bytearray(b"\xff" * (4 * SIZE)))
made("old", before)
assert found(before.memory) == "old"
first = before.operations
cuts, counts = 0, {"old": 0, "new": 0, None: 0, "?": 0}
for tear in [(quarters, is_from_the_end) for quarters in (0, 1, 2, 3, 4) for is_from_the_end in (False, True)]:
    left = 1
    while True:
        partition = Partition(bytearray(before.memory))
        if CARELESS == "early":         # the old copy is not made void
            rom.VOID = rom.BLANK
        if CARELESS == "late":          # the mark does not come last
            rom.BLANK = rom.MAGIC
        partition.left, partition.tear = left, tear
        try:
            made("new", partition)
        except OSError:
            pass
        if not partition.is_off:
            break
        cuts, left = cuts + 1, left + 1
        counts[found(partition.memory)] += 1
print(cuts, counts["old"], counts["new"], counts[None], counts["?"])
