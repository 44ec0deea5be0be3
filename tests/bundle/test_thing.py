"""The Thing Description against the W3C's own JSON Schema, and against the rules that a schema cannot hold.

The schema comes from the PyPI package `sdf-wot-converter` (W3C, version 1.1-10-June-2022). What
the Recommendation's schema (1.1-05-July-2023, read in the W3C's repository) asks beyond it is
tested by hand below. `test_the_thing_is_true` in the network's tests follows the forms on a
running controller.
"""

import copy
import json

import pytest
from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft7Validator
from sdf_wot_converter.validation.td_schema import td_schema

from pattress.bundle.thing import Broker, thing_description, thing_text
from pattress.controller.network.records import event_kinds
from pattress.controller.request_queue import FREED, STUCK

from ..controller.core.home import TABLE
from ..controller.network.board import SENSORS

SCHEMA = Draft7Validator(td_schema)
BROKER = Broker("broker.local", 8883, tls=True, login=True)
FULL = thing_description(TABLE, name="home", sensors=SENSORS, broker=BROKER, identifier="urn:uuid:6fa459ea-ee8a-3ca4-894e-db77e160355e")
ALONE = thing_description(TABLE, name="home")
OPERATIONS = {"properties": {"readproperty", "writeproperty", "observeproperty", "unobserveproperty"},
              "actions": {"invokeaction", "queryaction", "cancelaction"}, "events": {"subscribeevent", "unsubscribeevent"}}


def affordances(description):
    for kind, operations in OPERATIONS.items():
        for name, affordance in description.get(kind, {}).items():
            yield name, affordance, operations


def faults(description):
    return [error.message for error in SCHEMA.iter_errors(description)]


def test_a_contact_that_sticks_is_an_event_where_there_is_feedback_and_nowhere_else():
    sensed = thing_description(TABLE | {"feedback": [dict(channel=0, settle_ms=500)]}, name="home", broker=BROKER)
    assert faults(sensed) == [] and "stuck" not in FULL["events"]
    data = sensed["events"]["stuck"]["data"]["properties"]
    assert data["kind"]["enum"] == ["stuck", "works again"] == event_kinds()[STUCK:FREED + 1] and set(data) == {"kind", "channel", "level", "cause", "second", "time"}
    assert {form.get("subprotocol") for form in sensed["events"]["stuck"]["forms"]} == {"sse", None}


def test_the_schema_is_the_one_meant():
    assert td_schema["version"] == "1.1-10-June-2022"


@pytest.mark.parametrize("description", [FULL, ALONE], ids=["with broker", "alone"])
def test_the_description_follows_the_schema_of_the_w3c(description):
    assert faults(description) == []
    assert json.loads(thing_text(description)) == description


@pytest.mark.parametrize("spoil", [
    lambda thing: thing.pop("title"), lambda thing: thing.pop("security"), lambda thing: thing.pop("@context"),
    lambda thing: thing["properties"]["lamp"].update(forms=[]), lambda thing: thing["properties"]["lamp"].update(type="lamp"),
    lambda thing: thing["actions"]["ask_fan"]["forms"][0].pop("href"),
    lambda thing: thing["actions"]["ask_fan"]["forms"][0].update(op="readproperty"),
    lambda thing: thing["securityDefinitions"].update(page={"scheme": "apikey", "in": "nowhere"}),
])
def test_the_schema_would_notice_a_fault(spoil):
    spoilt = copy.deepcopy(FULL)
    spoil(spoilt)
    assert faults(spoilt)


@pytest.mark.parametrize("description", [FULL, ALONE], ids=["with broker", "alone"])
def test_what_the_recommendation_asks_beyond_that_schema(description):
    """Recommendation 2023: first context, security never empty and defined, operations that fit the affordance."""
    assert description["@context"][0] == "https://www.w3.org/2022/wot/td/v1.1"
    assert description["security"] and set(description["security"]) <= set(description["securityDefinitions"])
    for name, affordance, operations in affordances(description):
        assert affordance["forms"], name
        for form in affordance["forms"]:
            asked = form["op"] if isinstance(form["op"], list) else [form["op"]]
            assert asked and set(asked) <= operations
            assert set(form.get("security", ["page"])) <= set(description["securityDefinitions"])


def test_mqtt_forms_use_the_words_of_the_binding():
    """W3C MQTT binding template: control packet, QoS as text, filter to subscribe to, topic to publish to."""
    seen = 0
    for _, affordance, _ in affordances(FULL):
        for form in affordance["forms"]:
            if form["href"].startswith("mqtt"):
                seen += 1
                assert form["href"] == "mqtts://broker.local:8883"
                assert form["mqv:controlPacket"] in ("publish", "subscribe") and form["mqv:qos"] in ("0", "1")
                assert ("mqv:filter" in form) == (form["mqv:controlPacket"] == "subscribe")
                assert ("mqv:topic" in form) == (form["mqv:controlPacket"] == "publish")
    assert seen == 3 + 3 + 2 + 2
    assert not any("mqv:qos" in form for _, affordance, _ in affordances(ALONE) for form in affordance["forms"])


def test_what_the_plan_holds_is_described():
    assert set(FULL["properties"]) == {"lamp", "fan", "fridge", "hall_air", "hall_damp"}
    assert FULL["properties"]["fan"]["properties"]["level"]["maximum"] == 4
    assert FULL["properties"]["hall_air"]["properties"]["value"]["unit"] == "°C"
    assert FULL["actions"]["ask_lamp"]["input"]["oneOf"][0]["enum"] == ["on", "off", "toggle"]
    assert FULL["actions"]["ask_fan"]["forms"][1]["mqv:topic"] == "pattress/home/channel/fan/ask"


@given(name=st.from_regex(r"[a-z0-9]([a-z0-9-]{0,20}[a-z0-9])?", fullmatch=True), titles=st.lists(st.text(max_size=20), min_size=3, max_size=3))
def test_any_names_give_a_description_that_holds(name, titles):
    table = TABLE | {"channels": [channel | {"name": title, "key": f"k{i}"} for i, (channel, title) in enumerate(zip(TABLE["channels"], titles))]}
    assert faults(thing_description(table, name=name, broker=BROKER)) == []


def test_a_name_that_is_no_host_name_is_refused():
    with pytest.raises(ValueError, match=r"^name must be 1 to 32 small letters, digits and inner hyphens, found 'Hall One'$"):
        thing_description(TABLE, name="Hall One")
