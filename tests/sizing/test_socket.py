"""A socket: whatever may be plugged in, judged by what its devices let pass and not by today's appliance."""

import pytest

from pattress.finding import Verdict
from pattress.job import JobError
from pattress.sizing.demand import demands
from pattress.sizing.questions import answers as all_answers

from .invented import BOARDS, PARTS, by_id, drives, load_text, make_job

SOCKET = dict(kind="socket", power="100 W", section="2.5 mm2")


def socket(run="", **fields):
    """Return a socket of a job file, with more in the table of its run."""
    text = load_text("bench", **SOCKET | fields)
    return text.replace('length = "5 m" }', f'length = "5 m"{run} }}')


def found(*things, **changed):
    job = make_job(*things, **{"rating": "16 A", "feed_section": "2.5 mm2"} | changed)
    return by_id(all_answers(job, PARTS, BOARDS[job.board.type], drives(job)))


# The least of feed device, fuse of the run, and fuse of the plug.
@pytest.mark.parametrize("run, plug, carried, origin", [
    ("", "none", 16.0, "feed.lights.device.rating"), (', fuse = "10 A"', "none", 10.0, "load.bench.run.fuse"),
    ("", "13 A", 13.0, "load.bench.plug_fuse"), (', fuse = "6 A"', "13 A", 6.0, "load.bench.run.fuse"),
    (', fuse = "unknown"', "unknown", 16.0, "feed.lights.device.rating")])                  # what is not known lets everything pass
def test_a_socket_carries_what_its_devices_let_pass(run, plug, carried, origin):
    demand = demands(make_job(socket(run, plug_fuse=plug), rating="16 A"))["bench"]
    assert demand.carried == carried and demand.inputs[0].origin == origin


def test_a_small_appliance_makes_no_small_socket():
    answers = found(socket())
    for question in ("contacts", "run", "terminal"):
        assert answers[f"{question}.bench"].value.value == 16.0, question
    heater = found(load_text("bench", kind="resistive heater", power="3345.45 W"))        # 16 A at 253 V
    assert answers["track.bench"].value.value == pytest.approx(heater["track.bench"].value.value, rel=1e-4)
    assert answers["protection.lights"].value.value < 1.0           # what is usually plugged in: 100 W / (207 V x 0.6)


# 1.5 mm2 carries 16.3 A at 50 degC, so 1.45 times 23.7 A; gG fuse-links surely melt at 24.7 A (13 A) and 25.6 A (16 A), one of 10 A at 19 A.
@pytest.mark.parametrize("fuse", ["13 A", "16 A"])
def test_a_run_that_no_device_protects_fails_however_near_its_limit(fuse):
    run = found(socket(f', fuse = "{fuse}"'), ambient="50 degC")["run.bench"]
    assert run.verdict is Verdict.FAILS and run.change[-1] == "or a fuse at the beginning of the run of at most 10 A"


def test_a_relay_too_small_for_what_may_be_plugged_in_fails():
    answers = found(socket(relay="G5LE-1A DC5"))
    assert answers["contacts.bench"].verdict is Verdict.FAILS
    assert found(socket(', fuse = "6 A"', relay="G5LE-1A DC5"))["contacts.bench"].verdict is Verdict.HOLDS


def test_the_socket_says_what_must_not_be_plugged_in():
    assert "A motor of more than 2 A is not to be plugged in: say so at the socket." in found(socket(relay="RT314005"))["contacts.bench"].detail
    assert "A motor of more than 2.67 A" in found(socket(relay="RTS3T005"))["contacts.bench"].detail      # 16 A / 6


# The largest published inrush of a supply that one plugs in: 130 A for 0.6 ms at 230 V.
def test_a_supply_of_the_largest_published_inrush_may_be_plugged_in():
    making = found(socket())["making.bench"]
    assert making.value.value == pytest.approx(143.0) and making.verdict is Verdict.HOLDS
    assert found(socket(relay="RT33L005"))["making.bench"].verdict is Verdict.UNKNOWN


def test_a_run_that_its_device_does_not_protect_is_none_for_a_socket():
    assert found(socket(section="1 mm2"))["run.bench"].verdict is Verdict.FAILS
    fused = found(socket(', fuse = "6 A"', section="1 mm2"))["run.bench"]
    assert fused.verdict is Verdict.HOLDS and fused.limit.value > 6.0
    assert found(load_text("bench", kind="resistive heater", power="1 kW", section="1 mm2"))["run.bench"].verdict is Verdict.TIGHT


def test_what_is_plugged_in_may_have_a_rectifier():
    assert found(socket(), residual='{ rating = "30 mA", type = "AC" }')["residual.lights"].verdict is Verdict.FAILS


def test_a_plug_fuse_belongs_to_a_socket():
    with pytest.raises(JobError, match="load.pendant.plug_fuse is given where nothing is plugged in\n  allowed: no plug_fuse for a LED driver; it is for the kind socket"):
        make_job(load_text(plug_fuse="13 A"))


# NEC 210.20(A): 125 % of a continuous load; 1.5 kW at 120 V and 5 % high is 13.1 A, and 16.4 A with a quarter more.
def test_a_fixed_heater_counts_as_a_continuous_load_where_codes_ask_for_it():
    heater = load_text("heat", kind="resistive heater", power="1.5 kW")
    low = found(heater, system="120 V 60 Hz", rating="16 A")["protection.lights"]
    assert (low.value.value, low.verdict) == (pytest.approx(1500 / 120 * 1.1 * 1.25), Verdict.FAILS)
    high = found(heater, rating="16 A")["protection.lights"]
    assert high.value.value == pytest.approx(1500 / 230 * 1.1)
