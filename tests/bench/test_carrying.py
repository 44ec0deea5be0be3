"""A signed bundle over real sockets to the whole program under the board's interpreter: taken, refused, cut, slow."""

import importlib.util
import json
import socket
import time
import zlib
from pathlib import Path
from urllib.request import Request, urlopen

import pytest

from pattress.bench.carrying import carry
from pattress.bench.errors import LinkError, NotTaken
from pattress.bench.link import Link
from pattress.bench.putting import put
from pattress.bench.report import asked, told
from pattress.bundle import write_bundle
from pattress.bundle.signing import signed_stream

from .board_on_pty import BoardOnPty, restarted_after, wait_until

KEY, OTHER = "5a" * 32, "5b" * 32
PLANS = Path(__file__).parents[1] / "rehearsal" / "plans.py"


def room():
    spec = importlib.util.spec_from_file_location("rehearsal_plans", PLANS)
    plans = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(plans)
    return plans.sewing_room()


def wired(table):
    """Return facts with a pin for every wire of the sewing room (invented), in the order of the plan."""
    wires = [f"relay.{channel['key']}" for channel in table["channels"][:-1]] + [f"relay.ceiling_fan.{number}" for number in (1, 2, 3)]
    wires += [f"switch.{switch['key']}" for switch in table["switches"]]
    wires += [f"regulator.fan_dial.{number}" for number in (1, 2, 3, 4)] + ["infrared"]
    return {"title": "Sewing room (invented)", "board": "rp2040-wifi", "pins": {wire: pin for pin, wire in enumerate(wires)},
            "network": {"broker": "none"}, "design": "c0ffee123456"}


class Home:
    """A board that got a first bundle and its key over the serial port, and now has the network only."""

    def __init__(self, folder):
        self.table, self.folder = room(), folder
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        self.address = f"127.0.0.1:{self.port}"
        self.bundle("one", 5000)
        self.settings = {"name": "sewing-room", "wifi": None, "broker": None, "passphrase": None, "signing_key": KEY, "port": self.port}

    def bundle(self, name, save_ms):
        write_bundle(self.folder / name, self.table | {"save_ms": save_ms}, wired(self.table), findings=(), accepted={})
        return self.folder / name

    def serves(self):
        try:
            with urlopen(f"http://{self.address}/", timeout=2) as answer:
                return answer.status == 200
        except OSError:
            return False

    def events(self, board):
        return [(event["kind"], event.get("number")) for event in asked(board.port).events if event["kind"].startswith("program")]


@pytest.fixture(scope="module")
def living(tmp_path_factory):
    home = Home(tmp_path_factory.mktemp("home"))
    with BoardOnPty(home.folder) as board:
        with restarted_after(board), Link(board.port) as link:
            put(link, home.folder / "one", chip="RP2040", settings=json.dumps(home.settings).encode(), sequence=100)
        assert wait_until(home.serves, 20)
        yield home, board


def test_another_key_and_an_older_one_are_refused_told_and_nothing_restarts(living):
    home, board = living
    lives = board.lives
    two = home.bundle("two", 4000)
    for key, sequence, says, number in ((OTHER, 200, "not signed with the key of this controller", 0), (KEY, 100, "not newer than the newest one", 1)):
        with pytest.raises(NotTaken, match=f"^the controller at {home.address} refuses: {says}; the former program runs on$"):
            carry(home.address, two, key=key, sequence=sequence)
        assert home.events(board)[0] == ("program refused", number)
    assert board.lives == lives


def test_cut_in_the_middle_the_former_program_runs_on_and_its_page_too(living):
    home, board = living
    said = b"".join(content for _, content in signed_stream(home.bundle("two", 4000), key=KEY, sequence=300))
    with socket.create_connection(("127.0.0.1", home.port), 5) as link:
        link.sendall(f"POST /program HTTP/1.1\r\nHost: localhost\r\nContent-Length: {len(said)}\r\n\r\n".encode() + said[:len(said) // 2])
    assert wait_until(lambda: home.events(board)[:1] == [("program refused", 3)])
    assert home.serves() and asked(board.port).state["slot"] == "a"


def test_a_slow_one_is_waited_for_and_holds_up_nobody(living):
    home, board = living
    said = b"".join(content for _, content in signed_stream(home.bundle("two", 4000), key=KEY, sequence=400))
    with socket.create_connection(("127.0.0.1", home.port), 5) as link:
        link.sendall(f"POST /program HTTP/1.1\r\nHost: localhost\r\nContent-Length: {len(said)}\r\n\r\n".encode() + said[:300])
        for at in range(300, 330):
            link.sendall(said[at:at + 1])
            time.sleep(0.02)
        assert home.serves()
        with pytest.raises(NotTaken, match="refuses: another one is arriving;"):
            carry(home.address, home.folder / "two", key=KEY, sequence=500)


def test_without_a_key_or_a_controller_it_says_so(living):
    home, _ = living
    with pytest.raises(LinkError, match="^the controller at 127.0.0.1:1 cannot be reached: Connection refused\n  nearest: is it in this network"):
        carry("127.0.0.1:1", home.folder / "two", key=KEY, sequence=500)


def test_the_page_offers_it_to_no_other_site(living):
    home, _ = living
    asking = Request(f"http://{home.address}/program", data=b"x", headers={"Origin": "http://elsewhere.example"})
    with pytest.raises(OSError, match="403"):
        urlopen(asking, timeout=5)


def test_a_newer_one_is_taken_and_the_board_restarts_into_it_by_itself(living):
    home, board = living
    assert wait_until(lambda: home.events(board)[0][0] == "program refused", 15)
    lives, steps = board.lives, []
    assert carry(home.address, home.bundle("two", 4000), key=KEY, sequence=600, progress=steps.append) == "b"
    assert steps[-1].endswith(steps[-1].rpartition("/")[2]) and len(steps) > 50
    assert wait_until(lambda: board.lives == lives + 1, 20) and wait_until(home.serves, 20), board.said[-1500:]
    found = asked(board.port)
    assert found.state["slot"] == "b" and found.is_on_trial
    assert found.state["bundle"] == json.loads((home.folder / "two" / "manifest.json").read_text())["digest"]
    assert found.state["job and design"] == "c0ffee123456" and "job and design: c0ffee123456" in told(found)
    with pytest.raises(NotTaken, match="not newer than the newest one"):
        carry(home.address, home.folder / "two", key=KEY, sequence=600)


def test_what_the_board_hands_out_as_its_thing_is_in_the_bundle(living):
    home, _ = living
    with urlopen(f"http://{home.address}/.well-known/wot", timeout=5) as answer:
        thing = json.loads(answer.read())
    assert thing["base"] == "http://sewing-room.local/" and thing == json.loads(zlib.decompress((home.folder / "two" / "thing.json.z").read_bytes()))
