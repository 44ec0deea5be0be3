"""Runs on the board, sent there by `link`: what the workbench does with the board's files.

Each function prints its answers, one JSON value to a line. Written for the board's interpreter;
the workbench never imports it. `clear` and `accept` are those of `controller/filling.py`, `keeping` and `newest` those of
`controller/sequence.py`, sent before it.
"""

import gc
import json
import machine
import os
import sys
import time
from binascii import a2b_base64, hexlify
from hashlib import sha256

OWN = ("manifest.json", "manifest.new")
PATIENCE_MS = 60_000    # a board that hears nothing for so long restarts: the cable was pulled out


def touch():
    """Note that the workbench is still there."""
    global _touched
    _touched = time.ticks_ms()


def watch(timer=None):
    if time.ticks_diff(time.ticks_ms(), _touched) > PATIENCE_MS:
        machine.reset()


def guard():
    """Let a timer watch. Boards number their timers differently, and `start` may have the first one."""
    global _watcher
    for number in (-1, 1):
        try:
            _watcher = machine.Timer(number, period=1000, mode=machine.Timer.PERIODIC, callback=watch)
            return
        except ValueError:
            pass


def about():
    """Tell board, interpreter and file system."""
    there = sys.implementation
    space = os.statvfs("/")
    try:
        import vfs
        kind = [type(one).__name__ for one, place in vfs.mount() if place == "/"]
    except (ImportError, TypeError):
        kind = []
    machine = os.uname().machine if hasattr(os, "uname") else getattr(there, "_machine", "")
    print(json.dumps({
        "interpreter": there.name, "version": list(there.version[:3]), "mpy": getattr(there, "_mpy", 0), "machine": machine,
        "free": space[0] * space[3], "file_system": kind[0] if kind else "unknown"}))


def forget():
    """Give back the memory of the program that was stopped; keep what feeds the watchdog."""
    global _former
    _former = sys.modules.get("start")
    for name in list(sys.modules):
        if name == "start" or name.split(".")[0] in ("a", "b", "c"):
            del sys.modules[name]
    gc.collect()


def pardon():
    """Forgive the start that a person interrupted: it was no crash."""
    try:
        import start
    except ImportError:
        return
    slots = start.Slots()
    record = slots.record()
    if record["tries"]:
        record["tries"] -= 1
        try:
            slots.note(record)
        except OSError:         # a full flash must not keep the workbench out
            pass


def state():
    """Tell the digest of the bundle that would start, the slot that is free and the one that stays, None where there is none."""
    try:
        import start
    except ImportError:
        print(json.dumps({"stays": None, "bundle": None, "idle": "a"}))
        return
    slots = start.Slots()
    whole, idle = slots.whole(), slots.idle()
    next_one, bundle = start.choose(slots.record(), whole)[0], None
    if next_one is not None:
        with open("/{}/manifest.json".format(next_one)) as file:
            bundle = json.load(file)["digest"]
    stays = [slot for slot in whole if slot != idle]
    print(json.dumps({"stays": stays[0] if stays else None, "bundle": bundle, "idle": idle}))


def wipe():
    """Delete every file on the flash, keys first; tell how many went, and what is left."""
    gone, folders, places = 0, [], [""]
    while places:
        place = places.pop()
        for name in sorted(os.listdir("/" + place), key=lambda name: name != "network.json"):
            path = place + name
            if os.stat("/" + path)[0] & 0x4000:
                folders.append(path)
                places.append(path + "/")
            else:
                os.remove("/" + path)
                gone += 1
    for path in reversed(folders):
        os.rmdir("/" + path)
    print(json.dumps([gone, os.listdir("/")]))


def digests(folder):
    """Tell name and digest of every file in a folder, its manifest apart."""
    inner = [""]
    while inner:
        place = inner.pop()
        try:
            names = os.listdir(folder + "/" + place)
        except OSError:
            continue
        for name in sorted(names):
            path = folder + "/" + place + name
            if os.stat(path)[0] & 0x4000:
                inner.append(place + name + "/")
            elif place or name not in OWN:
                print(json.dumps([place + name, digest(path)]))


def digest(path):
    """Return the SHA-256 of a file in hexadecimal, "" when there is none."""
    total, part = sha256(), bytearray(512)
    try:
        with open(path, "rb") as file:
            length = file.readinto(part)
            while length:
                total.update(memoryview(part)[:length])
                length = file.readinto(part)
    except OSError:
        return ""
    return hexlify(total.digest()).decode()


def begin(path):
    """Begin a file; folders on the way are made."""
    global _file
    at = path.find("/", 1)
    while at > 0:
        try:
            os.mkdir(path[:at])
        except OSError:
            pass
        at = path.find("/", at + 1)
    _file = open(path, "wb")


def part(text):
    _file.write(a2b_base64(text))


def end(path):
    """End the file that was begun and tell the digest of what lies on the flash."""
    _file.close()
    if hasattr(os, "sync"):
        os.sync()
    print(json.dumps(digest(path)))


def copy(source, path):
    """Take a file that is on the board already."""
    begin(path)
    with open(source, "rb") as file:
        data = file.read(512)
        while data:
            _file.write(data)
            data = file.read(512)
    end(path)


def replace(beside, path):
    """Let a whole file take the place of another: in one operation, or not at all."""
    os.rename(beside, path)


def ready():
    """Make the idle slot ready; tell its name."""
    import start

    print(json.dumps(clear(start.Slots())))


def number(sequence):
    """Keep the sequence of what is put on the board, unless a higher one is kept; tell which one is."""
    import start

    slots = start.Slots()
    for _ in keeping(slots, sequence):
        pass
    print(json.dumps(newest(slots)))


def known_wifi():
    """Tell the Wi-Fi that the board knows already: it may have been set at a wall switch."""
    try:
        with open("/network.json") as file:
            print(json.dumps(json.load(file).get("wifi")))
    except (OSError, ValueError):
        print("null")


def admit(slot):
    """Let a filled slot run at the next start."""
    import start

    accept(start.Slots(), slot)


def check(slot):
    """Let the bundle in a filled slot check itself before it is accepted."""
    sys.path.insert(0, "/")
    bundle = __import__(slot + ".main").main
    sys.path[0] = "/" + slot
    os.chdir("/" + slot)
    try:
        if not bundle.check(OWN[1]):
            raise ValueError("the check of the bundle by itself failed")
    finally:
        sys.path.pop(0)
        os.chdir("/")


os.chdir("/")
touch()
guard()
forget()
pardon()
