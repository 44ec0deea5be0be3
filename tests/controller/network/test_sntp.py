"""The time of day: the layout against RFC 4330 as `ntplib` writes it, and servers of every kind, under both interpreters."""

import json
import random
import socket
import threading

import ntplib
import pytest

from pattress.controller.network import sntp
from pattress.controller.network.telling import CHANNEL, Telling
from pattress.controller.network.topics import Topics
from pattress.controller.request_queue import RequestQueue

from . import broker
from .board import Board
from .pages import PASSPHRASE, RECORD
from .places import Running, run
from .test_service import PROGRAM
from .test_web import JSON, Visitor

NONCE = bytes(range(100, 108))

ASK = """
import asyncio
from radio import reach, sntp

async def main():
    try:
        found = await sntp.ask(SETTINGS["server"], seconds=SETTINGS["seconds"])
    except reach.Unreachable as error:
        found = str(error)
    print(json.dumps(found))

asyncio.run(main())
"""

NOW = 1_795_000_000         # one second of November 2026


def answered(question, *, now=NOW, mode=4, stratum=2, leap=0, nonce=None):
    """Return what a server answers, made by another program."""
    packet = ntplib.NTPPacket(version=4, mode=mode, tx_timestamp=ntplib.system_to_ntp_time(now))
    packet.stratum, packet.leap = stratum, leap
    data = bytearray(packet.to_data())
    data[24:32] = question[40:48] if nonce is None else nonce
    return bytes(data)


class TimeServer(threading.Thread):
    """Answers each question on loopback with what `answers` gives for it, one after the other."""

    def __init__(self, answers):
        super().__init__(daemon=True)
        self._answers, self.asked = answers, []
        self._link = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
        self._link.bind(("127.0.0.1", 0))
        self.address = f"127.0.0.1:{self._link.getsockname()[1]}"

    def __enter__(self):
        self.start()
        return self

    def __exit__(self, *_):
        self._link.close()

    def run(self):
        while True:
            try:
                question, sender = self._link.recvfrom(512)
                self.asked.append(question)
                for answer in self._answers(question):
                    self._link.sendto(answer, sender)
            except OSError:
                return


def test_the_question_is_one_that_another_program_reads():
    packet = ntplib.NTPPacket()
    packet.from_data(sntp.question(NONCE))
    assert (packet.leap, packet.version, packet.mode, packet.stratum) == (0, 4, 3, 0)
    assert sntp.question(NONCE)[40:] == NONCE and len(sntp.question(NONCE)) == 48


# RFC 868, the examples at its end, seconds since 1900: what they are in Unix time (from memory of the text).
@pytest.mark.parametrize(("stamp", "unix"), [
    (2_208_988_800, 0), (2_398_291_200, 189_302_400), (2_524_521_600, 315_532_800), (2_629_584_000, 420_595_200)])
def test_seconds_since_1900_are_those_of_rfc_868(stamp, unix):
    data = bytearray(answered(sntp.question(NONCE)))
    data[40:44] = stamp.to_bytes(4, "big")
    assert sntp.time_of(bytes(data), NONCE) == unix


def test_the_stamp_wraps_on_7_february_2036():
    """At 06:28:16 UTC, as the lwIP documentation (sntp_msg) says: there the count begins anew."""
    data = bytearray(answered(sntp.question(NONCE)))
    data[40:48] = bytes((0, 0, 0, 0, 0, 0, 0, 1))
    assert sntp.time_of(bytes(data), NONCE) is None             # all zero seconds: a server that has no time
    data[40:44] = (1).to_bytes(4, "big")
    assert sntp.time_of(bytes(data), NONCE) == 2_085_978_496 + 1
    data[40:44] = b"\xff\xff\xff\xff"
    assert sntp.time_of(bytes(data), NONCE) == 2_085_978_496 - 1


@pytest.mark.parametrize("strange", [
    dict(mode=3), dict(mode=5), dict(stratum=0), dict(stratum=16), dict(leap=3), dict(nonce=bytes(8)), dict(now=-2_208_988_800)])
def test_what_is_no_answer_to_us_is_not_believed(strange):
    assert sntp.time_of(answered(sntp.question(NONCE)), NONCE) == NOW
    assert sntp.time_of(answered(sntp.question(NONCE), **strange), NONCE) is None


def test_random_bytes_are_refused_and_raise_nothing():
    rng = random.Random(868)
    for _ in range(2000):
        message = rng.randbytes(rng.randrange(96))
        assert sntp.time_of(message, NONCE) is None
    whole = answered(sntp.question(NONCE))
    assert all(sntp.time_of(whole[:length], NONCE) is None for length in range(48))


def test_a_server_is_asked_and_what_is_not_its_answer_is_passed_over(place):
    def answers(question):
        return b"", b"noise", answered(question, nonce=bytes(8)), answered(question, stratum=0), answered(question)

    with TimeServer(answers) as server:
        assert run(*place, ASK, server=server.address, seconds=2) == NOW
        assert len(server.asked) == 1


def test_a_server_that_is_silent_or_strange_tells_no_time(place):
    for answers in (lambda question: (), lambda question: (b"x" * 500, answered(question, leap=3))):
        with TimeServer(answers) as server:
            assert run(*place, ASK, server=server.address, seconds=0.4) == f"{server.address} tells no time"


def test_states_are_told_with_the_time_once_it_is_known(place, tmp_path):
    """The broker keeps a state without time from power-up; the same state comes again with it, and so does the next."""
    with (broker.mosquitto(tmp_path) as port, broker.Peer(port, "hall-2") as peer,
          TimeServer(lambda question: (answered(question),)) as server):
        settings = {"name": "hall-2", "wifi": None, "broker": {"host": "127.0.0.1", "port": port}, "passphrase": None,
                    "time_server": server.address}
        with Running(*place, PROGRAM, settings=settings, port=broker.free_port(), multicast=broker.free_port()):
            told = peer.wait(lambda topic, payload, kept: topic == "channel/fan" and b'"time":null' not in payload)[1]
    assert abs(json.loads(told)["time"] - NOW) <= 10


def test_a_phone_tells_the_time_while_nobody_else_has(place):
    settings = {"name": "hall-2", "wifi": None, "broker": None, "passphrase": RECORD}
    http = broker.free_port()
    with Running(*place, PROGRAM, settings=settings, port=http, multicast=broker.free_port()):
        visitor = Visitor(http)
        assert visitor.ask("POST", "/time", str(NOW), **JSON)[0].status == 401
        visitor.enter(PASSPHRASE)
        for said in ("", "[1795000000]", "soon", "-5", "1795000000000"):
            assert visitor.ask("POST", "/time", said, **JSON)[0].status == 400
        assert visitor.ask("POST", "/time", str(NOW), **JSON)[0].status == 204
        assert visitor.ask("POST", "/time", str(NOW + 9999), **JSON)[0].status == 204       # it is known now
        assert abs(json.loads(visitor.ask("GET", "/channel/fan")[1])["time"] - NOW) <= 10


def test_what_the_broker_keeps_is_told_again_once_and_not_at_every_correction():
    board = Board()
    telling = Telling(board.queue, Topics("hall-2", board.queue.keys, [sensor[0] for sensor in board.queue.sensors]))

    def kept():
        found = []
        while (message := telling.next()) is not None:
            telling.told(message[0], message[1])
            found += [message[0]] if message[0][0] == CHANNEL else []
        return found

    channels = [(CHANNEL, place) for place in range(len(board.queue.keys))]
    assert kept() == channels and kept() == []
    board.queue.tell_time(NOW)
    assert kept() == channels
    board.queue.tell_time(NOW + 2)
    assert kept() == []


@pytest.mark.parametrize("epoch", [1970, 2000])
def test_the_boards_own_clock_is_set_whenever_it_begins_to_count(epoch, monkeypatch):
    import time

    real, set_to = time.gmtime, []

    class Clock:
        def datetime(self, date):
            set_to.append(date)

    class Machine:
        RTC = Clock

    monkeypatch.setattr(time, "gmtime", lambda seconds: real(seconds + (946_684_800 if epoch == 2000 else 0)))
    sntp.clock_of(Machine)(1_795_000_000)
    assert set_to == [(2026, 11, 18, 2, 11, 6, 40, 0)]          # a Wednesday; Monday is 0
    assert sntp.clock_of(object()) is None


def test_time_is_no_part_of_what_the_queue_decides():
    """A clock that jumps to and fro moves no second since power-up, and no state."""
    board = Board()
    before = (board.queue.seconds, list(board.queue.since), list(board.queue.level))
    for now in (NOW, 0, NOW + 10**6):
        board.queue.tell_time(now)
    assert (board.queue.seconds, list(board.queue.since), list(board.queue.level)) == before
    assert isinstance(board.queue, RequestQueue)
