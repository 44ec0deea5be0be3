"""The queue as outbox, and one conversation with a broker in simulated time."""

import json

import pytest

from pattress.controller import core
from pattress.controller.core import ON
from pattress.controller.network.host_names import is_name
from pattress.controller.network.mqtt import packets
from pattress.controller.network.mqtt.conversation import Conversation, Refused
from pattress.controller.network.mqtt.packets import Malformed, Reader, publish
from pattress.controller.network.reach import LONGEST_PAUSE_S, any_chance, pause
from pattress.controller.network.records import decimal, printable
from pattress.controller.network.telling import Telling
from pattress.controller.network.topics import Topics
from pattress.controller.request_queue import FAULT, TOO_LONG, RequestQueue

from ..core.home import FAN, LAMP, TABLE
from .board import SENSORS, Board

ACCEPTED, SUBSCRIBED = b"\x20\x02\x00\x00", b"\x90\x03\x00\x01\x01"


class Talk:
    """A conversation that has been accepted, and a broker that acknowledges when told to."""

    def __init__(self, accept=True, keep_alive=30, answer=10):
        self.board = Board()
        self.queue = self.board.queue
        topics = Topics("home", self.queue.keys, [key for key, _, _ in SENSORS])
        self.telling = Telling(self.queue, topics)
        self.talk = Conversation(self.queue, topics, self.telling, keep_alive, answer, Reader())
        if accept:
            self.talk.take(ACCEPTED)

    def written(self, acknowledge=True):
        """Return all that is said now, as (topic, record)."""
        said = []
        packet = self.talk.next()
        while packet is not None:
            if packet[0] >> 4 == packets.PUBLISH:
                topic, number, payload = packets.publication(packet[0] & 15, packet[2 if packet[1] < 128 else 3:])
                said.append((topic.decode().removeprefix("pattress/home/"), json.loads(payload) if payload else None))
                if number and acknowledge:
                    self.talk.take(packets.puback(number))
            packet = self.talk.next()
        return said


def test_a_new_session_is_told_every_state_once_and_birth_first():
    talk = Talk()
    written = talk.written()
    topics = [topic for topic, _ in written]
    assert written[0] == ("here", None)              # the topic of version 0.1, emptied
    assert topics[1:7] == ["availability", "channel/lamp", "channel/fan", "channel/fridge", "sensor/hall_air", "sensor/hall_damp"]
    assert talk.written() == []


def test_a_channel_that_never_moved_is_told_too():
    board = Board()
    queue = RequestQueue(core, board.home.plan, TABLE)               # before the first turn of its loop
    telling = Telling(queue, Topics("home", queue.keys, []))
    told = []
    for _ in range(4):
        what, mark, topic, record, _ = telling.next()
        telling.told(what, mark)
        told.append((topic.decode(), json.loads(record)))
    assert told[1] == ("pattress/home/channel/lamp", {"level": 0, "of": 1, "cause": "nobody", "second": 0, "time": None})


def test_a_state_that_changed_a_hundred_times_meanwhile_is_told_once_and_newest():
    talk = Talk()
    talk.written()
    for number in range(100):
        talk.queue.news(FAN, number % 5, 4)
    fan = [record for topic, record in talk.written() if topic == "channel/fan"]
    assert [record["level"] for record in fan] == [99 % 5]
    assert fan[0]["cause"] == "network"


def test_what_was_not_acknowledged_is_told_again_in_the_next_session():
    talk = Talk()
    talk.written()
    talk.queue.news(LAMP, 1, 1)
    assert ("channel/lamp", 1) in [(topic, record.get("level")) for topic, record in talk.written(acknowledge=False)]
    talk.talk = Conversation(talk.queue, Topics("home", talk.queue.keys, ["hall_air", "hall_damp"]), talk.telling, 30, 10, Reader())
    talk.talk.take(ACCEPTED)
    again = dict(talk.written())
    assert again["channel/lamp"]["level"] == 1


def test_an_old_acknowledgement_does_not_hide_a_newer_state():
    talk = Talk()
    talk.written()
    talk.queue.news(LAMP, 1, 1)
    talk.written(acknowledge=False)             # number 8 is under way
    talk.queue.news(LAMP, 0, 1)
    assert not any(topic == "channel/lamp" for topic, _ in talk.written())      # one at a time
    talk.talk.take(packets.puback(8))
    assert dict(talk.written())["channel/lamp"]["level"] == 0


def test_events_are_told_in_order_and_those_from_before_the_start_are_not():
    talk = Talk()
    assert not any(topic == "events" for topic, _ in talk.written())
    for number in range(100):
        talk.queue.note(FAULT, number, 0, 0)
    said = [record["number"] for topic, record in talk.written() if topic == "events"]
    assert said == list(range(68, 100))         # the ring holds the last 32


def test_a_reading_is_told_when_it_changes_and_has_no_value_when_stale():
    talk = Talk()
    talk.written()
    talk.queue.reading(0, -4, 1)
    assert dict(talk.written())["sensor/hall_air"] == {"value": -0.4, "unit": "°C", "fresh": True, "second": talk.queue.seconds, "time": None}
    talk.queue.reading(0, -4, 1)
    assert talk.written() == []
    talk.queue.reading(0, -4, 0)
    assert dict(talk.written())["sensor/hall_air"]["value"] is None


def test_times_are_told_as_unix_time_once_the_clock_is_known():
    talk = Talk()
    talk.queue.clock = 1_800_000_000
    assert dict(talk.written())["availability"]["time"] == 1_800_000_000 + talk.queue.seconds


def test_counters_are_told_once_a_minute():
    talk = Talk()
    talk.written()
    talk.queue.advance(59_000)
    talk.talk.take(b"\xd0\x00")
    assert not any(topic == "counts" for topic, _ in talk.written())
    talk.queue.advance(1_000)
    counts = dict(talk.written())["counts"]
    assert counts["moves"] == {"lamp": 1, "fan": 1, "fridge": 1} and counts["requests refused"] == 0


@pytest.mark.parametrize("topic, payload, retain, reason", [
    ("channel/lamp/ask", b"maybe", False, "not understood"), ("channel/lamp/ask", b"7", False, "unknown channel, verb or level"),
    ("channel/lamp/ask", b"on", True, "a kept request may be old"), ("channel/porch/ask", b"on", False, "unknown channel"),
    ("channel/lamp/ask", b"o" * 600, False, "too long"),
])
def test_what_is_not_understood_is_answered_and_never_acted_upon(topic, payload, retain, reason):
    talk = Talk()
    talk.written()
    talk.talk.take(publish(b"pattress/home/" + topic.encode(), payload, 0, retain))
    said = dict(talk.written())["error"]
    assert said["reason"] == reason and said["topic"] == "pattress/home/" + topic
    talk.board.turn()
    assert talk.board.taken == []


def test_errors_are_answered_at_most_once_a_second():
    talk, answers = Talk(), 0
    talk.written()
    for _ in range(300):                        # three seconds, a hundred messages in each
        talk.talk.take(publish(b"pattress/home/channel/lamp/ask", b"noise"))
        talk.queue.advance(10)
        answers += sum(topic == "error" for topic, _ in talk.written())
    assert answers == 4


def test_what_is_understood_is_acknowledged_and_carried_out():
    talk = Talk()
    talk.written()
    talk.talk.take(publish(b"pattress/home/channel/lamp/ask", b'"on"', 77))
    assert talk.talk.next() == packets.puback(77)
    talk.board.turn()
    assert talk.board.taken[0][1:4] == (LAMP, ON, 0)


def test_what_is_not_acknowledged_yet_stops_the_reading():
    talk = Talk()
    for number in range(4):
        assert talk.talk.has_room()
        talk.talk.take(publish(b"pattress/home/channel/lamp/ask", b"on", number + 1))
    assert not talk.talk.has_room()
    talk.written()
    assert talk.talk.has_room()


def test_a_quiet_connection_is_kept_alive_and_a_dead_one_is_noticed():
    """Something is sent within the keep-alive time (3.1.2.10); an answer must come within ten seconds."""
    talk = Talk(keep_alive=30)
    talk.written()
    pinged = []
    with pytest.raises(Refused, match="^the broker does not answer a ping$"):
        for second in range(100):
            if talk.talk.next() == packets.PING:
                pinged.append(second)
                if len(pinged) < 3:
                    talk.talk.take(b"\xd0\x00")
            talk.queue.advance(1000)
    assert pinged == [15, 30, 45] and second == 56


def test_a_broker_that_answers_nothing_is_left():
    talk = Talk(accept=False)
    with pytest.raises(Refused, match="^the broker does not answer$"):
        for second in range(100):
            assert talk.talk.next() is None
            talk.queue.advance(1000)
    assert second == 11
    talk = Talk()
    talk.written(acknowledge=False)
    talk.queue.advance(11_000)
    with pytest.raises(Refused, match="^the broker does not acknowledge$"):
        talk.talk.next()


@pytest.mark.parametrize("answer, error, says", [
    ("20020005", Refused, "not allowed"), ("20020002", Refused, "this client name is refused"), ("200200ff", Refused, "the broker refuses"),
    ("20020100", Malformed, "no CONNACK of a clean session"), ("d000", Malformed, "no CONNACK"),
    ("20020000" "20020000", Malformed, "a second CONNACK"), ("20020000" "9003000180", Refused, "refuses the subscription"),
])
def test_the_first_answer_is_judged(answer, error, says):
    with pytest.raises(error, match=says):
        Talk(accept=False).talk.take(bytes.fromhex(answer))


def test_back_off_doubles_to_its_end_and_leaves_half_to_chance():
    assert [pause(failures, 1) for failures in range(9)] == [1, 2, 4, 8, 16, 32, 64, LONGEST_PAUSE_S, LONGEST_PAUSE_S]
    assert pause(3, 0) == 4 and 4 < pause(3, 0.5) < 8
    assert len({any_chance() for _ in range(50)}) > 10


def test_foreign_bytes_are_shown_without_harm():
    assert printable(b'a"\\<script>\n\x00\xff&', 96) == "a???script?????"
    assert printable(b"x" * 100, 32) == "x" * 32 + "..."
    assert [decimal(tenths) for tenths in (-4, 0, 7, 215, -215)] == ["-0.4", "0.0", "0.7", "21.5", "-21.5"]


def test_a_name_for_topics_and_hosts():
    assert is_name("hall-2") and is_name("a")
    assert not any(map(is_name, ["", "-a", "a-", "Hall", "a b", "a/b", "a" * 33, "ä"]))


def test_a_program_that_was_refused_is_told_once_on_the_error_topic():
    talk = Talk()
    talk.written()
    talk.queue.decline(b"program", b"", "not newer than the newest one", "a bundle of this job, signed and newer")
    said = [record for topic, record in talk.written() if topic == "error"]
    assert said == [{"topic": "program", "found": "", "reason": "not newer than the newest one",
                     "allowed": "a bundle of this job, signed and newer"}]
    assert talk.written() == []


# Messages that do not fit, and requests that the broker keeps.

def asked(key, payload, packet=1, retain=False):
    return publish(b"pattress/home/channel/" + key + b"/ask", payload, packet, retain)


@pytest.mark.parametrize("packet", [0, 7])
@pytest.mark.parametrize("key, payload", [(b"x" * 600, b"on"), (b"lamp", b"x" * 70_000), (b"x" * 60_000, b"on" * 5000)])
def test_a_message_that_does_not_fit_is_acknowledged_counted_and_the_connection_lives_on(key, payload, packet):
    talk = Talk()
    talk.written()
    data = asked(key, payload, packet, retain=True)
    for start in range(0, len(data), 256):
        talk.talk.take(data[start:start + 256])
    said = []
    while (told := talk.talk.next()) is not None:
        said.append(told)
    assert talk.queue.counts[TOO_LONG] == 1 and (packets.puback(7) in said) == bool(packet)
    assert [b"too long" if key == b"lamp" else b"unknown channel"] == [
        json.loads(told[told.index(b"{"):])["reason"].encode() for told in said if b"pattress/home/error" in told]
    talk.talk.take(asked(b"lamp", b"on", 0))
    talk.board.turn()
    assert len(talk.board.taken) == 1


def test_a_long_message_may_take_its_time_and_a_broker_that_is_silent_may_not():
    """256 MB would take hours; meanwhile nothing else can come, and we go on pinging."""
    talk = Talk()
    talk.written()
    talk.talk.take(b"\x30" + packets.remaining_length(packets.LONGEST))
    pings = 0
    for _ in range(600):
        talk.queue.advance(1000)
        talk.talk.take(bytes(100))
        while (packet := talk.talk.next()) is not None:
            pings += packet == packets.PING
    assert 600 // 15 - 2 <= pings <= 600 // 15
    talk.queue.advance(11_000)
    with pytest.raises(Refused, match="^the broker does not a"):
        while talk.talk.next() is not None:
            pass


def test_a_kept_request_never_acts_and_is_taken_from_the_broker_once():
    """OASIS MQTT 3.1.1, section 3.3.1.3: it comes with the flag at each new subscription, and without it to those that are subscribed already."""
    talk = Talk()
    talk.written()
    talk.talk.take(asked(b"lamp", b"on", 0, retain=True))
    assert talk.talk.next() == asked(b"lamp", b"", 0, retain=True)
    talk.talk.take(asked(b"lamp", b"", 0))              # which comes to us, too
    assert [record["reason"] for topic, record in talk.written() if topic == "error"] == ["a kept request may be old"]
    again = Conversation(talk.queue, Topics("home", talk.queue.keys, []), talk.telling, 30, 10, Reader())
    again.take(ACCEPTED + asked(b"lamp", b"on", 0, retain=True) + asked(b"fan", b"3", 0, retain=True))
    said = []
    while (packet := again.next()) is not None:
        said.append(packet)
    assert asked(b"fan", b"", 0, retain=True) in said and asked(b"lamp", b"", 0, retain=True) not in said
    talk.board.turn()
    assert talk.board.taken == []
