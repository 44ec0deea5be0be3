from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pattress.finding import Figure, Verdict
from pattress.sizing.energy import findings as energy
from pattress.sizing.energy import from_mains, yearly_energy
from pattress.sizing.heat import area_needed, findings, free_area, losses, regulator_loss, rise, supply_loss

from .invented import by_id, choose, load_text, make_job

BOX = 'enclosure = {{ width = "{0} mm", height = "{1} mm", depth = "{2} mm", material = "{3}" }}'


def answers(*things, **changed):
    job = make_job(*things, **changed)
    return by_id(findings(job, choose(job)))


# docs/sources.md, E93: an enclosure maker's example: 500 W, 15 K, painted steel.
def test_a_published_enclosure():
    assert area_needed(power=500.0, rise=15.0, coefficient=5.5) == pytest.approx(6.061, abs=0.0005)


# docs/sources.md, E94: 3 W in a plastic box 120 x 80 x 50 mm with its back to the wall.
def test_a_small_box():
    area = free_area(width=0.12, height=0.08, depth=0.05)
    assert area == pytest.approx(0.0296)
    assert rise(power=3.0, area=area, coefficient=3.5) == pytest.approx(28.96, abs=0.005)


# docs/sources.md, E95: 12 V to 3.3 V at 80 mA.
def test_a_linear_regulator():
    power = regulator_loss(input_voltage=12.0, output_voltage=3.3, current=0.08)
    assert power == pytest.approx(0.696)


def test_a_supply_module():                # worked on paper: 4 W out at 80 % is 1 W lost
    assert supply_loss(output_power=4.0, efficiency=0.8) == pytest.approx(1.0)


def test_an_unknown_box_is_taken_small_and_said_so():
    found = answers()["heat.controller"]
    assert found.assumptions[0].taken == "120 x 80 x 50 mm of plastic"
    assert found.assumptions[0].measure == "measure the box"


def test_many_relays_in_a_small_plastic_box_are_too_warm_and_in_steel_less():
    loads = [load_text(f"l{i}", power="60 W") for i in range(8)]
    plastic = answers(*loads, site=BOX.format(120, 80, 50, "plastic"))["heat.controller"]
    steel = answers(*loads, site=BOX.format(300, 250, 100, "painted steel"))["heat.controller"]
    assert (plastic.verdict, steel.verdict) == (Verdict.FAILS, Verdict.HOLDS)
    assert plastic.change[0].startswith("a box ") and plastic.change[0].endswith(" times as large each way")
    assert plastic.limit == Figure(20.0, "K")
    assert steel.change == ()


def test_every_loss_is_listed():
    job = make_job(load_text(kind="resistive heater", power="2.2 kW"), rating="16 A")
    lost = losses(job, choose(job))
    assert list(lost) == ["relay coils", "contacts", "tracks", "board", "supply"]
    assert lost["contacts"] == pytest.approx(0.01 * (2200 / 230 * 1.1) ** 2)
    found = answers(load_text(kind="resistive heater", power="2.2 kW"), rating="16 A")["heat.controller"]
    assert sum(i.figure.value for i in found.inputs[:5]) == pytest.approx(sum(lost.values()))


def test_hot_surroundings_leave_less():
    assert answers(ambient="60 degC")["heat.controller"].limit == Figure(pytest.approx(10.0), "K")      # the board bears 70 degC


@given(power=st.floats(0, 100), more=st.floats(0, 100), area=st.floats(0.001, 10), coefficient=st.sampled_from([3.5, 5.5, 12.0]))
def test_more_power_is_never_cooler(power, more, area, coefficient):
    assert rise(power=power + more, area=area, coefficient=coefficient) >= rise(power=power, area=area, coefficient=coefficient) >= 0


# Energy: 1 W for a year of 8766 h is 8.766 kWh.
def test_a_watt_for_a_year():
    assert yearly_energy(power=1.0) / 3.6e6 == pytest.approx(8.766)
    assert from_mains(output_power=0.4, efficiency=0.8, standby=0.075) == pytest.approx(0.575)


def test_standby_is_told_with_its_year():
    job = make_job()
    found = by_id(energy(job, choose(job)))["energy.controller"]
    assert found.verdict is Verdict.HOLDS
    assert found.limit == Figure(2.0, "W")
    assert found.detail == "5.35 kWh a year; each relay that is in adds 545 mW at the mains."
    assert not found.safety


# The box is not known: a small one of plastic would be too warm, a large one of aluminium would not.
def test_an_unknown_box_is_unknown_and_not_too_small():
    hot = [load_text(f"l{i}", kind="resistive heater", power="2 kW") for i in range(3)]
    unknown = answers(*hot)["heat.controller"]
    assert (unknown.verdict, unknown.assumptions[0].key, unknown.stops) == (Verdict.UNKNOWN, "site.enclosure", True)
    assert unknown.change[0] == "settle the figures above"
    small = answers(*hot, site=BOX.format(120, 80, 50, "plastic"))["heat.controller"]
    assert small.verdict is Verdict.FAILS and small.value == unknown.value


def test_a_part_whose_sheet_gives_no_temperature_is_not_taken_for_one_that_bears_any():
    job = make_job(site=BOX.format(400, 400, 150, "plastic"), ambient="50 degC")
    chosen = choose(job)
    relay = chosen.relays["pendant"].part
    silent = replace(relay, figures={name: rating for name, rating in relay.figures.items() if name != "ambient_most"})
    found = by_id(findings(job, replace(chosen, relays={"pendant": replace(chosen.relays["pendant"], part=silent)})))["heat.controller"]
    assert found.verdict is Verdict.UNKNOWN and f"part.{relay.designation}.ambient_most" in [a.key for a in found.assumptions]


# What the losses hang on is listed: an unknown heat names what would settle it.
def test_what_makes_the_heat_unknown_is_named():
    found = answers(*(load_text(f"supply{one}", kind="electronic supply", power="400 W") for one in range(4)))["heat.controller"]
    assert {f"load.supply{one}.power_factor" for one in range(4)} <= {assumption.key for assumption in found.assumptions}
