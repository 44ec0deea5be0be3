"""The check of a bundle by itself: its files, then the program; it says what it found.

Lies in a bundle beside `core/`, `plan.json` and `manifest.json`. Drives no pin.
"""

from binascii import hexlify
from hashlib import sha256
from json import load
from os import listdir, stat

OWN = ("manifest.json", "manifest.new")
FOLDER = 0x4000 # in the mode of a file
STEPS = 1000    # within so many steps the program must have come to rest after power-up
MOST = 64               # contacts of any kind that a board can have


def differing(manifest, folder="."):
    """Return the files that are missing, not as the manifest says, or not in it."""
    files = manifest["files"]
    wrong = [name for name in sorted(files) if file_digest(folder + "/" + name) != files[name]]
    return wrong + [name for name in lying(folder) if name not in files and name not in OWN]


def lying(folder):
    """Return the names of all files in a folder and the folders in it, sorted."""
    names, inner = [], [""]
    while inner:
        place = inner.pop()
        for name in listdir(folder + "/" + place):
            if stat(folder + "/" + place + name)[0] & FOLDER:
                inner.append(place + name + "/")
            else:
                names.append(place + name)
    return sorted(names)


def file_digest(name):
    """Return the SHA-256 of a file in hexadecimal, "" when there is none. Reads little at a time."""
    digest = sha256()
    part = bytearray(512)
    try:
        with open(name, "rb") as file:
            length = file.readinto(part)
            while length:
                digest.update(memoryview(part)[:length])
                length = file.readinto(part)
    except OSError:
        return ""
    return hexlify(digest.digest()).decode()


def start(core, plan):
    """Return the steps the program needs to come to rest after a first power-up, and the relays then closed.

    All switches open, nothing saved. Raises RuntimeError when a relay is closed at power-up or
    the program does not come to rest.
    """
    state = core.new_state(plan)
    core.begin(plan, state, None, bytes(MOST), bytes(MOST))
    if core.relays(plan, state):
        raise RuntimeError("a relay is closed at power-up")
    elapsed = 0
    for steps in range(STEPS):
        core.step(plan, state, (core.TIME, elapsed, 0, 0, 0))
        elapsed = core.due_in(plan, state)
        if elapsed < 0:
            return steps + 1, core.relays(plan, state)
    raise RuntimeError("the program does not come to rest")


def check(name=OWN[0]):
    """Print what was checked and what was found; return whether all of it is in order.

    `name` is that of the manifest, which has another one until the bundle is accepted.
    """
    with open(name) as file:
        manifest = load(file)
    wrong = differing(manifest)
    for name in wrong:
        print("differs from the manifest: " + name)
    if wrong:
        return False
    import core
    with open("plan.json") as file:
        table = load(file)
    steps, closed = start(core, core.Plan(table))
    print("bundle " + manifest["digest"])
    print("program and plan " + manifest["program"])
    print("files as in the manifest: {}".format(len(manifest["files"])))
    print("at rest {} steps after power-up, relays closed then: {:b}".format(steps, closed))
    print("not checked: pins, relays, wiring")
    return True
