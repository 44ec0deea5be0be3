"""Inputs as the network meets them: told as they stand and when they change, kept by the broker, shown on the page, and never asked."""

import json

import pytest

from pattress.bundle.thing import thing_description
from pattress.controller import core
from pattress.controller.core import OFF
from pattress.controller.core.conditions import LOCKS, OF_INPUT
from pattress.controller.inputs import InputNews
from pattress.controller.network.telling import Telling
from pattress.controller.network.topics import topics_of
from pattress.controller.request_queue import RequestQueue

from ...bundle.test_thing import BROKER, faults
from ...proof.plans import condition
from ..core.home import LAMP, TABLE
from ..drivers import parts
from ..drivers.rig import Rig
from ..drivers.simulated import Board, Clock
from . import broker, places
from .test_mqtt import run
from .test_web import JSON, Visitor, serve

# Invented: a window, at whose opening the lamp goes off, and a door that no rule looks at.
ROWS = [dict(key="window", name="Window <bath>", settle_ms=50), dict(key="door", name="Door", settle_ms=200)]
WATCHED = TABLE | {"inputs": ROWS, "conditions": [condition(LOCKS, OF_INPUT, 0, (LAMP, OFF, 0), sense=0, rule=0)], "rule_keys": ["window"]}
WINDOW, DOOR = range(2)


@pytest.fixture(scope="module", params=places.INTERPRETERS)
def place(request, tmp_path_factory):
    folder = places.write_place(tmp_path_factory.mktemp(f"inputs-{request.param}"), request.param)
    (folder / "plan.json").write_text(json.dumps(WATCHED), "utf-8")
    return folder, request.param


def told(telling):
    """Return all that is told now, by topic, and that each of it is kept."""
    said = {}
    message = telling.next()
    while message is not None:
        what, mark, topic, record, kept = message
        telling.told(what, mark)
        if b"/input/" in topic:
            assert kept
            said[topic.decode()] = json.loads(record)
        message = telling.next()
    return said


def watched():
    queue = RequestQueue(core, core.Plan(WATCHED), WATCHED)
    queue.inputs = InputNews(ROWS, queue)
    for place, level in ((WINDOW, 1), (DOOR, 0)):
        queue.inputs.news(place, level)
    return queue, Telling(queue, topics_of(queue, "home"))


def test_each_session_is_told_how_every_input_stands_and_then_only_what_changed():
    queue, telling = watched()
    first = {"pattress/home/input/window": {"state": "closed", "second": 0, "time": None},
             "pattress/home/input/door": {"state": "open", "second": 0, "time": None}}
    assert told(telling) == first and told(telling) == {}
    queue.advance(7000)
    queue.inputs.news(WINDOW, 0)
    queue.inputs.news(DOOR, 0)
    assert told(telling) == {"pattress/home/input/window": {"state": "open", "second": 7, "time": None}}
    telling.start()
    assert set(told(telling)) == set(first)
    queue.tell_time(1_800_000_000)
    assert told(telling)["pattress/home/input/door"] == {"state": "open", "second": 0, "time": 1_800_000_000 - 7}


def test_what_changed_often_meanwhile_is_told_once_and_newest():
    queue, telling = watched()
    told(telling)
    for number in range(101):
        queue.inputs.news(WINDOW, number % 2)
    assert told(telling)["pattress/home/input/window"]["state"] == "open"
    for number in (1, 0):
        queue.inputs.news(WINDOW, number)
    assert len(told(telling)) == 1          # it stands as it was told, and has moved: since when is told


def test_a_queue_without_inputs_has_no_such_topic():
    queue = RequestQueue(core, core.Plan(TABLE), TABLE)
    assert queue.inputs is None and topics_of(queue, "home").inputs == [] and told(Telling(queue, topics_of(queue, "home"))) == {}


def test_nothing_asks_an_input():
    queue, _ = watched()
    topics = topics_of(queue, "home")
    assert topics.channel_asked(b"pattress/home/input/window/ask") == -1 and topics.asks == b"pattress/home/channel/+/ask"
    assert set(thing_description(WATCHED, name="home")["actions"]) == {"ask_lamp", "ask_fan", "ask_fridge"}


def test_the_loop_tells_an_input_once_it_is_believed():
    found = Rig(parts, Board(Clock()), WATCHED, contacts=[35])
    inputs = found.queue.inputs
    assert [inputs.word(place) for place in range(2)] == ["open", "open"]      # as read at power-up
    for closed in (1, 0, 1):
        found.move(WINDOW, closed)
        found.run(20)
    assert inputs.word(WINDOW) == "open" and inputs.operations[WINDOW] == 1
    found.run(60)
    assert (inputs.word(WINDOW), inputs.word(DOOR), list(inputs.operations)) == ("closed", "open", [2, 1])


def test_the_thing_has_a_property_for_each_that_is_read_and_follows_the_schema():
    thing = thing_description(WATCHED, name="home", broker=BROKER)
    window = thing["properties"]["input.window"]
    assert faults(thing) == [] and window["readOnly"] and window["title"] == "Window <bath>"
    assert window["properties"]["state"]["enum"] == ["open", "closed"]
    assert [form["href"] for form in window["forms"]] == ["input/window", "news", BROKER.address]
    assert window["forms"][2]["mqv:filter"] == "pattress/home/input/window" and window["forms"][2]["mqv:retain"]
    unread = {key: rows for key, rows in WATCHED.items() if key != "conditions"}
    assert not any(key.startswith("input") for key in thing_description(unread, name="home")["properties"])


def test_a_real_broker_keeps_how_an_input_stands(place, tmp_path):
    with broker.mosquitto(tmp_path) as port, broker.Peer(port) as peer, run(place, port):
        for state in (b'"open"', b'"closed"'):
            peer.wait(lambda topic, payload, kept: topic == "input/window" and state in payload)
        peer.ask("input/window/ask", "open")
        with broker.Peer(port) as late:
            late.wait(lambda topic, payload, kept: topic == "input/door" and kept)
        assert peer.payloads("error") == []         # it is not even subscribed to


def test_a_page_shows_each_input_by_name_and_takes_nothing_for_it(place):
    with serve(place) as board:
        visitor = Visitor(board.port)
        assert visitor.ask("GET", "/input/window")[0].status == 401
        visitor.enter()
        page = visitor.ask("GET", "/")[1]
        window = page[page.index('data-input="window"'):page.index('data-input="door"')]
        assert "Window &#60;bath&#62;" in window and ("<dd>open" in window or "<dd>closed" in window) and "button" not in window
        answer, text = visitor.ask("GET", "/input/door")
        assert answer.status == 200 and json.loads(text)["state"] in ("open", "closed")
        assert visitor.ask("GET", "/input/lamp")[0].status == 404
        assert visitor.ask("POST", "/input/window/ask", '"open"', **JSON)[0].status == 404
