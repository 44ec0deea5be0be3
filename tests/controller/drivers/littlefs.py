"""Runs under MicroPython: the snapshot store on littlefs2 over a flash that is cut in every operation.

Prints how many cuts there were and how often the old state, the new one, or another came back:
for the store as it is; for it over files that are written in two goes, which the file system
no longer keeps whole; and for a store that over such files uses one slot only.
"""

import os
import sys

sys.path.insert(0, DRIVERS)
from cutting import Flash
from drivers.store import Files, Store

SECTORS, SAVES = 16, 12


class Halves(Files):
    def write(self, slot, record):
        for mode, part in (("wb", record[:9]), ("ab", record[9:])):
            with open(self.names[slot], mode) as file:
                file.write(part)


class OneSlot(Store):
    def save(self, snapshot):
        self._newest = 1
        return super().save(snapshot)


def snapshot(number):
    return bytes((number, 1, number, 2))


def started(flash, store, files):
    """Return a store on the mounted flash, and what it restored."""
    os.mount(os.VfsLfs2(flash), "/f")
    new = store(files("/f"), 77, 4)
    return new, new.restore()


def life(operations, halves, store, files):
    """Save again and again until the cut; return (is cut, saves that succeeded, what is found afterwards)."""
    flash = Flash(bytearray(FORMATTED), SECTORS)
    new, _ = started(flash, store, files)
    flash.left, flash.halves = operations, halves
    done = 0
    while done < SAVES and new.save(snapshot(done + 1)):
        done += 1
    os.umount("/f")
    _, found = started(Flash(flash.content, SECTORS), store, files)
    os.umount("/f")
    return flash.is_off, done, found


def count(store, files):
    cuts = olds = news = others = 0
    for halves in (1, 2):
        operations, is_cut = 0, True
        while is_cut:
            operations += 1
            is_cut, done, found = life(operations, halves, store, files)
            cuts += is_cut
            if found == snapshot(done + 1):
                news += is_cut
            elif found == (snapshot(done) if done else None):
                olds += is_cut
            else:
                others += 1
    print(cuts, olds, news, others)


blank = Flash(sectors=SECTORS)
os.VfsLfs2.mkfs(blank)
FORMATTED = bytes(blank.content)
count(Store, Files)
count(Store, Halves)
count(OneSlot, Halves)
