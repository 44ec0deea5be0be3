"""All that the network does for one queue, as its settings say; what is not set does not run.

Settings are a table of plain values, kept on the board apart from the plan and never printed:

    name            the controller's name in the home, as in topics and NAME.local
    wifi            {"ssid", "key"}, or null: then there is no radio to wait for
    broker          {"host", "port", "user", "password", "authority"} or null; authority is the
                    name of a DER file, then the broker is spoken to over TLS
    passphrase      the record of the label's passphrase, or null: then the page is for reading only
    read_only       true: nothing can be asked over the page, whoever knows what
    time_server     who tells the time: a host, "router" for the home's own, or null for nobody
    signing_key     64 hexadecimal digits that sign new programs, or null: then none is taken over the network
"""

import asyncio
import os
from binascii import unhexlify

from . import packed, reach, topics
from .http import login
from .http.server import Server
from .mqtt.client import Client, Settings

PORT = 80
THING = "thing.json"    # in the bundle
ADDRESS_S = 5           # between two looks whether our address is still the same
ROUTER = "router"       # who tells the time where nobody is named
EPOCH_2000 = 946_684_800        # Unix time at which the clock of some boards begins


def client(queue, settings, name_server=None, calm=None, thing=None):
    """Return the client of the broker that is set; `calm` and `thing` as in `Client`."""
    broker = settings["broker"]
    tls = None
    if broker.get("authority"):
        with open(broker["authority"], "rb") as file:
            tls = reach.trusting(file.read())
    names = topics.Topics(settings["name"], queue.keys, [sensor[0] for sensor in queue.sensors])
    return Client(queue, names, Settings(
        broker["host"], broker.get("port", 8883 if tls else 1883), _bytes(broker.get("user")), _bytes(broker.get("password")),
        tls, name_server), thing, calm=calm)


def server(queue, settings, is_calm, thing=None, renew=None):
    """Return the page's server; `thing` and `renew` as in `site.Site`, `is_calm` as in `Server`."""
    guard = login.Guard(settings.get("passphrase"), lambda: queue.seconds, settings.get("read_only", False))

    def site_of():
        from .http import site      # costs memory; only for visitors

        return site.Site(queue, guard, settings["name"], site.FOLDER, thing, renew)

    return Server(queue, site_of, is_calm)


def others(settings, radio=None, port=PORT, multicast=reach.MULTICAST[1]):
    """Return the tasks as functions of a program with a `queue` and `is_idle`, each to be started anew when it fails.

    `radio` is a WLAN object, None on a machine that is on the network already. Raises
    ValueError when the settings hold no name that a controller may have.
    """
    name = settings.get("name") or ""
    if not topics.is_name(name):
        raise ValueError("name must be 1 to 32 small letters, digits and inner hyphens, found {!r}".format(name))

    async def serve_page(program):
        await server(program.queue, settings, program.is_idle, thing_of(program), renewing(program, settings)).run("0.0.0.0", port)

    async def be_found(program):
        if reach.is_taken(multicast):       # the firmware of most boards answers for the host name itself, and for nothing else
            print("the firmware answers for {}.local".format(name))
            return
        from . import mdns

        while True:
            address = (await addresses(radio))[0]
            answering = asyncio.create_task(
                mdns.serve(mdns.Responder(name, program.queue.title, address, port), address, port=multicast))
            try:
                while not answering.done() and (await addresses(radio))[0] == address:
                    await asyncio.sleep(ADDRESS_S)
                if answering.done():
                    await answering         # raises what it failed with
            finally:
                answering.cancel()

    async def speak_to_broker(program):
        name_server = (await addresses(radio))[1]
        await client(program.queue, settings, name_server, program.is_idle, thing_of(program)).run()

    async def keep_time(program):
        from . import sntp

        server = settings["time_server"]
        _, name_server, router = await addresses(radio)
        if server == ROUTER:
            server = router
        if server is not None:
            await sntp.keep(program.queue, server, name_server, clock_of(program.site.machine))

    async def stay_joined(program):
        from . import wifi

        await wifi.keep_joined(radio, settings["wifi"]["ssid"], settings["wifi"]["key"], name, program.queue)

    tasks = [serve_page, be_found]
    if settings.get("time_server") is not None:
        tasks.append(keep_time)
    if settings.get("broker") is not None:
        tasks.append(speak_to_broker)
    if radio is not None and settings.get("wifi") is not None:
        tasks.append(stay_joined)
    return tasks


def thing_of(program):
    """Return the name of the file with the Thing Description in the bundle that runs, None when it has none."""
    name = program.site.folder + "/" + THING
    for ending in ("", packed.ENDING):
        try:
            os.stat(name + ending)
            return name
        except OSError:
            pass
    return None


def renewing(program, settings):
    """Return what takes a signed program as it comes, None when there is no key."""
    if not settings.get("signing_key"):
        return None
    queue, slots, kept = program.queue, program.site.slots, []

    async def renew(request):
        from .. import announcement     # costs memory; only for those who use it
        from ..request_queue import PROGRAM_REFUSED, PROGRAM_TAKEN

        if not kept:
            kept.append(announcement.Announcements(slots, unhexlify(settings["signing_key"])))
        try:
            announced = kept[0].accept(request.fields.get("announcement", "").encode())
            try:
                await request.go_on()
                from .. import arriving         # more of it, and only for who has the key

                slot = await arriving.Arriving(slots, lambda: queue.seconds, program.is_idle).take(
                    announced, request.read, bool(queue.linked[1]))
            finally:
                kept[0].is_busy = False
        except announcement.Refused as refused:
            queue.note(PROGRAM_REFUSED, refused.number, 0, 0)
            queue.decline(b"program", b"", str(refused), "a bundle of this job, signed and newer")
            return 409, str(refused)
        queue.note(PROGRAM_TAKEN, announced[0], 0, 0)
        program.start(arriving.restart)
        return 200, "{} {}".format(slot, announced[0])

    return renew


async def addresses(radio):
    """Return our address, that of the name server and that of the router, as soon as the radio has them."""
    if radio is None:
        return "127.0.0.1", None, None
    while not radio.isconnected():
        await asyncio.sleep(0.5)
    address, _, router, name_server = radio.ifconfig()
    return address, name_server, router


def clock_of(machine):
    """Return what sets the board's own clock, by which TLS judges dates; None when it has none."""
    if not hasattr(machine, "RTC"):
        return None
    from time import gmtime

    def set_clock(now):
        date = gmtime(now - (EPOCH_2000 if gmtime(0)[0] == 2000 else 0))
        machine.RTC().datetime((date[0], date[1], date[2], date[6], date[3], date[4], date[5], 0))

    return set_clock


def _bytes(text):
    return None if text is None else text.encode()
