"""Rules as the network meets them: what is put on at the wall only is refused with a reason, and off by itself is told as that."""

import json
from urllib.parse import urlencode

import pytest

from pattress.bundle.thing import thing_description
from pattress.controller import core
from pattress.controller.core import DOWN, OFF, ON, SET, TOGGLE, UP
from pattress.controller.core.cells import BY_SWITCH
from pattress.controller.request_queue import WALL_ONLY, RequestQueue

from ...proof.plans import rule
from ..core.home import FAN, LAMP, TABLE
from . import broker, places
from .test_mqtt import run
from .test_web import FORM, JSON, Visitor, serve

RULED = TABLE | {"rules": [rule(LAMP, wall_only=1), rule(FAN, limit=1000)], "rule_keys": ["limit", "stay"]}
SAID = b'"reason":"its rules leave that to a hand at the wall"'


@pytest.fixture(scope="module", params=places.INTERPRETERS)
def place(request, tmp_path_factory):
    folder = places.write_place(tmp_path_factory.mktemp(f"ruled-{request.param}"), request.param)
    (folder / "plan.json").write_text(json.dumps(RULED), "utf-8")
    return folder, request.param


def test_the_queue_takes_nothing_but_off_for_it_and_everything_for_the_rest():
    queue = RequestQueue(core, core.Plan(RULED), RULED)
    for verb, level in ((ON, 0), (TOGGLE, 0), (SET, 1), (UP, 0), (DOWN, 0)):
        assert not queue.request(LAMP, verb, level) and queue.reason == WALL_ONLY
    assert not queue.request(LAMP, SET, 2) and queue.reason != WALL_ONLY
    assert not queue.request(9, ON) and queue.reason != WALL_ONLY
    assert queue.request(LAMP, OFF) and queue.request(LAMP, SET, 0) and queue.request(FAN, ON)
    event = [0] * 5
    asked = []
    while queue.take(event):
        asked.append(tuple(event[1:4]))
    assert asked == [(LAMP, OFF, 0), (FAN, ON, 0)]         # one "off" is enough
    queue.news(LAMP, 1, BY_SWITCH)
    assert queue.request(LAMP, TOGGLE) and queue.take(event) and event[1:3] == [LAMP, OFF]         # it is on, so this is off


def test_a_real_broker_hears_why_it_is_refused_and_that_something_went_off_by_itself(place, tmp_path):
    with broker.mosquitto(tmp_path) as port, broker.Peer(port) as peer, run(place, port) as board:
        peer.wait(lambda topic, payload, kept: topic == "channel/lamp" and b'"level":0' in payload)
        peer.ask("channel/lamp/ask", "on")
        peer.wait(lambda topic, payload, kept: topic == "error" and SAID in payload)
        peer.ask("channel/fan/ask", "3")
        peer.wait(lambda topic, payload, kept: topic == "channel/fan" and b'"level":3,"of":4,"cause":"network"' in payload)
        peer.wait(lambda topic, payload, kept: topic == "channel/fan" and b'"level":0,"of":4,"cause":"rule limit"' in payload)
        peer.wait(lambda topic, payload, kept: topic == "events" and b'"kind":"moved","channel":"fan","level":0,"cause":"rule limit"' in payload)
    assert board.said["moves"] == [0b0011, 0]


def test_a_page_hears_why_it_is_refused_and_offers_no_more_than_is_taken(place):
    with serve(place) as board:
        visitor = Visitor(board.port)
        visitor.enter()
        answer, text = visitor.ask("POST", "/channel/lamp/ask", '"on"', **JSON)
        assert answer.status == 409 and SAID.decode() in text
        assert visitor.ask("POST", "/channel/lamp/ask", '"off"', **JSON)[0].status == 204
        page = visitor.ask("GET", "/")[1]
        lamp, fan = page[page.index('data-channel="lamp"'):page.index('data-channel="fan"')], page[page.index('data-channel="fan"'):]
        assert 'value="off"' in lamp and 'value="on"' not in lamp and 'value="4"' in fan
        token = lamp[lamp.index("name=token value=") + len("name=token value="):].partition(">")[0]
        answer, text = visitor.ask("POST", "/channel/lamp/ask", urlencode({"request": "on", "token": token}), **FORM)
        assert answer.status == 409 and "lamp: its rules leave that to a hand at the wall." in text
        assert visitor.ask("POST", "/channel/fan/ask", "3", **JSON)[0].status == 204
        visitor.wait_for_level("fan", 3)
        visitor.wait_for_level("fan", 0)
        assert "by rule limit" in visitor.ask("GET", "/")[1]
        assert "fan: off, by rule limit" in visitor.ask("GET", "/log")[1]
    assert board.said["moves"] == [0b0011, 0]


def test_the_thing_offers_to_switch_it_off_only():
    actions = thing_description(RULED, name="home")["actions"]
    assert actions["ask_lamp"]["title"] == "Switch off lamp"
    assert actions["ask_lamp"]["input"]["oneOf"] == [{"type": "string", "const": "off"}, {"type": "integer", "const": 0}]
    assert actions["ask_fan"]["title"] == "Ask fan"
