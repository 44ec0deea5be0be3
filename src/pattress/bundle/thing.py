"""The Thing Description of a controller: what others can find, read and ask, in the form of the W3C.

Web of Things (WoT) Thing Description 1.1, W3C Recommendation, 5 December 2023 (its JSON Schema
"1.1-05-July-2023" read in the W3C's repository; the text from memory). The MQTT words (`mqv:`)
are those of the W3C's MQTT binding template (its JSON Schema read in the W3C's repository).

Made on the workbench from the plan; the board only hands the file out. What is read, asked and
told is the same over MQTT and HTTP, so each affordance has one data schema and two forms.
"""

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from pattress.controller.core.plan import top_of
from pattress.controller.network.host_names import is_name
from pattress.controller.network.topics import Topics

CONTEXT = "https://www.w3.org/2022/wot/td/v1.1"
MQTT_WORDS = "https://www.w3.org/2019/wot/mqtt#"
MADE_OF_JSON = "application/json"


@dataclass(frozen=True)
class Broker:
    """Where the home's broker listens, and whether it asks for user and password; None when only the home knows."""

    host: str
    port: int = 1883
    tls: bool = False
    login: bool | None = False

    @property
    def address(self) -> str:
        return f"{'mqtts' if self.tls else 'mqtt'}://{self.host}:{self.port}"


def thing_description(
    table: Mapping[str, Any],
    *,
    name: str,
    sensors: Iterable[tuple[str, str, str]] = (),
    broker: Broker | None = None,
    identifier: str | None = None,
    port: int = 80,
) -> dict[str, Any]:
    """Return the Thing Description of the controller with this plan.

    `name` is the controller's name in the home, as in its topics and `NAME.local`; `sensors`
    are (key, name, unit). Without a broker there are HTTP forms only. `identifier` is a URI for
    this one controller; a home may rather have none. Raises ValueError when `name` is none.
    """
    if not is_name(name):
        raise ValueError(f"name must be 1 to 32 small letters, digits and inner hyphens, found {name!r}")
    sensors = tuple(sensors)
    keys = [channel.get("key", channel["name"]) for channel in table["channels"]]
    inputs = table.get("inputs", ()) if table.get("conditions") else ()      # those that the control program knows
    topics = Topics(name, keys, [key for key, _, _ in sensors], [row["key"] for row in inputs])
    forms = _Forms(broker)
    properties: dict[str, Any] = {}
    actions: dict[str, Any] = {}
    walled = {row["channel"]: row["wall_only"] for row in table.get("rules", ())}
    for number, (key, channel, topic) in enumerate(zip(keys, table["channels"], topics.channels)):
        top = top_of(channel)
        properties[key] = _channel(channel["name"], top) | {"forms": forms.state(f"channel/{key}", topic)}
        if walled.get(number, 0) > 1:           # nothing of it is the network's to ask
            continue
        actions[f"ask_{key}"] = (_switching_off(channel["name"]) if walled.get(number) else _asking(channel["name"], top)) | {"forms": forms.asking(f"channel/{key}/ask", topic + b"/ask")}
    for (key, title, unit), topic in zip(sensors, topics.sensors):
        properties[key] = _reading(title, unit) | {"forms": forms.state(f"sensor/{key}", topic)}
    for row, topic in zip(inputs, topics.inputs):
        properties[f"input.{row['key']}"] = _input(row["name"]) | {"forms": forms.state(f"input/{row['key']}", topic)}
    description: dict[str, Any] = {
        "@context": [CONTEXT, {"mqv": MQTT_WORDS, "@language": "en"}],
        "title": table["title"],
        "description": "A mains controller. What is told here is what its relays are told to do: "
                       "no isolation, and no proof that a load is dead.",
        "base": f"http://{name}.local{'' if port == 80 else f':{port}'}/",
        "securityDefinitions": forms.security(),
        "security": ["page"],
        "properties": properties,
        "actions": actions,
        "events": {
            "happened": {"title": "What happened", "data": _HAPPENED,
                         "forms": forms.events("news", topics.events)},
        },
    }
    if table.get("feedback"):
        description["events"]["stuck"] = {
            "title": "A contact sticks, or works again", "data": _STUCK, "forms": forms.events("news", topics.events)}
    if broker is not None:
        description["events"]["declined"] = {
            "title": "A request that was not carried out", "data": _DECLINED, "forms": forms.mqtt_events(topics.error)}
    if identifier is not None:
        description["id"] = identifier
    return description


def thing_text(description: Mapping[str, Any]) -> bytes:
    """Return a description as the bytes that lie in the bundle: UTF-8, nothing spaced, always the same."""
    return json.dumps(description, separators=(",", ":"), ensure_ascii=False).encode()


class _Forms:
    """How an affordance is reached, over HTTP and, when there is a broker, over MQTT."""

    def __init__(self, broker: Broker | None):
        self._broker = broker

    def security(self) -> dict[str, Any]:
        schemes = {"page": {"scheme": "apikey", "in": "cookie", "name": "session",
                            "description": "The cookie that /login gives for the passphrase on the label."}}
        if self._broker is not None:
            schemes["broker"] = {"scheme": {True: "basic", False: "nosec", None: "auto"}[self._broker.login]}
        return schemes

    def state(self, path: str, topic: bytes) -> list[dict[str, Any]]:
        return [
            {"href": path, "op": "readproperty", "contentType": MADE_OF_JSON},
            {"href": "news", "op": "observeproperty", "contentType": "text/event-stream", "subprotocol": "sse"},
            *self._mqtt(op=["readproperty", "observeproperty"], packet="subscribe", filter=topic, qos="1", retain=True),
        ]

    def asking(self, path: str, topic: bytes) -> list[dict[str, Any]]:
        return [
            {"href": path, "op": "invokeaction", "contentType": MADE_OF_JSON},
            *self._mqtt(op="invokeaction", packet="publish", topic=topic, qos="1", retain=False),
        ]

    def events(self, path: str, topic: bytes) -> list[dict[str, Any]]:
        return [
            {"href": path, "op": "subscribeevent", "contentType": "text/event-stream", "subprotocol": "sse"},
            *self.mqtt_events(topic),
        ]

    def mqtt_events(self, topic: bytes) -> list[dict[str, Any]]:
        return self._mqtt(op="subscribeevent", packet="subscribe", filter=topic, qos="0")

    def _mqtt(self, *, op: str | list[str], packet: str, **words: Any) -> list[dict[str, Any]]:
        if self._broker is None:
            return []
        form = {"href": self._broker.address, "op": op, "contentType": MADE_OF_JSON, "security": ["broker"],
                "mqv:controlPacket": packet}
        return [form | {f"mqv:{word}": value.decode() if isinstance(value, bytes) else value for word, value in words.items()}]


_SECOND = {"type": "integer", "minimum": 0, "title": "Second since power-up"}
_TIME = {"oneOf": [{"type": "integer"}, {"type": "null"}], "title": "Unix time, null while the clock is not set"}


def _record(**members: Any) -> dict[str, Any]:
    members |= {"second": _SECOND, "time": _TIME}
    return {"type": "object", "properties": members, "required": list(members)}


def _channel(name: str, top: int) -> dict[str, Any]:
    level = {"type": "integer", "minimum": 0, "maximum": top, "title": "0 is off"}
    cause = {"type": "string", "title": "Who asked last"}
    return {"title": name, "readOnly": True, "observable": True} | _record(
        level=level, of={"type": "integer", "const": top}, cause=cause)


def _asking(name: str, top: int) -> dict[str, Any]:
    words = ["on", "off", "toggle"] if top == 1 else ["on", "off", "toggle", "up", "down"]
    wish = {"oneOf": [{"type": "string", "enum": words}, {"type": "integer", "minimum": 0, "maximum": top}]}
    return {"title": f"Ask {name}", "safe": False, "idempotent": False, "input": wish}


def _switching_off(name: str) -> dict[str, Any]:
    return {"title": f"Switch off {name}", "description": "It is put on at the wall only.", "safe": False, "idempotent": True,
            "input": {"oneOf": [{"type": "string", "const": "off"}, {"type": "integer", "const": 0}]}}


def _reading(name: str, unit: str) -> dict[str, Any]:
    value = {"oneOf": [{"type": "number"}, {"type": "null"}], "unit": unit, "title": "null while the reading is stale"}
    return {"title": name, "readOnly": True, "observable": True} | _record(
        value=value, unit={"type": "string", "const": unit}, fresh={"type": "boolean"})


def _input(name: str) -> dict[str, Any]:
    return {"title": name, "readOnly": True, "observable": True} | _record(state={"type": "string", "enum": ["open", "closed"]})


_STUCK = _record(
    kind={"type": "string", "enum": ["stuck", "works again"]}, channel={"type": "string"},
    level={"type": "integer", "minimum": 0, "title": "What its relays are told: 0 is off"},
    cause={"type": "string", "title": "\"stuck closed\" will not open, \"stuck open\" will not close; else who asked last"})
_HAPPENED = _record(kind={"type": "string"})
_DECLINED = {"type": "object", "properties": {word: {"type": "string"} for word in ("topic", "found", "reason", "allowed")},
             "required": ["topic", "found", "reason", "allowed"]}
