import pytest
from hypothesis import given
from hypothesis import strategies as st

from pattress.finding import Figure, Verdict
from pattress.sizing.supply import at_rail, budget, derated, findings, needed_rating, regulated_least

from .invented import PARTS, by_id, choose, fan_text, load_text, make_job


def answers(*things, **changed):
    job = make_job(*things, **changed)
    return by_id(findings(job, choose(job)))


# docs/sources.md, E108: eight 5 V 70 ohm coils, 500 mA of Wi-Fi, 20 mA, 30 % in hand.
def test_a_budget_with_something_in_hand():
    currents = [5.0 / 70.0] * 8 + [0.5, 0.02]
    assert needed_rating(currents=currents) == pytest.approx(1.419, abs=0.0005)


# docs/sources.md, E96: a rail sagging to 4.5 V behind a regulator that drops 1.3 V.
def test_a_linear_regulator_on_a_low_rail():
    assert regulated_least(rail=4.5, series_drop=0.0, dropout=1.3) == pytest.approx(3.2)
    assert regulated_least(rail=5.0, series_drop=0.0, dropout=1.3) == 3.3


# docs/sources.md, P02: a module of 600 mA, a radio at its peak behind a linear regulator, and coils of 79.4 mA: two fit, not three.
def test_the_budget_trap():
    peak, coil = at_rail(current=0.368, regulator="linear"), 5.0 / PARTS["G5LE-1A DC5"].value("coil_resistance")
    assert peak == 0.368
    assert peak + 2 * coil <= 0.6 < peak + 3 * coil


def test_a_switching_regulator_draws_less_from_the_rail():        # worked on paper: 0.3 x 3.3 / (5 x 0.85)
    assert at_rail(current=0.3, regulator="switching") == pytest.approx(0.23294, abs=1e-5)


def test_a_module_gives_less_when_warm():
    module = dict(rating=1.0, full_to=60.0, most=80.0)
    assert [derated(temperature=t, **module) for t in (25.0, 60.0, 70.0, 80.0, 81.0)] == [1.0, 1.0, 0.75, 0.5, 0.0]


def test_the_smallest_module_that_holds_is_taken():
    few, many = make_job(load_text()), make_job(*(load_text(f"l{i}") for i in range(10)))
    assert choose(few).supply.part.designation == "RAC03-05SK"
    assert choose(many).supply.part.designation == "RAC10-05SK"
    assert choose(many).supply.reason == "RAC03-05SK, RAC05-05SK would not hold"


def test_only_relays_that_can_be_in_together_count():
    job = make_job(fan_text())
    coils = budget(job, choose(job), 5.0)[0]
    assert coils.current == pytest.approx(2 * 5.0 / 62.0 / 0.9)       # C1 and C2; straight through stands alone
    assert coils.origin == "2 in at once, rail high, coils at their least resistance"


def test_a_radio_that_stays_off_is_not_fed():
    on, off = make_job(), make_job(rest="[network]\nwifi = false")
    lines = [budget(job, choose(job), 5.0)[1].current for job in (on, off)]
    assert lines[0] > lines[1]


def test_a_module_without_reinforced_insulation_is_named():
    job = make_job()
    chosen = choose(job)
    plain = type(chosen)(chosen.board, chosen.relays, chosen.terminals, chosen.fans, chosen.driver,
                         type(chosen.supply)(PARTS["HLK-PM01"], "for the test"))
    found = by_id(findings(job, plain))["supply_separation.controller"]
    assert found.verdict is Verdict.UNKNOWN
    assert found.inputs[1].origin == "HLK-PM01, the sheet gives a test voltage, not a class of insulation"


def test_the_linear_regulator_of_a_board_is_tight_at_the_low_rail():
    found = answers(board="esp32")["supply_regulator.controller"]
    assert found.value == Figure(pytest.approx(4.75 - 0.3 - 1.3), "V")
    assert found.limit == Figure(3.0, "V")
    assert found.verdict is Verdict.TIGHT
    assert "supply_regulator.controller" not in answers(board="rp2040-wifi")


def test_the_budget_shows_its_lines():
    found = answers()["supply.controller"]
    assert [i.name for i in found.inputs[:3]] == ["relay coils", "board with its radio", "pins, contacts, receiver, sensors, lamp"]
    assert found.value == Figure(pytest.approx(sum(i.figure.value for i in found.inputs[:3])), "A")
    assert found.detail == "Tight means less than 30 % of the sum in hand."


@given(currents=st.lists(st.floats(0, 10), max_size=12), more=st.floats(0, 10))
def test_one_more_consumer_never_needs_less(currents, more):
    assert needed_rating(currents=[*currents, more]) >= needed_rating(currents=currents) * (1 - 1e-12)


@given(temperature=st.floats(-40, 150), warmer=st.floats(0, 50))
def test_warmer_never_gives_more(temperature, warmer):
    module = dict(rating=2.0, full_to=50.0, most=70.0)
    assert derated(temperature=temperature + warmer, **module) <= derated(temperature=temperature, **module)


# ESP32-WROOM-32E datasheet v1.2, table 5: the supply is to give 500 mA at 3.3 V; the radio's own peak is 368 mA.
def test_what_the_maker_of_a_chip_asks_of_its_supply_is_a_limit():
    job = make_job(load_text(), board="esp32")
    (line,) = (line for line in budget(job, choose(job), 5.2) if line.name == "board with its radio")
    assert line.current == 0.5
    job = make_job(load_text(), board="rp2040-wifi")
    (line,) = (line for line in budget(job, choose(job), 5.2) if line.name == "board with its radio")
    assert line.current == pytest.approx(0.3 * 3.3 / (5 * 0.85))
