"""The pull-up fitted at each input: the one place where drawings, parts, pins and words take it from.

Answers, for every wire that something outside pulls to ground: which resistor holds it up at the controller. A wire that is
named here needs no pull-up in the pin; one that is not named (the power-fail wire, a few centimetres long) has only the pin's own.
"""

from collections.abc import Mapping
from types import MappingProxyType

from pattress.job.model import Job
from pattress.sizing import feedback, sensor
from pattress.sizing.mains import mains_of
from pattress.sizing.sensing import pull_up_for
from pattress.stock.boards import Board

RECEIVER = 30e3                  # ohm to its supply inside an infra-red receiver module (Vishay document 81733)


def pull_ups(job: Job, board: Board) -> Mapping[str, float]:
    """Return the resistor [ohm] to 3.3 V of each thing that is wired to inputs: "switch.door", "input.well", "regulator.wall", "infrared" ..."""
    mains = mains_of(job)
    found = {f"{section}.{key}": pull_up_for(board, mains, thing.cable) for section, key, thing in job.contacts()}
    found |= {f"feedback.{key}": feedback.PULL_UP for key, thing in (*job.load.items(), *job.fan.items()) if thing.feedback != "none"}
    found |= {f"sensor.{key}": sensor.PULL_UP for key in job.sensor}
    return MappingProxyType(found | ({"infrared": RECEIVER} if job.remote else {}))
