"""docs/network.md says what the program does: topics, paths, limits and records are taken from it."""

import re
from pathlib import Path

import pytest

from pattress.bundle import passphrase
from pattress.controller import announcement, arriving, loop
from pattress.controller import request_queue as queues
from pattress.controller.core.cells import BY_NETWORK, CAUSES
from pattress.controller.inputs import InputNews
from pattress.controller.network import channel_requests, mdns, reach, setup
from pattress.controller.network.channel_requests import allowed
from pattress.controller.network.host_names import NAMES
from pattress.controller.network.http import exchange, login, requests, server, site, tries
from pattress.controller.network.mqtt import packets
from pattress.controller.network.mqtt.client import Settings
from pattress.controller.network.records import GONE, channel_record, error_record, event_record, sensor_record
from pattress.controller.network.topics import Topics

from ..core.home import FAN
from .board import Board

TEXT = (Path(__file__).parents[3] / "docs" / "network.md").read_text("utf-8")
WORDS = " ".join(TEXT.split())


def test_every_topic_is_there_and_no_other():
    topics = Topics("NAME", ["KEY"], ["KEY"], ["KEY"])
    ours = {topics.availability, topics.error, topics.events, topics.counts, topics.thing, *topics.channels, *topics.sensors, *topics.inputs,
            topics.channels[0] + b"/ask"}
    assert {topic.encode() for topic in re.findall(r"^\| `(pattress/\S+)`", TEXT, re.MULTILINE)} == ours


def test_every_path_is_there_and_no_other():
    said = set(re.findall(r"(?:GET|POST)? ?(/[\w./-]*)", re.search(r'"""(.*?)"""', Path(site.__file__).read_text("utf-8"), re.DOTALL)[1]))
    told = set(re.findall(r"`(?:GET|POST) (/[\w./-]*)`", TEXT))
    assert told == said


def test_the_records_are_those_of_the_program():
    board = Board()
    queue = board.queue
    queue.news(FAN, 3, BY_NETWORK)
    queue.reading(0, 215, 1)
    reading = sensor_record(queue, 0)
    event = queue.event_after(queue.noted - 2)[1]
    queue.reading(0, 215, 0)
    inputs = InputNews([dict(key="window", name="Window")], queue)
    queue.advance((190 - queue.seconds) * 1000)
    inputs.news(0, 1)
    records = [channel_record(queue, FAN), reading, sensor_record(queue, 0), inputs.record(0),
               error_record(b"pattress/home/channel/fan/ask", b"9", queues.UNKNOWN, allowed(4)), event_record(queue, event)]
    shown = [line for block in re.findall(r"```json\n(.*?)```", TEXT, re.DOTALL) for line in block.splitlines()]
    assert shown == [record.decode().replace("\\u00b0", "°") for record in records]
    assert GONE.decode() in TEXT and all(f"`{cause}`" in TEXT for cause in CAUSES)


@pytest.mark.parametrize("sentence", [
    f"takes {('', 'one', 'two', 'three', 'four', 'five')[queues.BURST]} requests at once", f"At most {channel_requests.LONGEST} bytes",
    f"Keep-alive {Settings('').keep_alive} s", f"1, 2, 4 ... {reach.LONGEST_PAUSE_S} s", f"may be {packets.LIMIT} bytes",
    f"up to the standard's {packets.LONGEST + 1 >> 20} MB", f"after {exchange.STILL_S} s without news", f"{passphrase.ROUNDS} rounds",
    f"one every {tries.TRY_S} s; all addresses together have {tries.ALL_TRIES}, then one every second", "seven days after it was opened",
    f"open {server.AT_ONCE} connections at once and {server.EACH_S} more each second", f"At most {int(1 / server.ACCEPT_S)} a second are served", f"within {exchange.REQUEST_S} s, its head within {requests.HEAD_LIMIT} bytes, its body within {requests.BODY_LIMIT}",
    f"takes nothing for {exchange.WRITE_S} s", "`td=/.well-known/wot`",
    f"`NAME-2` ... `NAME-{NAMES}`, then `NAME` again, with {mdns.TAKEN_S} s before", f"once a second at most. At most {int(mdns.AT_ONCE / mdns.LOOK_S)} packets",
    ", ".join(f"{number} {words}" for number, words in enumerate(announcement.REASONS)), f"written {arriving.PART} bytes at a time",
    f"within {server.UNPROVEN_S} s", f"pattress {announcement.FORMAT.decode()} SEQUENCE LENGTH DIGEST SIGNATURE",
    f"`security={setup.LOCKS['esp32']}`", f"`security=0x{setup.LOCKS['rp2']:08x}`", f"slower than {arriving.LONGEST_S // 60} min in all or {arriving.READ_S} s for a piece", f"within {loop.FLASH_MS} ms",
])
def test_every_limit_is_that_of_the_program(sentence):
    assert sentence in WORDS


def test_the_numbers_in_words_are_those_of_the_program():
    assert (server.CONNECTIONS, exchange.LISTENERS, tries.TRIES, login.SESSIONS, login.SESSION_S) == (8, 4, 8, 4, 86_400)
    assert (login.LONGEST_S, site.DEVICE_S) == (7 * 86_400, 365 * 86_400)
    assert (setup.HOLD_MS, setup.OPEN_MS) == (5_000, 300_000)
    assert b"td=/.well-known/wot" in mdns.text_record()
    from math import log2
    assert int(log2(len(passphrase.LETTERS)) * passphrase.GROUPS * passphrase.GROUP) == 79
