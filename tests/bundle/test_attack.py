"""A bundle under attack from the home's network, its flash and its supply, all at once, in the board's interpreter over real sockets.

Attackers flood, drip and send noise to every port; now and then the power is cut, and in some lives no file
can be written. A switch is thrown thirteen times a second through all of it, and the owner comes by now and then:
opens the page, switches a lamp, and at the end puts a new program. For some seconds, and for an hour in `make soak`.
"""

import json
import os
import random
import resource
import signal
import socket
import threading
import time
from contextlib import ExitStack
from pathlib import Path
from urllib.parse import urlencode

import pytest

from pattress.bench.carrying import carry
from pattress.bundle import write_bundle
from pattress.bundle.passphrase import passphrase_record
from pattress.controller import sequence
from pattress.design import design_of

from ..controller.network import broker
from ..controller.network.test_web import FORM, HOSTILE, Visitor
from .test_whole_board import JOB, MOST_CHANGED_US, NAME, PASSPHRASE, SETTLE_US, Board, flash, worst

__all__ = ["flash"]             # a fixture of the module it comes from

KEY = "5a" * 32                 # invented
STEADY_S = 4                    # after which the supply is known to have stood the last closing
OWNER_S = 30                    # within which the owner must have done anything
NEWS = b"GET /news HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n"


class Besieged(Board):
    """A board whose lives end by power cuts; in a life with `writes=False` every write to a file fails, as on a flash that is full or worn."""

    def power(self, writes=True):
        super().power(preexec_fn=None if writes else _no_file_grows)

    def resident(self):
        """Return the memory that the process holds [B]."""
        return int(Path(f"/proc/{self.process.pid}/statm").read_text().split()[1]) * resource.getpagesize()


def _no_file_grows():
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (0, 0))


def floods(peer, chance):
    """Yield acts against the broker's path: floods of requests, topics and messages too long, kept and not."""
    while True:
        kind = chance.randrange(6)
        if kind == 0:
            peer.ask(f"channel/{'x' * chance.choice((30, 600))}/ask", b"on", qos=1, retain=chance.random() < 0.5)
        elif kind == 1:
            peer.ask("channel/pendant/ask", os.urandom(chance.choice((600, 5000, 70_000))), qos=chance.randrange(2))
        else:
            for _ in range(20):
                peer.ask(f"channel/{chance.choice(('ceiling', 'bench', 'nothing'))}/ask", chance.choice(("toggle", "on", "off", "2", "x" * 300)), qos=chance.randrange(2))
        yield


def visits(port, chance, source):
    """Yield acts against the page from another address in the home: fuzzed and hostile requests, wrong passphrases, unsigned programs, connections that drip or hang."""
    hung = []
    while True:
        kind = chance.randrange(6)
        try:
            link = socket.create_connection(("127.0.0.1", port), 1, source_address=(source, 0))
            link.settimeout(0.05)
            if kind == 0:
                link.sendall(_changed(chance.choice(HOSTILE), chance))
            elif kind == 1:
                link.sendall(b"POST /login HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Type: application/x-www-form-urlencoded\r\nContent-Length: 15\r\n\r\npassphrase=%04d" % chance.randrange(10_000))
            elif kind == 2:
                link.sendall(b"POST /program HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: 90000\r\n\r\n" + os.urandom(chance.choice((0, 40, 2000))))
            elif kind == 3:
                link.sendall(b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\nX: " + b"y" * 1900)
            elif kind == 4:
                link.sendall(NEWS)
            if kind in (2, 3, 4, 5):
                hung.append(link)
            else:
                link.recv(200)
                link.close()
        except OSError:
            pass
        for link in list(hung) if chance.random() < 0.3 else ():
            try:
                link.sendall(b"z")                  # drips
            except OSError:
                hung.remove(link)
                link.close()
        while len(hung) > 20:
            hung.pop(0).close()
        yield


def noise(chance):
    """Yield acts against multicast DNS: packets of noise and of many questions."""
    link = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
    while True:
        questions = b"\0\0\0\0" + chance.randrange(40).to_bytes(2, "big") + bytes(6) + b"".join(b"\x04_a%02d\x05local\0\0\x0c\0\x01" % chance.randrange(99) for _ in range(40))
        for _ in range(10):
            try:
                link.sendto(_changed(questions, chance) if chance.random() < 0.5 else os.urandom(chance.randrange(1, 743)), ("127.0.0.1", 5353))
            except OSError:
                pass
        yield


def _changed(data, chance):
    """Return bytes with a few of them changed, cut or said twice."""
    changed = bytearray(data)
    for _ in range(chance.randrange(4)):
        if changed:
            changed[chance.randrange(len(changed))] = chance.randrange(256)
    return bytes(changed[:chance.randrange(1, len(changed) + 1)] if changed and chance.random() < 0.3 else changed)


def attack(acts, ended, pause, rest):
    """Act again and again; while `rest` is set nothing is done."""
    for _ in acts:
        while rest.is_set() and not ended.is_set():
            time.sleep(0.1)
        if ended.wait(pause):
            return


def owner_comes_by(port, board):
    """Open the page and switch a lamp off and on as its owner does; return how long it took [s]."""
    began, visitor, body = time.monotonic(), Visitor(port), None
    while time.monotonic() - began < OWNER_S:
        try:
            if visitor.cookie is None or body is None:
                answer, _ = visitor.ask("POST", "/login", urlencode({"passphrase": PASSPHRASE}), **FORM)
                body = answer.status < 400 and visitor.cookie or None
            answer, text = visitor.ask("GET", "/channel/pendant") if body else (None, "")
            if answer is not None and answer.status == 200 and "level" in json.loads(text):
                return time.monotonic() - began
        except OSError:
            pass
        except ValueError:
            pass
        assert board.process.poll() is None, board.words.decode(errors="replace")
        time.sleep(0.2)
    raise AssertionError(f"the owner did not come in within {OWNER_S} s\n{board.words.decode(errors='replace')}")


def besieged(place, tmp_path, seconds, seed, capsys):
    """Attack a board for so long; assert that switches act, the owner comes in, and a new program is taken at the end."""
    design, chance = design_of(JOB), random.Random(seed)
    wire = design.facts["pins"]
    switch, relay = wire["switch.door_right"], wire["relay.wall"]
    write_bundle(tmp_path / "new", design.plan | {"save_ms": 4000}, design.facts, findings=(), accepted={})
    with ExitStack() as stack:
        real = stack.enter_context(broker.mosquitto(tmp_path))
        names = stack.enter_context(broker.NameServer({"localhost": "127.0.0.1"}))
        port = broker.free_port()
        (place / "network.json").write_text(json.dumps({
            "name": NAME, "wifi": None, "passphrase": passphrase_record(PASSPHRASE, rounds=200), "thing": None, "port": port, "signing_key": KEY,
            "broker": {"host": "localhost", "port": real}}))
        for copy in sequence.PLACES:             # as the first program over USB leaves them
            (place / copy).write_bytes(sequence.written(0))
        board, ended, rest = Besieged(place, names.address), threading.Event(), threading.Event()
        stack.callback(lambda: board.process.poll() is None and board.cut())
        peer = stack.enter_context(broker.Peer(real, NAME))
        board.power()
        board.wait(lambda: board.moves(relay))
        quiet = board.throws(40, switch, relay)
        attackers = [threading.Thread(target=attack, args=(acts, ended, pause, rest if switches else threading.Event()), daemon=True) for acts, pause, switches in (
            (floods(peer, random.Random(seed + 1)), 0.2, True), *((visits(port, random.Random(seed + number), f"127.0.0.{number}"), 0.03, False) for number in (2, 3)), (noise(random.Random(seed + 4)), 0.05, False))]
        for one in attackers:
            one.start()
        stack.callback(ended.set)
        times, waits, weights, lives, until = [], [], [], 1, time.monotonic() + seconds
        while time.monotonic() < until:
            times += board.throws(chance.randrange(60, 100), switch, relay)
            waits.append(owner_comes_by(port, board))
            weights.append(board.resident())
            times += board.throws(30, switch, relay)
            rest.set()
            time.sleep(STEADY_S)                # three cuts, each as a relay has just closed, are a supply at fault: the network is held back then
            board.cut()
            rest.clear()
            lives += 1
            board.power(writes=lives % 2)
            board.wait(lambda: board.moves(relay) or True)
            time.sleep(1)
            times += board.throws(20, switch, relay)
        board.cut()
        board.power()
        board.wait(lambda: board.moves(relay))
        began = time.monotonic()
        taken = put(port, tmp_path / "new", board)
        updated = time.monotonic() - began
        ended.set()
    with capsys.disabled():
        print(f"\n{seconds} s, {lives} lives, {len(times)} throws: switch to relay undisturbed 99.9 % within {worst(quiet) / 1000:.1f} ms, under attack "
              f"{worst(sorted(times)) / 1000:.1f} ms; the owner was in after {max(waits):.1f} s at most, a program was taken in {updated:.1f} s; "
              f"memory of the process {min(weights) / 2**20:.1f} to {max(weights) / 2**20:.1f} MiB")
    assert taken == "b" and len(times) >= 100
    judged = worst(sorted(times)) if len(times) >= 1000 else sorted(times)[-2]      # of a hundred throws one may meet what this machine does beside
    assert judged < SETTLE_US + MOST_CHANGED_US
    assert max(waits) < OWNER_S and updated < OWNER_S
    assert max(weights[len(weights) // 2:]) <= max(weights[:len(weights) // 2 + 1]) * 1.1


def put(port, folder, board):
    """Put a program over the network as its owner does: again at once when others were in the way."""
    until, number = time.monotonic() + OWNER_S, 1
    while True:
        try:
            return carry(f"127.0.0.1:{port}", folder, key=KEY, sequence=number, progress=lambda words: None)
        except Exception as error:
            assert time.monotonic() < until and board.process.poll() is None, f"{error}\n{board.words.decode(errors='replace')}"
            number += 1
            time.sleep(0.2)


def test_an_attack_delays_no_switch_and_keeps_no_owner_out(flash, tmp_path, capsys):
    besieged(flash, tmp_path, 12, 7, capsys)


@pytest.mark.soak
def test_an_hour_of_attack_delays_no_switch_and_keeps_no_owner_out(flash, tmp_path, capsys):
    besieged(flash, tmp_path, 3600, 11, capsys)
