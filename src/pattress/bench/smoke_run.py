"""A bundle brought to life on this machine: what do broker and household hear when a switch is thrown?

The bundle's own files run under the board's interpreter, in real time, beside a stand-in for the pins
(`stand_in`). A broker written in Python (`amqtt`) serves it on loopback, at a port nobody else has. Needs the extra
`demo`. Not here: a radio, flash, a receiver, TLS.
"""

import asyncio
import json
import shutil
import socket
from collections.abc import AsyncIterator, Mapping
from contextlib import asynccontextmanager
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from pattress import interpreter
from pattress.bench.errors import SmokeRunError
from pattress.bundle.settings import name_of

STAND_IN = Path(__file__).with_name("stand_in.py")
LOOPBACK = "127.0.0.1"
PATIENCE = 20.0         # for any one thing to happen [s]
PRESSED = 0.15          # a contact that springs back is held so long [s]
SETTLED = 0.3           # without a message, all that belongs together has been told [s]
_BOOT = "import sys\nsys.path[:0] = ['.']\nimport machine\nmachine.begin({port})\nimport start\nstart.run('.')\n"


@dataclass(frozen=True)
class Message:
    """One message that arrived: topic, payload, and whether the broker had kept it for who comes later."""

    topic: str
    payload: str
    is_retained: bool


@dataclass(frozen=True)
class Life:
    """What was heard: on starting, after the switch was thrown, by somebody who came later, after the power was cut."""

    name: str               # of the controller, as in its topics
    port: int               # of the broker
    switch: str             # name
    channel: str            # key of what the switch asks first
    started: tuple[Message, ...]
    thrown: tuple[Message, ...]
    kept: tuple[Message, ...]
    cut: tuple[Message, ...]
    relay_ms: float         # from the throw to the first relay, on this machine and with the datagrams' time


def live(bundle: Path, table: Mapping[str, Any], facts: Mapping[str, Any]) -> Life:
    """Start a bundle, throw its plan's first switch, cut its power; return what was heard.

    Raises SmokeRunError when something did not happen within `PATIENCE`, ImportError without the extra `demo`.
    """
    return asyncio.run(_live(bundle, table, facts))


async def _live(bundle: Path, table: Mapping[str, Any], facts: Mapping[str, Any]) -> Life:
    name = name_of(facts["title"], (facts.get("network") or {}).get("name"))
    switch = first_switch(table)
    if switch is None:
        raise SmokeRunError("no wall switch of this plan asks a channel for anything")
    asked = table["channels"][switch["acts"][0][0]]["key"]
    relays = {pin for wire, pin in facts["pins"].items() if wire == f"relay.{asked}" or wire.startswith(f"relay.{asked}.")}
    async with _broker() as port, _listener(port, name) as hear:
        with TemporaryDirectory(prefix="pattress-") as place:
            _fill(Path(place), bundle, name, port)
            async with _board(Path(place)) as board:
                await board.has_begun()
                started = await hear.until(f"channel/{table['channels'][-1]['key']}")
                relay_ms = await board.throw(facts["pins"][f"switch.{switch['key']}"], relays, is_latching=bool(switch["latching"]))
                thrown = await hear.until(f"channel/{asked}")
                async with _listener(port, name) as latecomer:
                    kept = await latecomer.until("availability")
            cut = await hear.until("availability")
    return Life(name=name, port=port, switch=switch["name"], channel=asked, started=started, thrown=thrown, kept=kept, cut=cut, relay_ms=relay_ms)


def first_switch(table: Mapping[str, Any]) -> Mapping[str, Any] | None:
    """Return the first wall switch of a plan that asks a channel for something, None when there is none."""
    return next((switch for switch in table["switches"] if switch["acts"]), None)


def _fill(flash: Path, bundle: Path, name: str, port: int) -> None:
    """Lay out a flash as `put` leaves it, with the settings of this trial."""
    shutil.copytree(bundle, flash / "a")
    shutil.copyfile(bundle / "root" / "start.mpy", flash / "start.mpy")
    shutil.copyfile(STAND_IN, flash / "machine.py")
    (flash / "network.json").write_text(json.dumps({
        "name": name, "wifi": None, "passphrase": None, "read_only": True, "port": _free_port(),
        "broker": {"host": LOOPBACK, "port": port}}), "utf-8")


def _free_port() -> int:
    with socket.socket() as link:
        link.bind((LOOPBACK, 0))
        return int(link.getsockname()[1])


@asynccontextmanager
async def _broker() -> AsyncIterator[int]:
    """Serve MQTT to this machine alone; yield the port."""
    import logging

    from amqtt.broker import Broker

    logging.getLogger("amqtt").setLevel(logging.CRITICAL)
    logging.getLogger("transitions").setLevel(logging.CRITICAL)
    port = _free_port()
    broker = Broker({
        "listeners": {"default": {"type": "tcp", "bind": f"{LOOPBACK}:{port}"}},
        "plugins": {"amqtt.plugins.authentication.AnonymousAuthPlugin": {"allow_anonymous": True}}})
    await broker.start()
    try:
        yield port
    finally:
        await broker.shutdown()


class _Hearing:
    """What one client of the broker hears of a controller."""

    def __init__(self, client: Any, base: str) -> None:
        self._client, self._base = client, base
        self._arrived: asyncio.Queue[Message] = asyncio.Queue()

    async def listen(self) -> None:
        while True:         # never cut short: what a cancelled wait had in hand would be lost
            arrived = await self._client.deliver_message()
            payload = bytes(arrived.data).decode(errors="replace")
            self._arrived.put_nowait(Message(arrived.topic.removeprefix(self._base), payload, bool(arrived.retain)))

    async def until(self, beginning: str) -> tuple[Message, ...]:
        """Return all messages up to the first whose topic begins so, and those close behind it."""
        heard: list[Message] = []
        try:
            async with asyncio.timeout(PATIENCE):
                while not any(message.topic.startswith(beginning) for message in heard):
                    heard.append(await self._arrived.get())
        except TimeoutError:
            raise SmokeRunError(f"no message on {self._base}{beginning} within {PATIENCE:.0f} s; "
                             f"heard {[message.topic for message in heard]}") from None
        try:
            while True:
                heard.append(await asyncio.wait_for(self._arrived.get(), SETTLED))
        except TimeoutError:
            return tuple(dict.fromkeys(heard))      # this broker tells what it kept twice


@asynccontextmanager
async def _listener(port: int, name: str) -> AsyncIterator[_Hearing]:
    from amqtt.client import MQTTClient
    from amqtt.mqtt.constants import QOS_1

    client = MQTTClient(config={"auto_reconnect": False})
    await client.connect(f"mqtt://{LOOPBACK}:{port}/")
    base = f"pattress/{name}/"
    hearing = _Hearing(client, base)
    listening = asyncio.create_task(hearing.listen())
    await client.subscribe([(f"{base}#", QOS_1)])
    try:
        yield hearing
    finally:
        listening.cancel()
        await asyncio.gather(listening, return_exceptions=True)
        await client.disconnect()


class _Board(asyncio.DatagramProtocol):
    """The process, and the wires to its pins."""

    def __init__(self) -> None:
        self._told: asyncio.Queue[tuple[bytes, float]] = asyncio.Queue()
        self._link: Any = None
        self._address: Any = None

    def connection_made(self, transport: Any) -> None:
        self._link = transport

    def datagram_received(self, data: bytes, address: Any) -> None:
        self._address = address
        self._told.put_nowait((data, asyncio.get_running_loop().time()))

    async def has_begun(self) -> None:
        await self._wait(lambda words: words == [b"begun"], "the interpreter did not start")

    async def throw(self, pin: int, relays: set[int], *, is_latching: bool) -> float:
        """Close a contact, one that springs back only for a while; return after how long a relay moved [ms]."""
        while not self._told.empty():
            self._told.get_nowait()
        thrown = asyncio.get_running_loop().time()
        self._link.sendto(f"{pin} 0".encode(), self._address)
        if not is_latching:
            asyncio.get_running_loop().call_later(PRESSED, self._link.sendto, f"{pin} 1".encode(), self._address)
        moved = await self._wait(lambda words: int(words[0]) in relays, f"no relay moved when the contact on GPIO{pin} closed")
        return 1000.0 * (moved - thrown)

    async def _wait(self, matches: Any, otherwise: str) -> float:
        try:
            async with asyncio.timeout(PATIENCE):       # in all: the lamp moves pins, too
                while True:
                    data, moment = await self._told.get()
                    if matches(data.split()):
                        return moment
        except TimeoutError:
            raise SmokeRunError(f"{otherwise} within {PATIENCE:.0f} s") from None


@asynccontextmanager
async def _board(flash: Path) -> AsyncIterator[_Board]:
    """Run the flash's program; leaving takes its power away."""
    link, board = await asyncio.get_running_loop().create_datagram_endpoint(_Board, local_addr=(LOOPBACK, 0))
    port = link.get_extra_info("sockname")[1]
    process = await asyncio.create_subprocess_exec(
        *interpreter.command(_BOOT.format(port=port)), cwd=flash, env=interpreter.surroundings(), stdin=asyncio.subprocess.PIPE,
        stdout=asyncio.subprocess.DEVNULL, stderr=asyncio.subprocess.DEVNULL)
    try:
        yield board
    finally:
        if process.returncode is None:
            process.kill()
        await process.wait()
        link.close()
