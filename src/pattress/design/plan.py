"""From a job and what the sizing decided to the plan, the one table the control program reads.

Relays are numbered in the order of the channels: loads first, then fans. The table carries
the names too, so that a story, a timeline and the board speak of the same things.
"""

from collections.abc import Mapping
from typing import Any

from pattress.controller.core import RESTORES
from pattress.design.defaults import default_ms, settle_ms
from pattress.errors import UseError
from pattress.fan.drive import FanDrive
from pattress.job.action import is_off_everything
from pattress.job.by_rule import step_most
from pattress.job.code import Code
from pattress.job.levels import levels_of
from pattress.job.model import Job, Regulator
from pattress.rules.tables import acts_of, marked_acts, milliseconds, rest_of, rule_tables
from pattress.sizing.feedback import SETTLE
from pattress.sizing.wear import Allowance

PLAN_FORMAT = 1
MOST_RELAYS = 30             # a set of relays is one small whole number on a 32-bit board, which has 30 bits beside its sign


def plan_table(job: Job, fan_drives: Mapping[str, FanDrive], stagger: Mapping[str, float], allowances: Mapping[str, Allowance]) -> dict[str, Any]:
    """Return the plan table of a job, in the form that `pattress.controller.core.Plan` reads.

    `fan_drives` holds relay masks, dead time and kick of each fan; `stagger` the delay of each
    channel after a power cut [s]; `allowances` how often anything but a hand may close it. Times in the table are whole milliseconds. Raises UseError when
    the job takes more relays than the control program can name.
    """
    keys = [*job.load, *job.fan]
    place = {key: i for i, key in enumerate((*keys, *job.mode))}
    channels, first_relay = [], 0
    for key in keys:
        channel = _fan(job, key, fan_drives[key], first_relay) if key in job.fan else _load(job, key, first_relay)
        thing = job.fan.get(key) or job.load[key]
        channel |= {
            "key": key,
            "name": thing.name,
            "restore": RESTORES.index(thing.restore),
            "restore_delay_ms": _turn(stagger.get(key, 0.0), channel["minimum_off_ms"]),
        }
        if key in allowances:
            channel |= {"closings_a_day": allowances[key].a_day, "closings_an_hour": allowances[key].an_hour}
        channels.append(channel)
        first_relay = max(channel["masks"]).bit_length()
    for key, mode in job.mode.items():
        # As a load without a relay: beyond those of the board, so that the control program switches, keeps and tells it like one.
        channels.append(_switched(first_relay) | {"key": key, "name": mode.name, "restore": RESTORES.index("as it was"), "restore_delay_ms": 0, "is_mode": 1})
        first_relay += 1
    if first_relay > MOST_RELAYS:
        raise UseError(f"the job takes {first_relay} relays\n  allowed: at most {MOST_RELAYS} on one controller; share the job out over two")
    switches = [
        {
            "key": key,
            "name": switch.name,
            "latching": int(switch.kind == "latching"),
            "settle_ms": default_ms("switch", "settle"),
            **marked_acts(switch.does, place, keys),
        }
        for key, switch in job.switch.items()
    ]
    regulators = [
        _regulator(key, regulator, job, place[regulator.fan])
        for key, regulator in job.regulator.items()
    ]
    buttons = [
        {
            "key": f"{remote_key}.{button_key}",
            "name": f"{remote.name}: {button_key}",
            "protocol": button.code.protocol,
            "address": button.code.address,
            "command": button.code.command,
            **marked_acts(button.does, place, keys),
        }
        for remote_key, remote in job.remote.items()
        for button_key, button in remote.button.items()
        if isinstance(button.code, Code)
    ]
    presses = [
        {
            "switch": number,
            "held": acts_of(switch.held, place, keys),
            "held_ms": default_ms("press", "held") if switch.held else 0,
            "twice": acts_of(switch.twice, place, keys),
            "again_ms": default_ms("press", "again") if switch.twice else 0,
            **{f"{how}_everything": 1 for how, acts in (("held", switch.held), ("twice", switch.twice)) if any(map(is_off_everything, acts))},
        }
        for number, switch in enumerate(job.switch.values()) if switch.held or switch.twice
    ]
    sensed = [{"channel": place[key], "settle_ms": milliseconds(SETTLE)} for key in keys if (job.fan.get(key) or job.load[key]).feedback != "none"]
    return {
        "format": PLAN_FORMAT,
        "title": job.job.title,
        "channels": channels,
        "switches": switches,
        "regulators": regulators,
        "buttons": buttons,
        **({"feedback": sensed} if sensed else {}),
        **({"presses": presses} if presses else {}),
        **rule_tables(job, place, settle_ms, default_ms("sensor", "stale")),
        "held_ms": default_ms("remote", "held"),
        "save_ms": default_ms("snapshot", "delay"),
    }


def _load(job: Job, key: str, relay: int) -> dict[str, Any]:
    return _switched(relay) | {"minimum_off_ms": milliseconds(max(job.load[key].minimum_off, rest_of(job, key)))}


def _switched(relay: int) -> dict[str, Any]:
    return {
        "masks": [0, 1 << relay],
        "on_level": 1,
        "dead_ms": 0,
        "minimum_off_ms": 0,
        "kick_level": 0,
        "kick_top": 0,
        "kick_ms": 0,
    }


def _fan(job: Job, key: str, drive: FanDrive, first_relay: int) -> dict[str, Any]:
    steps, most = job.fan[key].steps, step_most(job, key)
    return {
        **({"top": most} if most else {}),
        "masks": [mask << first_relay for mask in drive.masks],
        "on_level": most or steps,
        "dead_ms": milliseconds(drive.dead),
        "minimum_off_ms": 0,
        "kick_level": drive.kick_level,
        "kick_top": drive.kick_top,
        "kick_ms": milliseconds(drive.kick),
    }


def _regulator(key: str, regulator: Regulator, job: Job, channel: int) -> dict[str, Any]:
    return {
        "key": key,
        "name": regulator.name,
        "contacts": regulator.positions + (regulator.off == "own contact"),
        "off_is_open": int(regulator.off == "no contact"),
        "channel": channel,
        "levels": levels_of(job, regulator),
        "settle_ms": default_ms("regulator", "settle"),
    }


def _turn(delay: float, minimum_off_ms: int) -> int:
    """Return when a channel may close after a power cut [ms].

    A turn counts from the end of the minimum off time, or loads that share one would close together.
    """
    return minimum_off_ms + milliseconds(delay) if delay else 0
