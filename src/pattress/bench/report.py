"""What a board tells of itself over the serial port while its program runs on: nothing is stopped for it."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from time import monotonic, sleep
from typing import Any

from pattress.bench.errors import LinkError
from pattress.bench.link import failures, opened, words_of
from pattress.controller.announcement import REASONS
from pattress.controller.loop import FAULTS

WORD = "report"         # as in controller/console.py
WAIT_S = 30.0           # a board that restarts tells again by then
TRY_S = 3.0
READ = 512
LINKS = ("broker", "Wi-Fi")     # as numbered in controller/request_queue.py
SUPPLY = "supply fault"         # as in controller/minimal.py


@dataclass(frozen=True)
class Report:
    """What one board told: `state` of its start, `counts` since power-up, `events`, the newest first."""

    state: Mapping[str, Any]
    counts: Mapping[str, Any]
    events: tuple[Mapping[str, Any], ...]

    @property
    def is_on_trial(self) -> bool:
        """Return whether the program has not reported healthy yet."""
        return bool(self.state["trial"])

    @property
    def is_minimal(self) -> bool:
        """Return whether the minimal program answered: switches and regulators work, nothing else does."""
        return self.state.get("program") == "minimal"


def asked(port: str, *, wait: float = WAIT_S) -> Report:
    """Ask the program at a port for its report.

    Raises LinkError when there is no port or nothing that knows the question answers in time.
    """
    until, why = monotonic() + wait, "no program answers"
    while True:
        try:
            answer = _ask(port)
            if answer is not None:
                return answer
        except failures() as error:
            why = words_of(error)
        if monotonic() >= until:
            raise LinkError(f"no report from {port}: {why}\n"
                            "  nearest: a board without a program or stopped at its console does not answer; "
                            "switch it off and on")
        sleep(0.2)


def told(report: Report) -> str:
    """Return a report in lines for a person."""
    state, counts = dict(report.state), dict(report.counts)
    trial = "on trial" if state.pop("trial") else "reported healthy"
    fell = "; an earlier one did not, and was given up" if state.pop("fell_back") else ""
    second, start = counts.pop("second"), counts.pop("start")
    moves = counts.pop("moves")
    counts.pop("time")
    name, tries, ended = state.pop("program", ""), state.pop("starts without a healthy report", 0), state.pop("the program before ended", "")
    lines = [f"bundle {state.pop('bundle')}, slot {state.pop('slot')}: {trial}{fell}", f"up {_age(second)}; start: {start}"]
    if name == "minimal":
        why = f"{tries - 1} starts before this one did not report healthy"
        if start == SUPPLY:
            why = "the supply is at fault; every load was switched off, and the radio is held back"
        elif state.get("start records not kept"):
            why = "the flash keeps no record of crashes, and this is no power-up"
        lines.append(f"minimal program: wall switches and regulators only, as {why}; the full one is tried again by itself")
    if ended:
        lines.append(f"the program before ended: {ended}")
    lines += [f"{name}: {value}" for name, value in (state | counts).items()]
    lines += [f"moves of {key}: {count}" for key, count in moves.items()]
    lines += [f"{_age(second - event['second'])} ago: {_what(event)}{_times(event)}" for event in report.events]
    return "\n".join(lines)


def _ask(port: str) -> Report | None:
    """Return the report, None when none came in time."""
    transport = opened(port)
    try:
        serial = transport.serial
        serial.timeout = 0.2
        serial.reset_input_buffer()
        serial.write(f"\r{WORD}\r".encode())
        until, said = monotonic() + TRY_S, b""
        while monotonic() < until:
            data = serial.read(READ)
            until = monotonic() + TRY_S if data else until
            said += data
            lines = said.decode(errors="replace").splitlines()
            if f"{WORD} end" in lines:
                return _read(lines)
    finally:
        transport.close()
    return None


def _read(lines: list[str]) -> Report | None:
    try:
        state, counts, *events = (json.loads(line.partition(" ")[2]) for line in lines if line.startswith(f"{WORD} {{"))
    except ValueError:
        return None                     # cut in the middle: ask again
    return Report(state, counts, tuple(events))


def _times(event: Mapping[str, Any]) -> str:
    """Return how often it was so up to then: refusals are merged."""
    return f", {event['times']} times since power-up" if event.get("times", 1) > 1 else ""


def _what(event: Mapping[str, Any]) -> str:
    words = event["kind"]
    if "level" in event:
        return f"{event['channel']} {words} to {event['level']} by {event['cause']}"
    if "channel" in event:
        return f"{words}: {event['channel']}"
    number = event.get("number", 0)
    named = {"fault": FAULTS, "program refused": REASONS, "link up": LINKS, "link down": LINKS}
    if words in named:
        known = named[words]
        return f"{words}: {known[number] if 0 <= number < len(known) else number}"
    return f"{words}: {event['sensor']}" if "sensor" in event else words


def _age(seconds: int) -> str:
    for length, word in ((86400, "d"), (3600, "h"), (60, "min")):
        if seconds >= length:
            return f"{seconds // length} {word}"
    return f"{seconds} s"
