"""What the demo shows of a bundle that lives on this machine for a few seconds."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

from pattress.design import Design
from pattress.plural import counted

if TYPE_CHECKING:
    from pattress.bench.smoke_run import Life, Message


@dataclass(frozen=True)
class Trial:
    """What came of it: a row of the table, lines below it, and what was heard."""

    verdict: str
    detail: str
    life: "Life | None" = None
    lines: tuple[str, ...] = ()
    has_failed: bool = False


NOT_TRIED = Trial("not tried", "there is no bundle")


def tried(design: Design, bundle: Path, progress: Callable[[str], None]) -> Trial:
    """Let a bundle live beside a broker and say what was heard. Without the broker's package it is not tried."""
    if find_spec("amqtt") is None:
        return Trial("not tried", "needs a broker: pip install 'pattress[demo]'")
    from pattress.bench.errors import SmokeRunError
    from pattress.bench.smoke_run import first_switch, live

    if first_switch(design.plan) is None:
        return Trial("not tried", "no wall switch asks a channel for anything")
    progress("bundle alive, beside a broker")
    try:
        life = live(bundle, design.plan, design.facts)
    except SmokeRunError as error:
        return Trial("failed", str(error), has_failed=True)
    detail = f"switch to relay {life.relay_ms:.0f} ms on this PC, {counted(len(life.kept), 'topic')} kept by the broker"
    return Trial("heard", detail, life, tuple(_lines(life)))


def _lines(life: "Life") -> Iterator[str]:
    yield f"The bundle lived here under the board's interpreter, its pins simulated, beside a broker at 127.0.0.1:{life.port}."
    yield f"Heard on pattress/{life.name}/:"
    yield "  when it started"
    yield from _told(message for message in life.started if message.topic in ("availability", f"channel/{life.channel}"))
    yield f"  when the contact of {life.switch!r} closed; its relay moved after {life.relay_ms:.0f} ms"
    yield from _told(life.thrown)
    yield f"  by somebody who came later, and gets what the broker kept: {counted(len(life.kept), 'topic')}, among them"
    yield from _told(message for message in life.kept if message.topic == f"channel/{life.channel}")
    yield "  when its power was cut: the last will"
    yield from _told(life.cut)


def _told(messages: "Iterable[Message]") -> Iterator[str]:
    for message in messages:
        yield f"    {message.topic:<24} {message.payload}"
