import pytest

from pattress.finding import Figure, Verdict
from pattress.sizing.residual import controller_feed, findings

from .invented import by_id, fan_text, load_text, make_job

HEATING = """
[feed.heating]
device = { kind = "miniature circuit-breaker", curve = "B", rating = "16 A" }
residual_current_device = { rating = "30 mA", type = "AC" }
cable = { section = "2.5 mm2", length = "10 m" }
"""
LAMP = load_text()


def answers(*things, rest="", **changed):
    return by_id(findings(make_job(*(things or (LAMP,)), rest=rest, **changed)))


def device(kind, rating="30 mA"):
    return f'{{ rating = "{rating}", type = "{kind}" }}'


def test_thirty_milliamperes_are_asked():
    found = answers()["residual.lights"]
    assert (found.verdict, found.value, found.limit, found.change, found.detail) == (
        Verdict.HOLDS, Figure(0.030, "A"), Figure(0.030, "A"), (), "Type A.")
    assert answers(residual=device("A", "300 mA"))["residual.lights"].verdict is Verdict.FAILS


def test_none_fails_and_unknown_is_unknown():
    none = answers(residual='"none"')["residual.lights"]
    assert (none.verdict, none.change) == (Verdict.FAILS, ("a 30 mA residual-current device of type A ahead of this feed",))
    assert answers(residual='"none"', earthing="TT")["residual.lights"].detail == "With TT earthing nothing else disconnects an earth fault."
    assert answers(residual='"unknown"')["residual.lights"].verdict is Verdict.UNKNOWN


@pytest.mark.parametrize("kind, verdict", [("A", Verdict.HOLDS), ("F", Verdict.HOLDS), ("B", Verdict.HOLDS), ("AC", Verdict.FAILS), ("unknown", Verdict.UNKNOWN)])
def test_a_rectifier_wants_type_a(kind, verdict):       # BS 7671:2018+A2:2022, 531.3.3
    assert answers(residual=device(kind))["residual.lights"].verdict is verdict


def test_what_type_ac_does_not_see_is_named_and_cured():
    found = answers(residual=device("AC"))["residual.lights"]
    assert found.detail == "Type AC need not see the fault currents behind a rectifier: Pendant, the controller itself. Type A does."
    assert found.change == ("a 30 mA residual-current device of type A ahead of this feed",)


def test_a_type_that_the_job_does_not_name_is_to_be_looked_at_before_anything_is_bought():
    found = answers(residual='{ rating = "30 mA" }')["residual.lights"]
    assert [(a.key, a.taken, a.measure) for a in found.assumptions] == [(
        "feed.lights.residual_current_device.type", "type AC",
        "the letters on the device, or its symbol: a wave alone is AC, half waves below it A")]
    assert found.change == ("where that is so, a 30 mA residual-current device of type A ahead of this feed",)
    assert answers(residual='{ rating = "300 mA" }')["residual.lights"].change == ("a 30 mA residual-current device of type A ahead of this feed",)


def test_a_device_of_120_volts_may_have_no_type():      # UL 943 (from memory)
    measure = answers(residual='{ rating = "6 mA" }', system="120 V 60 Hz")["residual.lights"].assumptions[0].measure
    assert measure.endswith("half waves below it A; one to UL 943 has neither: ask its maker whether it trips at pulsating direct current")


# The note to 531.3.3 names heating appliances and simple filament lighting as what type AC may serve.
@pytest.mark.parametrize("kind, verdict", [
    ("resistive heater", Verdict.HOLDS), ("tungsten lamp", Verdict.HOLDS), ("motor", Verdict.UNKNOWN), ("electronic supply", Verdict.FAILS)])
def test_type_ac_by_what_hangs_on_the_feed(kind, verdict):
    found = answers(LAMP, load_text("second", kind=kind, feed="heating"), rest=HEATING)["residual.heating"]
    assert found.verdict is verdict
    assert [a.key for a in found.assumptions] == (["load.second.kind"] if kind == "motor" else [])
    assert kind != "motor" or found.change == ("where that is so, a 30 mA residual-current device of type A ahead of this feed",)


def test_loads_that_the_job_does_not_name_may_rectify():
    heater, other = load_text("second", kind="resistive heater", feed="heating"), HEATING + 'other_current = "1 A"\n'
    found = answers(LAMP, heater, rest=other)["residual.heating"]
    assert (found.verdict, [a.key for a in found.assumptions]) == (Verdict.UNKNOWN, ["feed.heating.other_current"])


def test_a_fan_with_an_electronic_motor_rectifies_and_one_with_a_capacitor_does_not():
    for motor, verdict in (("permanent split capacitor", Verdict.HOLDS), ("electronically commutated", Verdict.FAILS)):
        fan = fan_text(motor=motor, steps=1).replace('feed = "lights"', 'feed = "heating"')
        assert answers(LAMP, fan, rest=HEATING)["residual.heating"].verdict is verdict


def test_the_controller_hangs_on_the_first_feed_with_something_on_it():
    heater = load_text("second", kind="resistive heater", feed="heating")
    assert controller_feed(make_job(LAMP, heater, rest=HEATING)) == "lights"
    assert controller_feed(make_job(heater, rest=HEATING)) == "heating"
    assert answers(heater, rest=HEATING)["residual.heating"].verdict is Verdict.FAILS
