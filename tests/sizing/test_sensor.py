import pytest

from pattress.finding import Verdict
from pattress.sizing.flash import findings as flash
from pattress.sizing.flash import years_of_writes
from pattress.sizing.sensing import rise_time
from pattress.sizing.sensor import ONE, THRESHOLD, findings

from .invented import by_id, choose, load_text, make_job

SENSOR = '[sensor.room]\nname = "Room"\nkind = "{kind}"\ncable = "{cable}"\n'


def answers(kind="22 class", cable="2 m"):
    job = make_job(rest=SENSOR.format(kind=kind, cable=cable))
    return by_id(findings(job, choose(job)))


# The sheets give 5.1 kohm for cables under 20 m: at 20 m the bits must still be told apart, well beyond it not.
def test_the_cable_of_a_sensor():
    rise = rise_time(resistance=5.1e3, capacitance=2e-9, supply=3.3, level=2.475)
    assert rise == pytest.approx(14.14e-6, abs=0.01e-6)          # R C ln 4
    assert rise < ONE - THRESHOLD
    assert answers(cable="19 m")["sensor_line.room"].verdict is Verdict.HOLDS
    assert answers(cable="60 m")["sensor_line.room"].verdict is Verdict.FAILS
    assert answers(cable="60 m")["sensor_line.room"].change[0].endswith("of cable, or a smaller pull-up")
    assert answers(cable="0 m")["sensor_line.room"].change == ()


def test_an_11_class_sensor_on_a_long_wire_wants_more_than_3_3_v():
    found = answers("11 class", "1 m")["sensor_supply.room"]
    assert found.verdict is Verdict.TIGHT
    assert found.detail.startswith("One manual wants a cable under 20 cm at 3.3 V, others do not say so.")
    assert answers("11 class", "0.1 m")["sensor_supply.room"].verdict is Verdict.HOLDS
    assert answers("22 class", "5 m")["sensor_supply.room"].verdict is Verdict.HOLDS


# docs/sources.md, E105 and E106: flash wear.
def test_flash_wear():
    minute = 24 * 60.0
    assert years_of_writes(per_day=minute) * 365.25 == pytest.approx(69.44, abs=0.005)
    assert years_of_writes(per_day=minute, sectors=16) == pytest.approx(3.042, abs=0.0005)
    assert years_of_writes(per_day=minute, records=4096 / 32) == pytest.approx(24.34, abs=0.005)


def test_the_flash_of_a_busy_controller():
    assert by_id(flash(make_job()))["flash.controller"].verdict is Verdict.HOLDS
    busy = by_id(flash(make_job(load_text(operations_per_day=2000))))["flash.controller"]
    assert busy.verdict is Verdict.FAILS and not busy.safety
    unknown = by_id(flash(make_job(load_text(operations_per_day="unknown"))))["flash.controller"]
    assert unknown.assumptions[0].key == "load.pendant.operations_per_day"
