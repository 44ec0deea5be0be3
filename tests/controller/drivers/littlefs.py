"""Runs under MicroPython: the snapshot store on littlefs2 over a flash that is cut in every operation.

Prints how many cuts there were and how often the old state, the new one, or another came back:
for the store as it is; for it over files that are written in two goes, which the file system
no longer keeps whole; and for a store that over such files uses one slot only.
"""

import os

from drivers.store import Files, Store

SECTOR, SECTORS, SAVES = 512, 16, 12
FAILED = -5


class Flash:
    """Sectors that must be erased before they are programmed; of the operation that is cut a part is done."""

    def __init__(self, content=None):
        self.content = content or bytearray(b"\xff" * (SECTOR * SECTORS))
        self.left, self.halves = -1, 0      # operations until the cut, and how much of the last is done
        self.is_off = False

    def readblocks(self, block, buffer, offset=0):
        at = block * SECTOR + offset
        for i in range(len(buffer)):        # an abandoned file is closed by the collector, where nothing may be made
            buffer[i] = self.content[at + i]

    def writeblocks(self, block, buffer, offset=0):
        at = block * SECTOR + offset
        for i in range(self._done(len(buffer))):
            self.content[at + i] &= buffer[i]
        return FAILED if self.is_off else 0

    def ioctl(self, operation, argument):
        if operation == 4:
            return SECTORS
        if operation == 5:
            return SECTOR
        if operation == 6:
            at = argument * SECTOR
            for i in range(at, at + self._done(SECTOR)):
                self.content[i] = 0xFF
            return FAILED if self.is_off else 0
        return 0

    def _done(self, length):
        """Return how many bytes of an operation reach the flash."""
        if self.is_off:
            return 0
        self.left -= 1
        if self.left:
            return length
        self.is_off = True
        return length * self.halves // 2


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
    flash = Flash(bytearray(FORMATTED))
    new, _ = started(flash, store, files)
    flash.left, flash.halves = operations, halves
    done = 0
    while done < SAVES and new.save(snapshot(done + 1)):
        done += 1
    os.umount("/f")
    _, found = started(Flash(flash.content), store, files)
    os.umount("/f")
    return flash.is_off, done, found


def count(store, files):
    cuts = olds = news = others = 0
    for halves in (0, 1, 2):
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


blank = Flash()
os.VfsLfs2.mkfs(blank)
FORMATTED = bytes(blank.content)
count(Store, Files)
count(Store, Halves)
count(OneSlot, Halves)
