"""All of it together, as the board starts it from its settings, under both interpreters; and the radio's edge."""

import asyncio
import json
import re
import socket
from ast import literal_eval

import pytest

from pattress.controller.network import service, wifi
from pattress.controller.network.http import server
from pattress.controller.request_queue import LINK_DOWN, LINK_UP

from ..core.home import FULL, MEDIUM, OPEN
from . import broker
from .board import Board
from .pages import PASSPHRASE, RECORD
from .places import CONTROLLER, Running, run
from .test_web import JSON, Visitor

PROGRAM = """
import asyncio
from simulated import Board, live
from radio import service

board = Board()

class Program:
    queue = board.queue

    class site:
        folder, machine = ".", None

    def is_idle(self):
        return True

settings = SETTINGS["settings"]

async def begun(task):
    await (await getattr(service, task)(Program(), settings, None, SETTINGS["port"], SETTINGS["multicast"]))

tasks = [begun(task) for task in service.others(settings, False)]
asyncio.run(live(board, SETTINGS["stop"], *tasks))
board.report(linked=list(board.queue.linked))
"""


def test_page_and_broker_tell_the_same(place, tmp_path):
    with broker.mosquitto(tmp_path) as port, broker.Peer(port, "hall-2") as peer:
        settings = {"name": "hall-2", "wifi": None, "broker": {"host": "127.0.0.1", "port": port}, "passphrase": RECORD}
        http = broker.free_port()
        with Running(*place, PROGRAM, settings=settings, port=http, multicast=broker.free_port()) as board:
            visitor = Visitor(http)
            visitor.enter(PASSPHRASE)
            assert visitor.ask("POST", "/channel/fan/ask", "2", **JSON)[0].status == 204
            told = peer.wait(lambda topic, payload, kept: topic == "channel/fan" and b'"level":2' in payload)[1]
            assert json.loads(visitor.ask("GET", "/channel/fan")[1]) == json.loads(told)
    assert board.said["moves"] == [FULL, OPEN, MEDIUM]      # the start kick, its pause, the step
    assert board.said["linked"] == [1, 0]


LOOKED_FOR = """
import asyncio
from simulated import Board
from radio import service

class Program:
    queue = Board().queue

async def begun(task):
    further = await getattr(service, task)(Program(), SETTINGS["settings"], None, 80, SETTINGS["multicast"])
    if further is not None:
        await further

async def ended(task, seconds):
    try:
        await asyncio.wait_for(begun(task), seconds)
    except asyncio.TimeoutError:
        return False
    return True

task = service.others(SETTINGS["settings"], False)[-1]
print(json.dumps([asyncio.run(ended(task, 0.3)), "radio.mdns" in sys.modules]))
"""


def test_firmware_that_keeps_the_port_of_multicast_dns_is_left_to_it(place):
    """As MicroPython's own does on boards with Wi-Fi: whoever else asks for the port is refused, whatever it sets."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as firmware:
        firmware.bind(("0.0.0.0", 0))
        asked = {"settings": {"name": "hall"}, "multicast": firmware.getsockname()[1]}
        assert run(*place, LOOKED_FOR, **asked) == [True, False]
    assert run(*place, LOOKED_FOR, **asked) == [False, True]        # nobody has it: answered until the end


@pytest.mark.parametrize("name", [None, "", "Hall 2"])
def test_a_controller_without_a_name_is_refused(name):
    with pytest.raises(ValueError, match=r"^name must be 1 to 32 small letters, digits and inner hyphens, found "):
        service.others({"name": name}, False)


def test_only_what_is_set_runs():
    def names(settings, has_radio=False):
        return service.others({"name": "home"} | settings, has_radio)
    assert names({}) == ["serve_page", "be_found"]
    assert names({"broker": {"host": "broker.local"}, "wifi": {"ssid": "a", "key": "b"}}, True) == [
        "serve_page", "be_found", "speak_to_broker", "stay_joined"]
    assert all(callable(getattr(service, name)) for name in names({"broker": {}, "wifi": {}, "time_server": "router"}, True))


class Radio:
    """What the board's radio answers in a story; it stands for hardware that is not here."""

    def __init__(self, story):
        self.story, self.calls = iter(story), []

    def isconnected(self):
        return next(self.story)

    def __getattr__(self, name):
        return lambda *given, **named: self.calls.append((name, *given, *named.values()))


def test_the_radio_joins_tells_it_and_joins_again_when_it_is_lost(monkeypatch):
    """Not run on hardware: this shows the order of the calls and nothing else."""
    slept = []

    async def sleep(seconds):
        slept.append(seconds)

    monkeypatch.setattr(wifi.asyncio, "sleep", sleep)
    queue = Board(fresh=True).queue
    radio = Radio([False, False, True, True, True, False, True, True, True])
    with pytest.raises(RuntimeError, match="StopIteration"):
        asyncio.run(wifi.keep_joined(radio, "Flur 2", "a key of wifi", "home", queue))
    # The name before it is active: MicroPython documentation, `network.hostname`.
    assert [call[0] for call in radio.calls] == ["config", "active", "connect", "disconnect", "connect"]
    assert [event[1] for event in reversed(queue.events()) if event[1] in (LINK_UP, LINK_DOWN)] == [LINK_UP, LINK_DOWN, LINK_UP]
    assert slept[:2] == [0.25, 0.25]


def test_what_is_loaded_for_visitors_only_is_not_loaded_at_the_start():
    later = literal_eval(re.search(r"^LATER = (\(.*?\))", (CONTROLLER / "beginning.py").read_text("utf-8"), re.MULTILINE)[1])
    assert set(server.PARTS) < set(later)
