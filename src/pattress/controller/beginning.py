"""What the full program does once, as it begins: it reads its settings, sets its timer, finds its ear and loads the network.

Let go when that is done: a board has little memory.
"""

import asyncio
import json
import os

from .drivers import clock
from .loop import RECORD_FAULT, UNLOCKED

STAND_BY_MS = 2         # between two looks of the timer's interrupt
LOADED_MS = 20          # for turns after each module of the network that was loaded
# Of the network, loaded only when they are wanted.
LATER = ("mdns", "setup", "sntp", "wifi", "lookup", "domain_names", "host_names", "packed", "requests", "login", "web_page", "site", "exchange", "renewing")
PARTS = ("mqtt", "http", "")        # of the network, in the order they are loaded
SETTINGS = "network.json"       # on the root of the flash, apart from every bundle: it holds secrets


def settings_of(slots):
    """Return the settings of the network, None when there are none: then nothing of it is loaded."""
    try:
        with open(slots.path(SETTINGS)) as file:
            return json.load(file)
    except (OSError, ValueError):
        return None


def stand_by(machine, loop):
    """Let a timer's interrupt take late turns; None where no interrupt of the board comes at once."""
    try:
        return machine.Timer(-1, period=STAND_BY_MS, mode=machine.Timer.PERIODIC, callback=loop.stand_by, hard=True)
    except (AttributeError, TypeError, ValueError):
        return None


def ear_at(pin_class, number, decoder, hear):
    """Return an ear that listens: by a state machine where the bundle has its driver and the machine is free, else by interrupt."""
    try:
        from .drivers.infrared_machine import MachineEar

        ear = MachineEar(clock, decoder, hear)
        ear.listen(pin_class, number)
    except (ImportError, ValueError, OSError):
        from .drivers.infrared_capture import Ear

        ear = Ear(clock, decoder, hear)
        ear.listen(pin_class, number)
    return ear


async def connect(program):
    """Load and start the network, if it is set."""
    if program.settings is not None:
        await _network(program)
    program.let_go("beginning")


async def _network(program):
    """Load the network a module at a time, so that turns come between, and start its tasks."""
    package = __name__.rpartition(".")[0] + ".network."
    for part in PARTS:
        for name in sorted(os.listdir(program.site.folder + "/network/" + part)):
            module, _, kind = name.rpartition(".")
            if kind in ("mpy", "py") and not module.startswith("__") and module not in LATER:
                __import__(package + (part + "." if part else "") + module)
                await asyncio.sleep_ms(LOADED_MS)
    from .network import let_go, reach, service

    queue, parts = program.queue, program.parts
    parts.radio_at = queue.seconds
    place = program.site.board.get("setup")
    if place is not None and "setup" in program.settings and program.held[place]:
        from .network import setup

        if await setup.offer(queue, lambda: program.loop.inputs.seen[place], radio("AP_IF"), program.settings,
                             lambda ssid, key: keep_wifi(program, ssid, key), program.settings.get("port", service.PORT)) is None:
            program.fault(UNLOCKED, 0, 0)
        let_go("setup", "http.login")
        parts.radio_at = queue.seconds
    station = radio()
    for task in service.others(program.settings, station is not None):
        program.start_network(task, program.settings, station, program.settings.get("port", service.PORT), reach.MULTICAST[1])


def keep_wifi(program, ssid, key):
    """Keep the home's Wi-Fi among the settings, whole on flash and in memory. Raises OSError when the flash does not keep it."""
    settings, path = dict(program.settings), program.site.slots.path(SETTINGS)
    settings["wifi"] = {"ssid": ssid, "key": key}
    try:
        with open(path + ".new", "w") as file:
            json.dump(settings, file)
        os.rename(path + ".new", path)
    except OSError:
        program.fault(RECORD_FAULT, 0, 0)
        raise
    program.settings = settings


def radio(interface="STA_IF"):
    """Return the board's own Wi-Fi, None where there is none; as an access point with "AP_IF"."""
    try:
        import network

        kind = network.WLAN
    except (ImportError, AttributeError):       # no network at all, or another kind of it
        return None
    return kind(getattr(network, interface))
