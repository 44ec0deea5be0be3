"""What the board runs at power-up: relays open, then the right program from the right slot.

On the root of the flash lie this module, a `main.py` that calls `run`, a record, and two
slots, `a` and `b`, each a folder with a whole bundle or with what an interrupted transfer
left. A slot counts only if it holds a manifest, which is removed first and written last.

The record is replaced whole, by a rename. It says which slot is meant, whether that slot is on
trial, and how often it was started without having reported healthy:

- a slot on trial gets one start; without a healthy report the other one is back for good;
  one that came over the network does not report healthy before it has joined it (`joins`);
- after FULL_TRIES starts the minimal program runs: wall switches and regulators only;
- after MINIMAL_TRIES of those, the minimal program of the other slot.

A power cut is no crash: the start before is not counted when the chip says that the power came back. It is
a sag when nobody noted by then, by `sags` 0, that the supply had stood loads and radio: after SAGS in a
row the supply is at fault, and the minimal program runs with every load off. The minimal program
comes back after a while (`minimal.held_for`), having noted it by `returns`, and the full one is tried again.

The flash may fail at any time: a program starts without its record, too. Crashes are not counted then, so after
any end but a power cut the minimal program comes first, and if that fails, that of the other slot in the same life.

Imports nothing from a slot before the relays are driven open. Where the board has a read-only
partition, the modules of the slot chosen run from a copy in it, see `rom`; after a crash, or a cut
that came before the supply was found steady, from the slot's own files. How a program ended is kept in the record, too.
"""

import json
import os
import sys

NAMES = ("a", "b")
RECORD, BESIDE = "start.json", "start.new"
MANIFEST, BOARD = "manifest.json", "board.json"
FULL, MINIMAL = "full", "minimal"
FULL_TRIES, MINIMAL_TRIES = 3, 3
SAGS = 3                        # in a row: the supply is at fault
ENDED = 120                     # letters that are kept of how a program ended
WATCHDOG_MS = 8000              # the longest that every board can


def choose(record, whole, is_power_up=False):
    """Return (slot, program, record of this start); slot is None when there is no whole one.

    `record` as `Slots.record` gives it, `whole` the slots that hold a manifest; `is_power_up`: what ran before was cut.
    """
    slot, is_trial, tries, sags = record["slot"], record["trial"], record["tries"], record["sags"]
    if is_power_up:
        tries = max(0, tries - 1)
    else:
        sags = max(0, sags - 1)
    spare = other(slot)
    fell_back = False
    if slot not in whole or (is_trial and (tries or sags >= SAGS)):
        if spare in whole:
            slot, spare, fell_back = spare, slot, is_trial
            tries = sags = 0
        elif slot not in whole:
            return None, FULL, record
        is_trial = False
    if tries >= FULL_TRIES + MINIMAL_TRIES:
        tries = FULL_TRIES
        if spare in whole:
            slot = spare
    program = FULL if tries < FULL_TRIES and sags < SAGS else MINIMAL
    after = dict(record)
    after.update({
        "slot": slot, "trial": is_trial, "tries": tries + 1, "sags": min(sags, SAGS) + 1, "starts": record["starts"] + 1,
        "returns": record["returns"] if sags >= SAGS or (tries and not is_power_up) else 0,
        "fell_back": record["fell_back"] or fell_back})
    return slot, program, after


def other(slot):
    """Return the name of the other slot."""
    return NAMES[1 - NAMES.index(slot)]


class Slots:
    """The two slots and the record under `root`; `failed` counts records that the flash did not keep."""

    def __init__(self, root=""):
        self.root, self.failed = root, 0

    def path(self, *names):
        """Return the path of something under the root."""
        return "/".join((self.root,) + names)

    def record(self):
        """Return the record; a lost or strange one counts as: slot a, not on trial."""
        found = {"slot": NAMES[0], "trial": False, "tries": 0, "sags": 0, "returns": 0, "starts": 0, "fell_back": False, "joins": False, "ended": ""}
        try:
            with open(self.path(RECORD)) as file:
                read = json.load(file)
            for name in found:
                value = read.get(name)          # an older start knew fewer
                if isinstance(value, type(found[name])) and (name != "slot" or value in NAMES):
                    found[name] = value
        except (OSError, ValueError, AttributeError):
            pass
        return found

    def note(self, record):
        """Replace the record: written beside, then renamed. Raises OSError."""
        with open(self.path(BESIDE), "w") as file:
            json.dump(record, file)
        os.rename(self.path(BESIDE), self.path(RECORD))

    def keep(self, changes):
        """Change the record; return whether the flash has it then. Never raises: nothing that runs may end of it."""
        try:
            record = self.record()
            record.update(changes)
            self.note(record)
            if self.record() == record:
                return True
        except Exception:               # full, worn, read-only; out of memory, perhaps
            pass
        self.failed += 1
        return False

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

    def ended(self, error):
        """Note how a program ended, for whoever asks why; what fails in that is no reason not to start anew."""
        try:
            self.keep({"ended": "{}: {}".format(type(error).__name__, error)[:ENDED]})
        except Exception:               # no memory even to say it
            pass

    def healthy(self):
        """Note that the full program works: a trial is passed, crashes are forgotten. Return whether it is noted."""
        return self.keep({"tries": 0, "trial": False, "joins": False})

    def idle(self):
        """Return the slot that a new program goes to, see `filling`: never that of the only program that is proven."""
        whole = self.whole()
        slot, _, record = choose(self.record(), whole)
        if slot is None:
            return NAMES[0]
        return slot if record["trial"] and other(slot) in whole else other(slot)

    def bundle(self, slot, asked="digest"):
        """Return the digest of the bundle in a slot, or another text of its manifest, "" if it has none. Looked through line by line, as it is long."""
        with open(self.path(slot, MANIFEST)) as file:
            for line in file:
                name, _, value = line.strip().partition(": ")
                if name == '"' + asked + '"':
                    return value.strip('",')
        return ""

    def board(self, slot):
        """Return the table of the board in a slot. The function that runs the program would hold the file, and its buffer, for good."""
        with open(self.path(slot, BOARD)) as file:
            return json.load(file)

    def load(self, package, module):
        """Return a module of a slot, or of its copy."""
        if self.root not in sys.path:
            sys.path.insert(0, self.root)
        return getattr(__import__(package + "." + module), module)

    def package(self, slot, feed):
        """Return what the program is imported from: the copy of a slot in the read-only partition where there is one, else the slot.

        A copy of another bundle is replaced first, which takes seconds; `feed` feeds the watchdog.
        """
        try:
            import vfs

            if hasattr(vfs, "rom_ioctl"):
                return self.load(slot, "rom").package(vfs, self, slot, feed)
        except Exception as error:      # whatever it is, the slot itself is there
            _tell(error)
        finally:
            for name in (slot + ".rom", slot):      # done with: its memory is given back
                sys.modules.pop(name, None)
        return slot


_feeder = None                  # must not be collected


class Site:
    """What a program is given: where it lies, its board's table, and what runs below it."""

    def __init__(self, slots, slot, record, board, machine, watchdog):
        self.slots, self.slot, self.record = slots, slot, record
        self.folder = slots.path(slot)
        self.board, self.machine, self.watchdog = board, machine, watchdog
        self.has_sagged = record["sags"] > SAGS         # throughout the life of the board


def open_relays(machine, board):
    """Drive every relay of the board open: the level first, then the direction."""
    for number in board["relays"]:
        machine.Pin(number, machine.Pin.OUT, value=1 - board["relay_level"])


def run(root="", machine=None):
    """Start the program that `choose` names. Comes back only to a person at the console."""
    if machine is None:
        import machine
    slots = Slots(root)
    is_power_up = machine.reset_cause() == getattr(machine, "PWRON_RESET", None)
    slot, program, record = choose(slots.record(), slots.whole(), is_power_up)
    if slot is None:
        print("no program on this board")
        return
    watchdog = None
    for place in (slot, other(slot)):
        board = None
        try:
            board = slots.board(place)
            open_relays(machine, board)
            watchdog = watchdog or machine.WDT(timeout=WATCHDOG_MS)
            is_kept = slots.keep(record)
            if not (is_kept or is_power_up):
                program = MINIMAL       # it may have crashed for the hundredth time
            package = slots.package(place, watchdog.feed) if place == slot and record["tries"] == record["sags"] == 1 else place
            site = Site(slots, place, record, board, machine, watchdog)
            if program == MINIMAL:
                slots.load(package, MINIMAL).run(site)      # comes back when the full one may be tried again
                program = FULL
            slots.load(package, FULL).run(site)
        except KeyboardInterrupt:
            open_relays(machine, board)
            stay(machine, watchdog)
            return
        except Exception as error:
            if board:
                open_relays(machine, board)
            else:
                is_kept = slots.keep(record)        # this start counts too
            _tell(error)
            slots.ended(error)
        if is_kept or (board and program == FULL) or other(slot) not in slots.whole():
            break                       # else nothing but this life can lead away from a slot that is damaged
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
