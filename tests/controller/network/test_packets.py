"""MQTT packets: published bytes first, then what holds for every input, then hostile bytes.

The figures of the OASIS Standard "MQTT Version 3.1.1" are from memory; the real broker in
`test_mqtt` is the check that does not rest on memory.
"""

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pattress.controller.network.mqtt import packets
from pattress.controller.network.mqtt.conversation import Conversation, Refused
from pattress.controller.network.mqtt.packets import Malformed, Reader, publication, publish, remaining_length
from pattress.controller.network.telling import Telling
from pattress.controller.network.topics import Topics

from .board import Board

ACCEPTED = b"\x20\x02\x00\x00"

# Table 2.4, size of the remaining length field: the ends of each size.
LENGTHS = [(0, "00"), (127, "7f"), (128, "8001"), (16383, "ff7f"), (16384, "808001"), (2097151, "ffff7f"),
           (2097152, "80808001"), (268435455, "ffffff7f")]
EXAMPLES = [(64, "40"), (321, "c102")]     # section 2.2.3, the two lengths explained in words


@pytest.mark.parametrize("length, coded", LENGTHS + EXAMPLES)
def test_remaining_length_follows_the_table(length, coded):
    assert remaining_length(length).hex() == coded


def test_connect_follows_the_figures_of_the_standard():
    """Figure 3.6 and its neighbours: protocol name, level 4, flags, keep alive 10 s; flags here are our own."""
    packet = packets.connect(b"p", 10, b"w", b"x", b"u", b"s")
    assert packet.hex() == "10" "19" "00044d51545404" "ee" "000a" "000170" "000177" "000178" "000175" "000173"
    assert packets.connect(b"p", 10, b"w", b"x")[9] == 0x2E      # no user, no password; will of QoS 1, retained


def test_publish_subscribe_and_acknowledge_follow_the_figures_of_the_standard():
    """Figures 3.11 and 3.24: topic a/b, packet 10; filter a/b with QoS 1."""
    assert publish(b"a/b", b"", 10).hex() == "3207" "0003612f62" "000a"
    assert packets.subscribe(10, b"a/b", 1).hex() == "8208" "000a" "0003612f62" "01"
    assert packets.puback(10).hex() == "4002000a"


def split(data, places):
    """Return the same bytes in several parts."""
    ends = sorted({place % (len(data) + 1) for place in places} | {len(data)})
    return [data[start:end] for start, end in zip([0, *ends], ends)]


TOPIC = st.text(st.characters(codec="utf-8", exclude_characters="\0#+"), min_size=1, max_size=30).map(str.encode)


@given(topic=TOPIC, payload=st.binary(max_size=400), packet=st.integers(0, 65535), retain=st.booleans(),
       places=st.lists(st.integers(0, 500), max_size=5))
def test_what_is_written_is_read_again_however_it_is_cut(topic, payload, packet, retain, places):
    reader, found = Reader(), []
    for part in split(publish(topic, payload, packet, retain) * 2, places):
        found += reader.feed(part)
    assert [(kind, flags & 1, publication(flags, body)) for kind, flags, body in found] == [
        (packets.PUBLISH, retain, (topic, packet, payload))] * 2


def test_a_publication_too_long_is_read_past_and_the_next_one_is_whole():
    reader = Reader()
    found = reader.feed(publish(b"a", bytes(5000)) + publish(b"b", b"x"))
    assert [kind for kind, _, _ in found] == [packets.TOO_LONG, packets.PUBLISH]
    assert len(found[0][2]) == packets.LIMIT and publication(*found[1][1:]) == (b"b", 0, b"x")


@settings(max_examples=300)
@given(topic=st.sampled_from([1, 97, 98, 505, 506, 507, 508, 509, 510, 511, 600, 65535]), payload=st.sampled_from([0, 1, 2, 300, 600, 70_000]),
       packet=st.sampled_from([0, 1, 0xABCD]), places=st.lists(st.integers(0, 140_000), max_size=4), piece=st.sampled_from([1, 3, 256, 100_000]))
def test_whatever_does_not_fit_is_read_past_and_its_number_is_known(topic, payload, packet, places, piece):
    """The topic is of letters of two bytes, so that a cut may fall within one."""
    name = ("ä" * 40_000).encode()[:topic // 2 * 2] + b"x" * (topic % 2)
    data, reader, found = publish(name, bytes(payload), packet, True) + publish(b"b", b"x", 9), Reader(), []
    if piece < 256:
        data = data if len(data) < 2000 else data[:0]
    for part in split(data, places):
        for start in range(0, len(part), piece):
            found += reader.feed(part[start:start + piece])
    if data:
        (kind, flags, body), (other, *last) = found
        said, number, _ = publication(flags, body, kind == packets.PUBLISH)
        assert (number, name.startswith(said), publication(*last)) == (packet, True, (b"b", 9, b"x"))
        is_whole = 2 + topic + 2 * bool(packet) + payload <= packets.LIMIT
        assert kind == (packets.PUBLISH if is_whole else packets.TOO_LONG) and len(body) <= packets.LIMIT
    assert len(reader._buffer) == packets.LIMIT


def test_a_topic_that_does_not_fit_into_its_packet_is_refused_however_long_both_are():
    with pytest.raises(Malformed, match="shorter than its topic"):
        for kind, flags, body in Reader().feed(b"\x32" + remaining_length(700) + b"\x02\xbb" + b"x" * 698):
            publication(flags, body, False)


@pytest.mark.parametrize("data, says", [
    ("00", "begins with 0x00"), ("f0", "begins with 0xf0"), ("1000", "begins with 0x10"), ("4202", "begins with 0x42"),
    ("30ffffffff01", "length of more than four bytes"), ("30808080", None), ("4003", "kind 4 with 3 bytes"),
    ("d001", "kind 13 with 1 bytes"), ("30ffff7f", None), ("90ffff7f", "kind 9 with 2097151 bytes"), ("3002", "kind 3 with 2 bytes"),
    ("340700016100016162", "publication of QoS 2"), ("36050001610001", "publication of QoS 3"), ("3803000161", "repeated publication"),
    ("32050001610000", "packet number 0"), ("3003000461", "shorter than its topic"), ("3003000123", "nobody may publish to"),
    ("300300012b", "nobody may publish to"), ("3003000100", "nobody may publish to"), ("3003000000", "nobody may publish to"),
    ("30030001ff", "not UTF-8"),
])
def test_what_no_broker_may_send_is_refused_by_name(data, says):
    def read():
        for kind, flags, body in Reader().feed(bytes.fromhex(data)):
            publication(flags, body)
    if says is None:
        read()                  # cut off in the middle: nothing yet
    else:
        with pytest.raises(Malformed, match=says):
            read()


WISH = re.compile(rb'[ \t\r\n]*("?(on|off|toggle|up|down)"?|true|false|\d{1,2})[ \t\r\n]*')
VALID = [publish(b"pattress/home/channel/" + key + b"/ask", payload, packet)
         for key in (b"lamp", b"fan", b"fridge") for payload in (b"on", b'"toggle"', b"3", b"true", b"x" * 600) for packet in (0, 7)]
VALID += [publish(b"pattress/home/channel/" + b"x" * 600 + b"/ask", b"on", packet, True) for packet in (0, 7)]
VALID += [packets.puback(1), b"\x90\x03\x00\x01\x01", b"\xd0\x00", ACCEPTED]
ENTROPY = st.binary(max_size=60)


def stream_of(entropy):
    """Spell a stream out of bytes, cheaper to draw than its parts: good packets, damaged ones and noise."""
    stream, at = b"", 0
    while at + 4 <= len(entropy):
        which, place, byte, changes = entropy[at:at + 4]
        at += 4
        if which < 2 * len(VALID):
            packet = bytearray(VALID[which // 2])
            for again in range(changes % 4):
                packet[(place * (again + 1)) % len(packet)] = byte ^ again
            stream += packet
        else:
            stream += entropy[at:at + place % 16]
            at += place % 16
    return stream


def hold_against_hostile_bytes(entropy):
    """Bytes of any kind end the conversation or change nothing that was not asked for in so many words."""
    board = Board(fresh=True)
    topics = Topics("home", board.queue.keys, [])
    talk = Conversation(board.queue, topics, Telling(board.queue, topics), 30, 10, Reader())
    talk.take(ACCEPTED)
    data = stream_of(entropy)
    try:
        for part in split(data, entropy[:3]):
            for start in range(0, len(part), 64):
                talk.take(part[start:start + 64])
                said = 0
                while talk.next() is not None:
                    said += 1
                assert said < 64                # acknowledgements of 64 bytes, and what the queue holds
    except (Malformed, Refused):
        pass
    asked = re.findall(rb"channel/(?:lamp|fan|fridge)/ask(?:..)??" + WISH.pattern, data, re.DOTALL)
    for _ in range(20):
        board.turn()
    assert len(board.taken) <= len(asked)
    return len(board.taken)


def test_the_hostile_streams_reach_what_they_shall():
    """Most streams get past the first packet, and some ask for something in earnest."""
    board_taken = sum(hold_against_hostile_bytes(bytes((which, 5, 0, 0) * 3)) for which in range(2 * len(VALID)))
    assert board_taken > len(VALID)


@settings(max_examples=2000)
@given(ENTROPY)
def test_hostile_bytes_change_nothing(entropy):
    hold_against_hostile_bytes(entropy)


@pytest.mark.soak
@settings(max_examples=100_000)
@given(ENTROPY)
def test_hostile_bytes_change_nothing_in_the_long_run(entropy):
    hold_against_hostile_bytes(entropy)
