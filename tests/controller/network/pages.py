"""A simulated board that serves its page, for both interpreters."""

from pattress.bundle.passphrase import passphrase_record
from pattress.bundle.thing import thing_description, thing_text

from ..core.home import TABLE
from . import broker, places
from .board import SENSORS

PASSPHRASE = "k7rm-2xqf-9b3t-wn6e"      # invented
RECORD = passphrase_record(PASSPHRASE, rounds=200)

SERVE = """
import asyncio
import gc
from simulated import Board, live
from radio.http import login, server, site

board = Board()
guard = login.Guard(SETTINGS["record"], lambda: board.queue.seconds, SETTINGS["read_only"])
place = site.Site(board.queue, guard, "home", site.FOLDER, SETTINGS["thing"])
server = server.Server(board.queue, lambda: place)

async def sense():
    tenths = 215
    while True:
        board.queue.reading(0, tenths, 1)
        board.queue.reading(1, 480, 1)
        await asyncio.sleep(0.5)
        tenths += 1

asyncio.run(live(board, SETTINGS["stop"], server.run("127.0.0.1", SETTINGS["port"]), sense()))
gc.collect()
used = gc.mem_alloc() if hasattr(gc, "mem_alloc") else 0
board.report(turned_away=server.turned_away, still_open=server.open, listeners=server.listeners, used=used)
"""


def serve(place, record=RECORD, read_only=False):
    """Run a board with its page; the port is its attribute `port`."""
    folder, which = place
    (folder / "thing.json").write_bytes(thing_text(thing_description(TABLE, name="home", sensors=SENSORS)))
    port = broker.free_port()
    running = places.Running(folder, which, SERVE, record=record, read_only=read_only, thing="thing.json", port=port)
    running.port = port
    return running
