"""A signed bundle over real sockets to the whole program under the board's interpreter: taken, refused, cut, slow."""

import importlib.util
import json
import socket
import threading
import time
import zlib
from contextlib import ExitStack
from pathlib import Path
from urllib.request import Request, urlopen

import pytest

from pattress.bench.carrying import carry
from pattress.bench.errors import LinkError, NotTaken
from pattress.bench.link import Link
from pattress.bench.putting import put
from pattress.bench.report import asked, told
from pattress.bundle import write_bundle
from pattress.bundle.signing import announced, announcement
from pattress.controller.network.http.server import CONNECTIONS

from ..controller.network.answered import answered
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


def announcing(home, sequence, folder, key=KEY):
    """Return the head of a request that announces a bundle, and what would follow."""
    pieces = [content for _, content in announced(folder)]
    said = b"".join(pieces)
    return (f"POST /program HTTP/1.1\r\nHost: localhost\r\nExpect: 100-continue\r\nContent-Length: {len(said)}\r\n"
            f"Announcement: {announcement(pieces[0], key=key, sequence=sequence)}\r\n\r\n").encode(), said


def connected(home, head, source="127.0.0.1"):
    link = socket.create_connection(("127.0.0.1", home.port), 5, source_address=(source, 0))
    link.sendall(head)
    return link


def test_cut_in_the_middle_the_former_program_runs_on_and_its_page_too(living):
    home, board = living
    head, said = announcing(home, 300, home.bundle("two", 4000))
    with connected(home, head) as link:
        assert link.recv(100) == b"HTTP/1.1 100 \r\n\r\n"
        link.sendall(said[:len(said) // 2])
    assert wait_until(lambda: home.events(board)[:1] == [("program refused", 3)])
    assert home.serves() and asked(board.port).state["slot"] == "a"


def test_an_announcement_that_was_heard_is_not_taken_again(living):
    home, board = living
    head, said = announcing(home, 310, home.bundle("two", 4000))
    with connected(home, head) as link:
        link.recv(100)
    for _ in range(2):
        with connected(home, head + said) as link:
            assert answered(link).endswith(b"not newer than the newest one")


@pytest.mark.parametrize("said", ["", "Announcement: pattress 2 9999999999 100 {0} {0}\r\n"], ids=["unsigned", "signed by nobody"])
def test_a_program_without_a_signature_is_heard_no_further_than_its_head(living, said):
    home, _ = living
    head = f"POST /program HTTP/1.1\r\nHost: localhost\r\nContent-Length: 500000\r\n{said.format('0' * 64)}\r\n".encode()
    with ExitStack() as stack:
        began = time.monotonic()
        links = [stack.enter_context(connected(home, head)) for _ in range(8)]
        assert all(answered(link).endswith(b"not signed with the key of this controller") for link in links)
        assert time.monotonic() - began < 5             # and closed


class Crowd:
    """Connections that fill the server as fast as it lets them: half a head each, then a byte now and then; and unsigned programs that drip."""

    HEADS = (b"GET / HT", b"", b"POST /program HTTP/1.1\r\nHost: localhost\r\nContent-Length: 500000\r\n\r\n", b"POST /program HTTP/1.1\r\nHost: l")

    def __init__(self, home, sources):
        self.home, self.sources, self.ended, self.made = home, sources, threading.Event(), 0
        self.threads = [threading.Thread(target=self.press, args=(source,), daemon=True) for source in sources]

    def __enter__(self):
        for thread in self.threads:
            thread.start()
        time.sleep(1)
        return self

    def __exit__(self, *raised):
        self.ended.set()
        for thread in self.threads:
            thread.join()

    def press(self, source):
        held = []
        while not self.ended.wait(0.01):
            try:
                held.append(connected(self.home, self.HEADS[self.made % 4], source))
                self.made += 1
            except OSError:
                pass
            if len(held) > 12:
                held.pop(0).close()
            for link in held[:3]:
                try:
                    link.send(b"x")
                except OSError:
                    pass
        for link in held:
            link.close()


def test_a_slow_one_is_waited_for_and_holds_up_nobody(living):
    home, board = living
    head, said = announcing(home, 400, home.bundle("two", 4000))
    with connected(home, head) as link:
        link.recv(100)
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


def test_in_a_crowd_that_proves_nothing_a_newer_one_is_taken_and_the_board_restarts_into_it_by_itself(living):
    home, board = living
    assert wait_until(lambda: home.events(board)[0][0] == "program refused", 15)
    lives, steps = board.lives, []
    two = home.bundle("two", 4000)
    with Crowd(home, ("127.0.0.2", "127.0.0.3")) as crowd:
        assert carry(home.address, two, key=KEY, sequence=600, progress=steps.append) == "b"
    assert crowd.made > CONNECTIONS         # more than there are places
    assert steps[-1].endswith(steps[-1].rpartition("/")[2]) and len(steps) > 50
    assert wait_until(lambda: board.lives == lives + 1, 20) and wait_until(home.serves, 20), board.said[-1500:]
    found = asked(board.port)
    assert found.state["slot"] == "b" and found.is_on_trial
    assert found.state["bundle"] == json.loads((home.folder / "two" / "manifest.json").read_text())["digest"]
    assert found.state["job and design"] == "c0ffee123456" and "job and design: c0ffee123456" in told(found)
    for sequence, says in ((600, "not newer than the newest one"), (700, "the newest one is still on trial")):
        with pytest.raises(NotTaken, match=f"refuses: {says};"):
            carry(home.address, home.folder / "two", key=KEY, sequence=sequence)


def test_what_the_board_hands_out_as_its_thing_is_in_the_bundle(living):
    home, _ = living
    with urlopen(f"http://{home.address}/.well-known/wot", timeout=5) as answer:
        thing = json.loads(answer.read())
    assert thing["base"] == "http://sewing-room.local/" and thing == json.loads(zlib.decompress((home.folder / "two" / "thing.json.z").read_bytes()))
