"""The snapshot on flash: two slots, written in turn, the newest whole one counts.

A save writes the slot that does not hold the newest snapshot, so until the new record is
whole the old one is untouched. A record is::

    P S, format (1 byte), length (1), sequence (4), tag (4), the snapshot, CRC-32 of all before (4)

numbers with the low byte first. The tag names the plan: levels of another plan are nobody's.
Equal content is not written again: it would only wear the flash.
"""

import os
from binascii import crc32

HEAD = b"PS\x01"
BEFORE, AFTER = 12, 4           # bytes around the snapshot
LONGEST = BEFORE + 255 + AFTER
SEQUENCES = 0x3FFFFFFF          # the board's small integers; the sequence wraps here

NOTHING, WHOLE, DAMAGED, ANOTHER_PLAN = range(4)


class Store:
    """Two slots over a flash edge: anything with `read(slot)` and `write(slot, record)`.

    `write` must return only when the record lies on the flash, or raise OSError. After
    `restore`, `found` says what each slot held; `failed` counts saves that did not succeed.
    """

    def __init__(self, flash, tag, length):
        self.flash, self.tag, self.length = flash, tag, length
        self.found = [NOTHING, NOTHING]
        self.saves = self.failed = 0
        self._newest, self._sequence = 1, 0         # the first save goes to slot 0
        self._held = None                           # the snapshot in the newest slot

    def restore(self):
        """Return the newest whole snapshot of this plan, None when there is none. Never raises."""
        best = None
        for slot in (0, 1):
            record = self._read(slot)
            self.found[slot] = judge(record, self.tag, self.length)
            if self.found[slot] in (WHOLE, ANOTHER_PLAN):
                sequence = int.from_bytes(record[4:8], "little")
                if best is None or 0 < (sequence - self._sequence) & SEQUENCES <= SEQUENCES >> 1:
                    best, self._newest, self._sequence = record, slot, sequence
        if best is None or self.found[self._newest] != WHOLE:
            return None
        self._held = best[BEFORE:-AFTER]
        return self._held

    def save(self, snapshot):
        """Write a snapshot unless the flash holds it; return whether it is there now."""
        if self._held is not None and self._held == snapshot:
            return True
        slot, sequence = 1 - self._newest, (self._sequence + 1) & SEQUENCES
        record = pack(snapshot, sequence, self.tag)
        try:
            self.flash.write(slot, record)
        except (OSError, MemoryError):
            self.failed += 1
            return False
        if self._read(slot) != record:              # worn: the other slot still holds the last good one
            self.failed += 1
            return False
        self.saves += 1
        self._newest, self._sequence, self._held = slot, sequence, bytes(snapshot)
        return True

    def _read(self, slot):
        try:
            return self.flash.read(slot)
        except (OSError, MemoryError):
            return None


class Files:
    """The flash edge over the board's file system: one file for each slot."""

    def __init__(self, folder):
        self.names = (folder + "/snapshot.0", folder + "/snapshot.1")

    def read(self, slot):
        """Return what the file of a slot holds, of one too long for a record its beginning. Raises OSError when there is none."""
        with open(self.names[slot], "rb") as file:
            return file.read(LONGEST + 1)

    def write(self, slot, record):
        """Write the file of a slot, and wait until it lies on the flash."""
        with open(self.names[slot], "wb") as file:
            file.write(record)
            file.flush()
        if hasattr(os, "sync"):
            os.sync()


def pack(snapshot, sequence, tag):
    """Return a record."""
    record = HEAD + bytes((len(snapshot),)) + sequence.to_bytes(4, "little") + tag.to_bytes(4, "little") + bytes(snapshot)
    return record + crc32(record).to_bytes(4, "little")


def judge(record, tag, length):
    """Return what a record is: NOTHING, WHOLE, DAMAGED or ANOTHER_PLAN."""
    if not record:
        return NOTHING
    if (len(record) < BEFORE + AFTER or record[:3] != HEAD or record[3] != len(record) - BEFORE - AFTER
            or int.from_bytes(record[-AFTER:], "little") != crc32(record[:-AFTER])
            or int.from_bytes(record[4:8], "little") > SEQUENCES):
        return DAMAGED
    if record[3] != length or int.from_bytes(record[8:12], "little") != tag:
        return ANOTHER_PLAN
    return WHOLE
