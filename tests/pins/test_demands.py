"""What a job asks of the board's pins."""

import pytest

from pattress.job.model import Job
from pattress.pins.demands import CONTACT, demands

CABLE = {"section": "1.5 mm2", "length": "5 m"}
CHANNEL = {"name": "x", "feed": "lights", "run": CABLE}
JOB = {     # invented
    "job": {"title": "a test"},
    "supply": {"system": "230 V 50 Hz", "earthing": "unknown"},
    "feed": {"lights": {"device": {"kind": "fuse", "curve": "gG", "rating": "6 A"}, "cable": CABLE}},
    "load": {"pendant": {**CHANNEL, "kind": "LED driver", "power": "20 W"}, "heater": {**CHANNEL, "kind": "resistive heater", "power": "1 kW"}},
    "fan": {"ceiling": {**CHANNEL, "motor": "unknown", "power": "75 W", "steps": 4}},
    "switch": {"door": {"name": "door", "kind": "latching", "does": ["toggle pendant"]}},
    "input": {"well": {"name": "well", "kind": "float"}},
    "regulator": {"wall": {"name": "wall", "fan": "ceiling", "positions": 4}},
    "remote": {"hand": {"name": "hand", "button": {"one": {"does": ["toggle pendant"]}}}},
    "sensor": {"room": {"name": "room", "kind": "22 class"}},
    "board": {"type": "rp2040-wifi"},
}


def job(**changes):
    return Job.model_validate({**JOB, **changes})


def test_one_demand_for_every_wire_in_the_order_of_the_job():
    assert [demand.name for demand in demands(job(), {"ceiling": 3})] == [
        "relay.pendant", "relay.heater", "relay.ceiling.1", "relay.ceiling.2", "relay.ceiling.3", "switch.door", "input.well",
        "regulator.wall.1", "regulator.wall.2", "regulator.wall.3", "regulator.wall.4", "infrared", "sensor.room", "status",
    ]


def test_a_supply_that_warns_takes_one_more():
    warned = demands(job(board={"type": "esp32", "power_fail": True}), {"ceiling": 3})
    assert warned[-1].name == "power_fail" and warned[-1].need.pull_up


def test_an_input_asks_for_what_a_wall_switch_asks_for():
    switch, contact = (next(demand for demand in demands(job(), {"ceiling": 1}, {"switch.door": 2.2e3, "input.well": 2.2e3}) if demand.name == name)
                       for name in ("switch.door", "input.well"))
    assert (switch.need, switch.group, switch.pull_up) == (contact.need, contact.group, contact.pull_up) == (CONTACT, "switches", 2.2e3)


def test_what_is_sensed_takes_an_input_that_is_pulled_to_ground():
    sensed = job(load={"heater": {**JOB["load"]["heater"], "feedback": "mains"}}, fan={"ceiling": {**JOB["fan"]["ceiling"], "feedback": "mains"}})
    found = {demand.name: demand.need for demand in demands(sensed, {"ceiling": 1})}
    assert [name for name in found if name.startswith("feedback")] == ["feedback.heater", "feedback.ceiling"]
    assert found["feedback.heater"].lows and not found["feedback.heater"].pull_up and not found["feedback.heater"].drives
    fitted = {demand.name: demand.pull_up for demand in demands(sensed, {"ceiling": 1}, {"feedback.heater": 47e3, "regulator.wall": 1e3, "infrared": 30e3})}
    assert {name for name, ohm in fitted.items() if ohm} == {"feedback.heater", "infrared", *(f"regulator.wall.{n}" for n in range(1, 5))}
    assert fitted["regulator.wall.4"] == 1e3


def test_what_the_job_lacks_needs_no_pin():
    bare = job(fan={}, switch={}, input={}, regulator={}, remote={}, sensor={}, board={"type": "esp32", "status_lamp": False})
    assert [demand.name for demand in demands(bare, {})] == ["relay.pendant", "relay.heater"]


def test_a_regulator_whose_off_has_its_own_contact_needs_one_more():
    regulators = {off: job(regulator={"wall": {**JOB["regulator"]["wall"], "off": off}}).regulator["wall"]
                  for off in ("no contact", "own contact", "none")}
    assert [regulator.contacts for regulator in regulators.values()] == [4, 5, 4]


def test_a_fan_without_its_relays_is_an_error():
    with pytest.raises(KeyError, match="ceiling"):
        demands(job(), {})
