"""The client against a real broker, with and without TLS, and against brokers that misbehave; under both interpreters.

The other side is an independent client library. Everything runs on loopback with real sockets.
"""

import socket
import time
from contextlib import ExitStack

from . import broker, certificates, places

CLIENT = """
import asyncio
from simulated import Board, live
from radio import records, service, topics
from radio.mqtt.client import Client, Settings

board = Board()
names = topics.topics_of(board.queue, "home")
tls = None
if SETTINGS.get("authority"):
    with open(SETTINGS["authority"], "rb") as file:
        tls = service.trusting(file.read())
settings = Settings(SETTINGS.get("host", "127.0.0.1"), SETTINGS["port"], tls=tls, answer=SETTINGS.get("answer", 1),
                    keep_alive=SETTINGS.get("keep_alive", 30), name_server=SETTINGS.get("name_server"))
client = Client(board.queue, names, settings, SETTINGS.get("thing"), lambda: 0)
reasons = []

async def watch():
    while True:
        if client.why and client.why not in reasons:
            reasons.append(client.why)
        await asyncio.sleep(0.05)

asyncio.run(live(board, SETTINGS["stop"], client.run(), watch()))
board.report(reasons=reasons, sessions=client.sessions, too_long=board.queue.counts[8], kinds=[records.event_kinds()[event[1]] for event in board.queue.events()])
"""


def run(place, port, **settings):
    return places.Running(*place, CLIENT, port=port, **settings)


def wait_until(true, seconds=15):
    for _ in range(50 * seconds):
        if true():
            return
        time.sleep(0.02)
    raise AssertionError("it did not happen in time")


def test_a_real_broker_is_told_and_asks(place, tmp_path):
    thing = tmp_path / "thing.json"
    thing.write_text('{"title":"' + "x" * 5000 + '"}', "utf-8")
    with broker.mosquitto(tmp_path) as port, broker.Peer(port) as peer:
        with run(place, port, thing=str(thing)) as board:
            peer.wait(lambda topic, payload, kept: topic == "channel/lamp" and b'"level":0' in payload)
            peer.ask("channel/lamp/ask", "on")
            peer.wait(lambda topic, payload, kept: topic == "channel/lamp" and b'"level":1,"of":1,"cause":"network"' in payload)
            peer.ask("channel/fan/ask", "3", qos=0)
            peer.wait(lambda topic, payload, kept: topic == "channel/fan" and b'"level":3' in payload)
            peer.ask("channel/fan/ask", "9")
            peer.wait(lambda topic, payload, kept: topic == "error" and b"or 0 to 4" in payload)
            assert peer.wait(lambda topic, payload, kept: topic == "thing")[1] == thing.read_bytes()
            peer.wait(lambda topic, payload, kept: topic == "counts")
        assert peer.payloads("here") == [b""]
        peer.wait(lambda topic, payload, kept: (topic, payload) == ("availability", b'{"available":false}'))     # the last will
        with broker.Peer(port) as late:         # states are retained, errors and events are not
            late.wait(lambda topic, payload, kept: topic == "channel/fan" and kept and b'"level":3' in payload)
            time.sleep(0.2)
            assert {topic for topic, _, kept in late.heard} == {
                "availability", "thing", "channel/lamp", "channel/fan", "channel/fridge", "sensor/hall_air", "sensor/hall_damp"}
    assert board.said["moves"] == [0b1000, 0b1011] and board.said["sessions"] == 1
    assert peer.payloads("availability")[0].startswith(b'{"available":true,"title":"home","start":"power"')


def test_a_real_broker_over_tls_whose_certificate_is_ours(place, tmp_path):
    files = certificates.make(tmp_path)
    with broker.mosquitto(tmp_path, tls=files) as port, broker.Peer(port, tls=files) as peer, broker.NameServer({"localhost": "127.0.0.1"}) as names:
        with run(place, port, host="localhost", authority=files["ca_der"], name_server=names.address) as board:
            peer.wait(lambda topic, payload, kept: topic == "channel/lamp")
            peer.ask("channel/lamp/ask", "on")
            peer.wait(lambda topic, payload, kept: topic == "channel/lamp" and b'"level":1' in payload)
    assert board.said["moves"] == [0b1000] and board.said["sessions"] == 1


def test_a_broker_with_a_certificate_that_is_not_ours_hears_nothing(place, tmp_path):
    """One is signed by another authority, one is for another name; both are tried again and told nothing."""
    other = tmp_path / "other"
    other.mkdir()
    ours, stranger = certificates.make(tmp_path), certificates.make(other)
    misnamed = certificates.make(other, "elsewhere.example")
    with ExitStack() as stack:
        names = stack.enter_context(broker.NameServer({"localhost": "127.0.0.1"}))
        boards = []
        for server, authority in ((stranger, ours), (misnamed, misnamed)):
            port = stack.enter_context(broker.mosquitto(other, tls=server))
            boards.append(stack.enter_context(run(place, port, host="localhost", authority=authority["ca_der"], name_server=names.address)))
        wait_until(lambda: names.asked >= 5)
    for board in boards:
        assert board.said["sessions"] == 0 and board.said["reasons"]


def hold(link):
    """Accept and never answer."""
    while link.recv(1000):
        pass


def talk_garbage(link):
    link.recv(1000)
    link.sendall(bytes(range(256)) * 10)
    time.sleep(5)


def drop(link):
    link.recv(1000)
    link.close()


def accept_and_drop(link):
    link.recv(1000)
    link.sendall(b"\x20\x02\x00\x00")
    time.sleep(0.2)
    link.close()


MISBEHAVING = [(hold, "the broker does not answer", False), (talk_garbage, "a packet that begins with 0x00", False),
               (drop, None, False), (accept_and_drop, None, True)]


def test_brokers_that_misbehave_are_left_and_tried_again(place):
    with ExitStack() as stack:
        odd = [stack.enter_context(broker.Odd(behave)) for behave, _, _ in MISBEHAVING]
        boards = [stack.enter_context(run(place, one.port)) for one in odd]
        wait_until(lambda: all(one.connections >= 2 for one in odd))
    for board, (behave, says, is_accepted) in zip(boards, MISBEHAVING):
        assert (board.said["sessions"] > 0) == is_accepted and board.said["moves"] == []
        assert board.said["reasons"] and (says is None or says in board.said["reasons"]), behave.__name__


def test_nobody_there_and_a_name_that_nobody_knows(place):
    with run(place, broker.free_port()) as board:
        time.sleep(0.7)
    assert board.said["sessions"] == 0 and board.said["reasons"]
    with run(place, 1883, host="broker.example") as board:
        time.sleep(0.7)
    assert board.said["reasons"] == ["there is no name server to ask for broker.example"]


def test_a_flood_moves_a_channel_no_faster_than_allowed(place, tmp_path):
    """A hundred toggles a second for two seconds: it comes on five times at once, then once a second; to go off is never refused."""
    with broker.mosquitto(tmp_path) as port, broker.Peer(port) as peer, run(place, port) as board:
        peer.wait(lambda topic, payload, kept: topic == "channel/lamp")
        for _ in range(200):
            peer.ask("channel/lamp/ask", "toggle", qos=0)
            time.sleep(0.01)
        peer.wait(lambda topic, payload, kept: topic == "error" and b"asked too often" in payload)
    assert 5 <= len(board.said["moves"]) <= 2 * (5 + 3)         # a toggle that comes before the last one is told may be on or off
    assert board.said["refused"] > 150 and board.said["sessions"] == 1


def test_what_a_broker_keeps_in_our_name_ends_no_connection_and_moves_nothing(place, tmp_path):
    """Topics and payloads that do not fit, and requests; then the controller comes, is cut off, and comes again."""
    long = "channel/" + "x" * 600 + "/ask"
    with broker.mosquitto(tmp_path) as port, broker.Peer(port) as peer:
        for topic, payload in ((long, "on"), ("channel/" + "ä" * 30_000 + "/ask", "on"), ("channel/fan/ask", "x" * 300_000), ("channel/lamp/ask", "on")):
            peer.ask(topic, payload, retain=True)
        peer.wait(lambda topic, payload, kept: topic == "channel/lamp/ask")
        with run(place, port) as board:
            peer.wait(lambda topic, payload, kept: topic == "channel/lamp" and b'"level":0' in payload)
            for topic in ("channel/fan/ask", "channel/lamp/ask"):       # taken from the broker
                wait_until(lambda: b"" in peer.payloads(topic))
            peer.ask("channel/fan/ask", "3")
            peer.wait(lambda topic, payload, kept: topic == "channel/fan" and b'"level":3' in payload)
            peer.ask("channel/lamp/ask", "off", retain=True)    # the broker hides that flag from who is subscribed: it is a request of now
        with broker.Peer(port) as late, run(place, port) as again:
            late.wait(lambda topic, payload, kept: topic == "availability" and b"true" in payload)
            late.wait(lambda topic, payload, kept: topic == "error" and b"a kept request may be old" in payload)
            wait_until(lambda: b"" in late.payloads("channel/lamp/ask"))
    assert board.said["moves"] == [0b0011] and board.said["sessions"] == 1 and board.said["too_long"] == 3
    assert again.said["moves"] == [] and again.said["sessions"] == 1


def test_a_broker_that_reads_slowly_is_left_when_it_stops(place):
    """It takes the connection, then reads nothing more while it asks for ever more acknowledgements."""
    def read_nothing(link):
        link.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 2048)
        link.recv(1000)
        link.sendall(b"\x20\x02\x00\x00")
        number = 0
        while True:
            number = number % 60000 + 1
            link.sendall(b"\x32\x22\x00\x1dpattress/home/channel/lamp/ask"[:2] + b"\x00\x1e" + b"pattress/home/channel/lamp/ask"
                         + number.to_bytes(2, "big"))

    with broker.Odd(read_nothing) as odd, run(place, odd.port) as board:
        wait_until(lambda: odd.connections >= 2)
    assert board.said["sessions"] >= 1 and board.said["reasons"]
    assert board.said["moves"] == []            # an empty wish is none
