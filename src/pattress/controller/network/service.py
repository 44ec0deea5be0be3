"""All that the network does for one queue, as its settings say; what is not set does not run.

Only what begins it is here: each task of a program with a `queue` and `is_idle` returns what is to be run
further, None when that is nothing, and this module is let go then.

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

import os

from . import let_go, reach, topics
from .http.server import Server, site_maker
from .mqtt.client import Client, Settings

PORT = 80
THING = "thing.json"    # in the bundle
ROUTER = "router"       # who tells the time where nobody is named
TAKEN = (98, 112, 48)   # a port is in use, in the numbers of Linux, lwIP and the BSDs


def others(settings, has_radio):
    """Return the names of the tasks, each to be started anew when it fails.

    Raises ValueError when the settings hold no name that a controller may have.
    """
    from .host_names import is_name

    let_go("host_names")
    name = settings.get("name") or ""
    if not is_name(name):
        raise ValueError("name must be 1 to 32 small letters, digits and inner hyphens, found {!r}".format(name))
    tasks = ["serve_page", "be_found"]
    if settings.get("time_server") is not None:
        tasks.append("keep_time")
    if settings.get("broker") is not None:
        tasks.append("speak_to_broker")
    if has_radio and settings.get("wifi") is not None:
        tasks.append("stay_joined")
    return tasks


# The tasks. `radio` is a WLAN object, None on a machine that is on the network already; `port` is that of the page.

async def serve_page(program, settings, radio, port, multicast):
    return Server(program.queue, site_maker(program, settings, thing_of(program)), program.is_idle).run("0.0.0.0", port)


async def be_found(program, settings, radio, port, multicast):
    if is_taken(multicast):         # the firmware of most boards answers for the host name itself, and for nothing else
        print("the firmware answers for {}.local".format(settings["name"]))
        return None
    from . import mdns

    return mdns.keep_found(settings["name"], program.queue.title, radio, port, multicast)


async def speak_to_broker(program, settings, radio, port, multicast):
    broker = settings["broker"]
    tls = None
    if broker.get("authority"):
        with open(broker["authority"], "rb") as file:
            tls = trusting(file.read())
    queue, name_server = program.queue, (await reach.addresses(radio))[1]
    names = topics.topics_of(queue, settings["name"])
    return Client(queue, names, Settings(
        broker["host"], broker.get("port", 8883 if tls else 1883), _bytes(broker.get("user")), _bytes(broker.get("password")),
        tls, name_server), thing_of(program), calm=program.is_idle).run()


async def keep_time(program, settings, radio, port, multicast):
    from . import sntp

    server = settings["time_server"]
    _, name_server, router = await reach.addresses(radio)
    if server == ROUTER:
        server = router
    return None if server is None else sntp.keep(program.queue, server, name_server, sntp.clock_of(program.site.machine))


async def stay_joined(program, settings, radio, port, multicast):
    from . import wifi

    return wifi.keep_joined(radio, settings["wifi"]["ssid"], settings["wifi"]["key"], settings["name"], program.queue)


def thing_of(program):
    """Return the name of the file with the Thing Description in the bundle that runs, None when it has none."""
    from .packed import ENDING

    name = program.site.folder + "/" + THING
    for ending in ("", ENDING):
        try:
            os.stat(name + ending)
            return name
        except OSError:
            pass
    return None


def is_taken(port):
    """Return whether somebody on this board listens for datagrams at a port and lets nobody else."""
    try:
        reach.listening(port).close()
    except OSError as error:
        if error.errno not in TAKEN:
            raise
        return True
    return False


def trusting(authority):
    """Return a TLS context that trusts one authority alone, whose certificate is given in DER.

    The name in the server's certificate must be the one that was asked for. The interpreter
    on the board judges dates by its own clock; a board that never learnt the time may refuse.
    """
    import ssl      # costs memory; only for those who use it

    context = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    context.verify_mode = ssl.CERT_REQUIRED
    context.load_verify_locations(cadata=authority)
    return context


def _bytes(text):
    return None if text is None else text.encode()
