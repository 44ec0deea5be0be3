"""Every question of this package by name. A new one is a module with `findings` and a line here.

A `findings` function takes what it needs by name: `job`, `parts`, `chosen`, `stagger`.
"""

from collections.abc import Callable, Mapping
from inspect import signature
from typing import Any

from pattress.fan.drive import FanDrive
from pattress.finding import Finding
from pattress.job.model import Job
from pattress.sizing import (
    broken_wire,
    clearances,
    conductors,
    contacts,
    controls,
    damp,
    discharge,
    drive,
    earthing,
    electrode,
    energy,
    feedback,
    flash,
    fuses,
    heat,
    heaters,
    holdup,
    inrush,
    protection,
    residual,
    sensing,
    sensor,
    supply,
    suppression,
    tracks,
    wear,
)
from pattress.sizing.choice import choose_parts
from pattress.stock.boards import Board
from pattress.stock.parts import Parts

QUESTIONS: Mapping[str, Callable[..., tuple[Finding, ...]]] = {
    "contacts": contacts.findings,
    "inrush": inrush.findings,
    "protection": protection.findings,
    "residual": residual.findings,
    "conductors": conductors.findings,
    "clearances": clearances.findings,
    "supply": supply.findings,
    "drive": drive.findings,
    "tracks": tracks.findings,
    "fuses": fuses.findings,
    "sensing": sensing.findings,
    "broken wire": broken_wire.findings,
    "feedback": feedback.findings,
    "suppression": suppression.findings,
    "heat": heat.findings,
    "energy": energy.findings,
    "hold-up": holdup.findings,
    "sensor": sensor.findings,
    "damp": damp.findings,
    "discharge": discharge.findings,
    "earthing": earthing.findings,
    "electrode": electrode.findings,
    "flash": flash.findings,
    "wear": wear.findings,
    "controls": controls.findings,
    "heaters": heaters.findings,
}


def answers(job: Job, parts: Parts, board: Board, fan_drives: Mapping[str, FanDrive]) -> tuple[Finding, ...]:
    """Return every finding of this package, from a job, the stock, its board and the drive of each fan.

    Raises StockError when the job names a part that is not in stock.
    """
    given: dict[str, Any] = {
        "job": job, "parts": parts, "chosen": choose_parts(job, parts, board, fan_drives), "stagger": inrush.stagger(job),
    }
    return tuple(
        finding
        for question in QUESTIONS.values()
        for finding in question(**{name: given[name] for name in signature(question).parameters})
    )
