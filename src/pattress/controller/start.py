"""What the board runs at power-up: relays open, then the right program from the right slot.

On the root of the flash lie this module, a `main.py` that calls `run`, a record, and two
slots, `a` and `b`, each a folder with a whole bundle or with what an interrupted transfer
left. A slot counts only if it holds a manifest, which is removed first and written last.

The record is replaced whole, by a rename. It says which slot is meant, whether that slot is on
trial, and how often it was started without having reported healthy:

- a slot on trial gets one start; without a healthy report the other one is back for good;
- after FULL_TRIES starts the minimal program runs: wall switches and regulators only;
- after MINIMAL_TRIES of those, the minimal program of the other slot.

Imports nothing from a slot before the relays are driven open.
"""

import json
import os
import sys

NAMES = ("a", "b")
RECORD, BESIDE = "start.json", "start.new"
MANIFEST, MANIFEST_BESIDE, BOARD = "manifest.json", "manifest.new", "board.json"
FULL, MINIMAL = "full", "minimal"
FULL_TRIES, MINIMAL_TRIES = 3, 3
WATCHDOG_MS = 8000              # the longest that every board can


def choose(record, whole):
    """Return (slot, program, record of this start); slot is None when there is no whole one.

    `record` as `Slots.record` gives it, `whole` the slots that hold a manifest.
    """
    slot, is_trial, tries = record["slot"], record["trial"], record["tries"]
    other = _other(slot)
    fell_back = False
    if slot not in whole or (is_trial and tries):
        if other in whole:
            slot, other, fell_back = other, slot, is_trial
            tries = 0
        elif slot not in whole:
            return None, FULL, record
        is_trial = False
    if tries >= FULL_TRIES + MINIMAL_TRIES:
        tries = FULL_TRIES
        if other in whole:
            slot = other
    program = FULL if tries < FULL_TRIES else MINIMAL
    return slot, program, {
        "slot": slot, "trial": is_trial, "tries": tries + 1, "starts": record["starts"] + 1,
        "fell_back": record["fell_back"] or fell_back}


def _other(slot):
    return NAMES[1 - NAMES.index(slot)]


class Slots:
    """The two slots and the record under `root`."""

    def __init__(self, root=""):
        self.root = root

    def path(self, *names):
        """Return the path of something under the root."""
        return "/".join((self.root,) + names)

    def record(self):
        """Return the record; a lost or strange one counts as: slot a, not on trial."""
        found = {"slot": NAMES[0], "trial": False, "tries": 0, "starts": 0, "fell_back": False}
        try:
            with open(self.path(RECORD)) as file:
                read = json.load(file)
            for name in found:
                if isinstance(read[name], type(found[name])) and (name != "slot" or read[name] in NAMES):
                    found[name] = read[name]
        except (OSError, ValueError, KeyError, TypeError):
            pass
        return found

    def note(self, record):
        """Replace the record: written beside, then renamed."""
        with open(self.path(BESIDE), "w") as file:
            json.dump(record, file)
        os.rename(self.path(BESIDE), self.path(RECORD))

    def whole(self):
        """Return the slots that hold a manifest."""
        found = []
        for slot in NAMES:
            try:
                os.stat(self.path(slot, MANIFEST))
                found.append(slot)
            except OSError:
                pass
        return found

    def healthy(self):
        """Note that the program that runs works: a trial is passed, crashes are forgotten.

        After a minimal program the next start tries the full one, once.
        """
        record = self.record()
        record["tries"] = FULL_TRIES - 1 if record["tries"] > FULL_TRIES else 0
        record["trial"] = False
        self.note(record)

    # For whoever puts a new program on the board.

    def idle(self):
        """Return the slot that a new program goes to."""
        slot, _, _ = choose(self.record(), self.whole())
        return NAMES[0] if slot is None else _other(slot)

    def clear(self):
        """Make the idle slot ready to be filled; return its name."""
        slot = self.idle()
        for _ in self.clearing(slot):
            pass
        return slot

    def clearing(self, slot):
        """Yield before each operation on the flash that makes a slot ready. The manifest goes first."""
        record = self.record()
        if record["slot"] == slot:          # it was on trial, and failed
            record.update({"slot": _other(slot), "trial": False, "tries": 0})
            yield
            self.note(record)
        for name in (MANIFEST, MANIFEST_BESIDE):
            yield
            try:
                os.remove(self.path(slot, name))
            except OSError:
                pass
        yield
        try:
            os.mkdir(self.path(slot))
        except OSError:
            pass

    def accept(self, slot):
        """Let the filled idle slot run at the next start, on trial. Its manifest lies there as MANIFEST_BESIDE.

        What the manifest does not know is removed. Raises ValueError naming the files that are
        missing or not as it says: then the present program stays.
        """
        check, folder = self.load(slot, "main"), self.path(slot)
        with open(self.path(slot, MANIFEST_BESIDE)) as file:
            manifest = json.load(file)
        for name in check.lying(folder):
            if name not in manifest["files"] and name != MANIFEST_BESIDE:
                os.remove(self.path(slot, name))
        wrong = check.differing(manifest, folder)
        if wrong:
            raise ValueError("not as in the manifest: " + ", ".join(wrong))
        for _ in self.promoting(slot):
            pass

    def promoting(self, slot):
        """Yield before each operation on the flash that lets a slot run at the next start, whose files are known to be right."""
        yield
        os.rename(self.path(slot, MANIFEST_BESIDE), self.path(slot, MANIFEST))
        yield
        record = self.record()
        record.update({"trial": slot != record["slot"], "slot": slot, "tries": 0, "fell_back": False})
        self.note(record)

    def load(self, slot, module):
        """Return a module of a slot."""
        if self.root not in sys.path:
            sys.path.insert(0, self.root)
        return getattr(__import__(slot + "." + module), module)


_feeder = None                  # must not be collected


class Site:
    """What a program is given: where it lies, its board's table, and what runs below it."""

    def __init__(self, slots, slot, record, board, machine, watchdog):
        self.slots, self.slot, self.record = slots, slot, record
        self.folder = slots.path(slot)
        self.board, self.machine, self.watchdog = board, machine, watchdog


def open_relays(machine, board):
    """Drive every relay of the board open: the level first, then the direction."""
    for number in board["relays"]:
        machine.Pin(number, machine.Pin.OUT, value=1 - board["relay_level"])


def run(root="", machine=None):
    """Start the program that `choose` names. Comes back only to a person at the console."""
    if machine is None:
        import machine
    slots = Slots(root)
    slot, program, record = choose(slots.record(), slots.whole())
    if slot is None:
        print("no program on this board")
        return
    board = None
    try:
        with open(slots.path(slot, BOARD)) as file:
            board = json.load(file)
        open_relays(machine, board)
        watchdog = machine.WDT(timeout=WATCHDOG_MS)
        slots.note(record)
        slots.load(slot, program).run(Site(slots, slot, record, board, machine, watchdog))
    except KeyboardInterrupt:
        open_relays(machine, board)
        stay(machine, watchdog)
        return
    except Exception as error:
        if board:
            open_relays(machine, board)
        else:
            slots.note(record)          # this start counts too
        _tell(error)
    machine.reset()


def stay(machine, watchdog):
    """Keep the board from resetting while a person works at its console: the watchdog cannot be stopped."""
    global _feeder

    def feed(timer):
        watchdog.feed()

    feed(None)
    for number in (-1, 0):              # boards number their timers differently
        try:
            _feeder = machine.Timer(number, period=WATCHDOG_MS // 4, mode=machine.Timer.PERIODIC, callback=feed)
            return
        except ValueError:
            pass


def _tell(error):
    if hasattr(sys, "print_exception"):
        sys.print_exception(error)
    else:
        print(type(error).__name__, error)
