"""The fan sheet: what was measured is typed in, and the motor, its steps and its regulator follow at once."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from pattress.designators import channel_designators
from pattress.drawing import Medium
from pattress.errors import UseError
from pattress.fan import report
from pattress.fan.design import FanDesign, FittedFan
from pattress.fan.report import Marks
from pattress.fan.report import Sheet as Table
from pattress.job import JobError
from pattress.web.draft import Edit
from pattress.web.sheet import Asked, Go, NoSuchSheet, Sheet, Stay

WINDINGS = (("main_winding", "Main winding", "300 ohm"), ("auxiliary_winding", "Auxiliary winding", "315 ohm"),
            ("both_windings", "Both in series", "615 ohm"), ("capacitance_meter", "Capacitance meter off by at most", "2 %"))
READING = (("mains", "Mains", "230 V"), ("capacitor", "Capacitor in series", "none"), ("capacitor_tolerance", "Its tolerance", "5 %, measured or unknown"),
           ("regulator_gets", "The regulator gets", "a new one, or this one"), ("power", "Power", "75 W"),
           ("apparent_power", "Apparent power", "76 VA"), ("speed", "Speed", "382 rpm"))
MOST_READINGS, LONGEST = 40, 60
MEANWHILE = "What was measured has been changed elsewhere in the meantime. It is shown as it is now, and what you typed was not written."


@dataclass(frozen=True, slots=True)
class Blank:
    """One field of the form: what it is called, an example, and what stands in it."""

    name: str
    label: str
    example: str
    text: str


@dataclass(frozen=True, slots=True)
class FanSheet:
    """One fan, as far as it is known."""

    key: str
    name: str
    others: tuple[tuple[str, str], ...]     # address and name of every fan of the job, when there are several
    was: str                                # what the form was filled from
    windings: tuple[Blank, ...]
    readings: tuple[tuple[Blank, ...], ...]
    error: str
    problem: str                            # why there are no steps, "" when there are
    known: tuple[str, ...]                  # drawings
    tables: tuple[Table, ...]
    closer: bool                            # whether the slower tables are there too


def view(asked: Asked) -> FanSheet:
    """Return the sheet of the fan in the address, of the first when none is named; raises NoSuchSheet."""
    if not asked.design.job.fan and "key" not in asked.place:
        return FanSheet("", "Fan", (), "", (), (), "", "This job has no ceiling fan.", (), (), False)
    return _sheet(asked, _key(asked), None, "")


def view_closer(asked: Asked) -> FanSheet:
    """Return the same with all tables and drawings."""
    return _sheet(asked, _key(asked), None, "", closer=True)


def measure(asked: Asked) -> Go | Stay:
    """Write what was newly typed into the job file, over what it says now."""
    key = _key(asked)
    now, base, typed = _flat(_measured(asked, key)), _base(asked.form.get("was", "")), _typed(asked.form)
    fresh = {name: typed.get(name, "") for name in {*base, *typed} if typed.get(name, "") != base.get(name, "")}
    if any(now.get(name, "") not in (base.get(name, ""), text) for name, text in fresh.items()):
        return Stay(None, MEANWHILE, 409)
    meant = {name: text for name, text in (now | fresh).items() if text}
    if meant == now:
        return Go(f"/fan/{key}", "Nothing new was typed.")
    try:
        asked.draft.write(_edits(key, _measured(asked, key), _whole(meant)), over=asked.version)
    except (JobError, UseError) as error:
        return Stay(_sheet(asked, key, _whole(meant), str(error)), "Not written: see what is said at the form.")
    return Go(f"/fan/{key}", "Written; the motor was fitted anew.")


def _key(asked: Asked) -> str:
    fans = asked.design.job.fan
    key = asked.place.get("key") or next(iter(fans), "")
    if key not in fans:
        raise NoSuchSheet(f"This job has no fan {key}." if key else "This job has no ceiling fan.")
    return key


def _sheet(asked: Asked, key: str, typed: Mapping[str, Any] | None, error: str, *, closer: bool = False) -> FanSheet:
    job, design = asked.design.job, asked.design.results["fan_designs"][key]
    was, marks = _measured(asked, key), channel_designators(asked.design.plan, key)
    measured = was if typed is None else typed
    readings = measured.get("readings", [])
    rows = [*readings, {}] if len(readings) < MOST_READINGS else readings
    return FanSheet(
        key, job.fan[key].name, tuple((f"/fan/{other}", fan.name) for other, fan in job.fan.items()) if len(job.fan) > 1 else (), json.dumps(_flat(was)),
        tuple(Blank(name, label, example, str(measured.get(name, ""))) for name, label, example in WINDINGS),
        tuple(tuple(Blank(f"{place}.{name}", label, example, str(row.get(name, ""))) for name, label, example in READING)
              for place, row in enumerate(rows)),
        error, "" if design.steps else design.problem or "This fan is only switched: one step, straight through.",
        _drawings(design, marks, closer), _tables(design, marks, closer), closer,
    )


def _drawings(design: FanDesign, marks: Marks, closer: bool) -> tuple[str, ...]:
    if not isinstance(design, FittedFan):
        return ()
    pictures = (*report.bands(design).values(), *(report.drawings(design, marks).values() if closer else ()))
    return tuple(picture.svg(Medium.PAGE) for picture in pictures)


def _tables(design: FanDesign, marks: Marks, closer: bool) -> tuple[Table, ...]:
    if not isinstance(design, FittedFan):
        return ()
    return (*report.closely(design, marks), *report.further(design, marks)) if closer else report.closely(design, marks)


def _measured(asked: Asked, key: str) -> dict[str, Any]:
    """Return what the job file says was measured, as it is written there."""
    found: dict[str, Any] = asked.version.table["fan"][key].get("measured", {})
    return found


def _flat(measured: Mapping[str, Any]) -> dict[str, str]:
    """Return what was measured by the names of the form's fields: "main_winding", "0.speed"."""
    flat = {name: str(measured[name]) for name, _, _ in WINDINGS if name in measured}
    return flat | {f"{place}.{name}": str(value) for place, row in enumerate(measured.get("readings", ())) for name, value in row.items()}


def _whole(flat: Mapping[str, str]) -> dict[str, Any]:
    """Return the same as the job file has it; a reading with nothing in it is none."""
    whole: dict[str, Any] = {name: flat[name] for name, _, _ in WINDINGS if name in flat}
    rows = [{name: flat[f"{place}.{name}"] for name, _, _ in READING if f"{place}.{name}" in flat} for place in range(MOST_READINGS)]
    return whole | ({"readings": [row for row in rows if row]} if any(rows) else {})


def _base(text: str) -> dict[str, str]:
    """Return what the form was filled from; nothing when that is no longer to be read."""
    try:
        found = json.loads(text)
    except (ValueError, RecursionError):
        return {}
    return {str(name): str(value) for name, value in found.items()} if isinstance(found, dict) else {}


def _typed(form: Mapping[str, str]) -> dict[str, str]:
    """Return what the form says, by its fields. Raises UseError."""
    names = [*(name for name, _, _ in WINDINGS), *(f"{place}.{name}" for place in range(MOST_READINGS) for name, _, _ in READING)]
    typed = {name: form[name].strip() for name in names if form.get(name, "").strip()}
    for text in typed.values():
        if len(text) > LONGEST:
            raise UseError(f"{text[:LONGEST]}... is too long for a quantity")
    return typed


def _edits(key: str, was: Mapping[str, Any], typed: Mapping[str, Any]) -> list[Edit]:
    """Return the edits from what was to what was typed, in the order of the file."""
    place = ("fan", key, "measured")
    if not typed:
        return [(place, None)]
    edits: list[Edit] = [] if was else [(place, {})]
    for name in dict.fromkeys((*was, *typed)):
        if name not in typed:
            edits.append(((*place, name), None))
        elif was.get(name) != typed[name]:
            edits.append(((*place, name), _on_lines(typed[name]) if name == "readings" else typed[name]))
    return edits


def _on_lines(rows: list[dict[str, str]]) -> Any:
    """Return readings as the file shall show them, one on a line."""
    from tomlkit import array, inline_table

    lines = array().multiline(True)
    for row in rows:
        line = inline_table()
        line.update(row)
        lines.append(line)
    return lines


SHEETS = (
    Sheet("/fan", "Fan", "fan.html", view, {"measure": measure}),
    Sheet("/fan/{key}", "", "fan.html", view, {"measure": measure}),
    Sheet("/fan/{key}/closer", "", "fan.html", view_closer, {"measure": measure}),
)
