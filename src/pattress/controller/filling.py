"""A slot filled with a new program: made ready, then allowed to start. For whoever puts one on the board.

`slots` as in `start`. Each operation on the flash is one step, so that it can wait for a quiet moment, and a
cut between any two leaves the former program or the new one. The workbench sends this file over
the serial link, too: it imports nothing of the board's.
"""

import json
import os

MANIFEST, BESIDE = "manifest.json", "manifest.new"


def clear(slots):
    """Make the idle slot ready to be filled; return its name."""
    slot = slots.idle()
    for _ in clearing(slots, slot):
        pass
    return slot


def clearing(slots, slot):
    """Yield before each operation on the flash that makes a slot ready. The manifest goes first."""
    record = slots.record()
    if record["slot"] == slot:          # it was on trial, and failed
        record.update({"slot": "b" if slot == "a" else "a", "trial": False, "tries": 0})
        yield
        slots.note(record)
    for name in (MANIFEST, BESIDE):
        yield
        try:
            os.remove(slots.path(slot, name))
        except OSError:
            pass
    yield
    try:
        os.mkdir(slots.path(slot))
    except OSError:
        pass


def accept(slots, slot):
    """Let the filled idle slot run at the next start, on trial. Its manifest lies there as BESIDE.

    What the manifest does not know is removed. Raises ValueError naming the files that are
    missing or not as it says: then the present program stays.
    """
    check, folder = slots.load(slot, "main"), slots.path(slot)
    with open(slots.path(slot, BESIDE)) as file:
        manifest = json.load(file)
    for name in check.lying(folder):
        if name not in manifest["files"] and name != BESIDE:
            os.remove(slots.path(slot, name))
    wrong = check.differing(manifest, folder)
    if wrong:
        raise ValueError("not as in the manifest: " + ", ".join(wrong))
    for _ in promoting(slots, slot):
        pass


def promoting(slots, slot, joins=False):
    """Yield before each operation on the flash that lets a slot run at the next start, whose files are known to be right.

    `joins`: it must have joined the network to be healthy.
    """
    yield
    os.rename(slots.path(slot, BESIDE), slots.path(slot, MANIFEST))
    yield
    record = slots.record()
    record.update({"trial": slot != record["slot"], "slot": slot, "tries": 0, "fell_back": False, "joins": joins, "ended": ""})
    slots.note(record)
