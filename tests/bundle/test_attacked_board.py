"""A neighbour's floods against the bundle's own files, under the board's interpreter, over real sockets: no switch waits for them."""

import json
import socket
import threading
import time
from contextlib import ExitStack

import pytest

from pattress.bundle.passphrase import passphrase_record
from pattress.design import design_of

from ..controller.network import broker
from ..controller.network.test_web import Visitor
from . import test_whole_board
from .test_whole_board import JOB, MOST_CHANGED_US, NAME, PASSPHRASE, SETTLE_US, Board, flash, worst
from .words import in_bundle_words

__all__ = ["flash"]
MULTICAST = "import a.network.reach\na.network.reach.MULTICAST = ('224.0.0.251', PORT)\n"      # a port of its own: others run here, too

LINE = b"X-%d: " + b"y" * 45 + b"\r\n"
HEAD = (b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\n" + b"".join(LINE % number for number in range(38)))[:2040] + b"\r\n\r\n"
LONG_NAME = b"\x01a" * 126 + b"\x00"
POINTING = (b"\x00\x00\x00\x00\x00\x10\x00\x20\x00\x00\x00\x00" + LONG_NAME + b"\x00\xff\x00\x01"       # 743 bytes, 48 names of 126 labels
            + 15 * b"\xc0\x0c\x00\xff\x00\x01" + 32 * b"\xc0\x0c\x00\x01\x00\x01\x00\x00\x00\x78\x00\x00")
SPELT_OUT = b"\x00\x00\x00\x00\x00\x05\x00\x00\x00\x00\x00\x00" + 5 * (LONG_NAME + b"\x00\xff\x00\x01")


def paced(rate, ended, act):
    """Do something so many times a second until told to end."""
    began, number = time.monotonic(), 0
    while not ended.is_set():
        act(number)
        number += 1
        time.sleep(max(0.0, began + number / rate - time.monotonic()))


def send_head(port):
    try:
        with socket.create_connection(("127.0.0.1", port), 1, ("127.0.0.2", 0)) as link:
            link.settimeout(1)
            link.sendall(HEAD)
            while link.recv(4096):
                pass
    except OSError:
        pass


def try_passphrase(port, statuses):
    try:
        statuses.append(Visitor(port, "127.0.0.3").enter("wrong wrong wrong")[0].status)
    except OSError:
        pass


def test_no_flood_of_heads_packets_or_passphrases_delays_a_switch_or_keeps_the_owner_out(flash, monkeypatch, capsys):
    port, multicast = broker.free_port(), broker.free_port()
    (flash / "network.json").write_text(json.dumps({
        "name": NAME, "wifi": None, "passphrase": passphrase_record(PASSPHRASE, rounds=200), "broker": None, "port": port}))
    monkeypatch.setattr(test_whole_board, "PROGRAM", test_whole_board.PROGRAM.replace(
        "import start\n", in_bundle_words(MULTICAST.replace("PORT", str(multicast)), "MULTICAST") + "import start\n"))
    wires = design_of(JOB).facts["pins"]
    switch, relay = wires["switch.door_right"], wires["relay.wall"]
    board, ended, statuses = Board(flash, "127.0.0.1:1"), threading.Event(), []
    datagrams = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
    floods = {"heads of 2 KB, 350 a second": [(350 / 8, lambda number: send_head(port))] * 8,
              "packets of 743 bytes, 193 a second": [
                  (193, lambda number: datagrams.sendto((POINTING, SPELT_OUT)[number % 4 == 3], ("127.0.0.1", multicast)))]}
    with ExitStack() as stack:
        stack.callback(lambda: board.process.poll() is None and board.cut())
        stack.callback(datagrams.close)
        board.power()
        board.wait(lambda: board.moves(relay))
        Visitor(port).ask("GET", "/")                           # the network is there
        time.sleep(1)                                           # and its name asked for
        found = {"nobody disturbs": board.throws(20, switch, relay)}
        for name, acts in floods.items():
            ended.clear()
            threads = [threading.Thread(target=paced, args=(rate, ended, act)) for rate, act in acts]
            threads.append(threading.Thread(target=paced, args=(2.5, ended, lambda number: try_passphrase(port, statuses))))
            for thread in threads:
                thread.start()
            found[name] = board.throws(25, switch, relay)
            began = time.monotonic()
            owner = Visitor(port)
            assert owner.enter(PASSPHRASE)[0].status == 303 and time.monotonic() - began < 10
            ended.set()
            for thread in threads:
                thread.join()
        assert "program" not in (log := owner.ask("GET", "/log")[1]) and log.count("<th scope=row>login refused") == 1
    with capsys.disabled():
        for name, times in found.items():
            print(f"\n  {name}: {len(times)} throws, 99.9 % within {worst(times) / 1000:.1f} ms of own time", end="")
        print()
    assert set(statuses) <= {403, 429} and statuses.count(403) == 8 < len(statuses)
    for times in found.values():
        assert worst(times) < SETTLE_US + MOST_CHANGED_US


@pytest.mark.parametrize("packet, length", [(POINTING, 743), (SPELT_OUT, 1297)])
def test_the_packets_are_as_long_as_they_say(packet, length):
    assert abs(len(packet) - length) <= 1
