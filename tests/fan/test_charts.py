"""The pictures hold what was given to them, are well-formed, and need no colour."""
import re
import xml.etree.ElementTree as ElementTree
from dataclasses import replace

import numpy as np
import pytest

from pattress.drawing import Medium
from pattress.drawing.look import FEED, INK, PAPER, RULE
from pattress.fan import charts
from pattress.fan.motor import RADIANS_PER_SECOND
from pattress.fan.operating import operating_points
from pattress.fan.transient import Circuit, switched

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture
def feeds(example_motor, two_capacitors):
    return [(label, two_capacitors.series_impedance(mask, example_motor.angular_frequency))
            for label, mask in (("2.2 uF", 1), ("3.3 uF", 2), ("both", 3), ("direct", 4))]


@pytest.fixture
def drawn(example_motor, example_load, two_capacitors, feeds):
    circuit = Circuit(motor=example_motor, regulator=two_capacitors, supply=230.0, speed=17.0)
    record = switched(circuit, start=circuit.stretch(1).steady(0.4), events=((0.0, 1), (0.004, 3)), duration=0.03)
    pictures = {
        "torque": charts.torque_speed(example_motor, example_load, feeds, supply=230.0),
        "steps": charts.speed_and_power([("low <1>", 17.0, 12.4, 17.5, 12.0), ("full", 40.0, 75.0, None, None)]),
        "transient": charts.transient(record, until=0.03, currents=("branch 0", "branch 1")),
        "bands": charts.tolerance_bands([("1", 15.0, 17.0, 19.0, 16.0), ("2", 39.0, 40.0, 41.0, None)])}
    return {name: picture.svg(Medium.PAPER) for name, picture in pictures.items()}


def words(svg):
    return [text.text for text in ElementTree.fromstring(svg).iter(f"{SVG}text")]


def test_every_picture_is_well_formed_black_and_white_and_fits_a_phone(drawn):
    for svg in drawn.values():
        root = ElementTree.fromstring(svg)
        width = float(root.get("viewBox").split()[2])
        assert float(root.get("font-size")) * 360 / width >= 12.0          # letters at the width of a phone
        colours = set(re.findall(r"#[0-9a-f]{3,6}", svg))
        assert all(len(set(colour[1:])) == 1 for colour in colours)        # greys only
        assert root.find(f"{SVG}title").text
        for text in root.iter(f"{SVG}text"):
            assert 0.0 <= float(text.get("x")) <= width


def test_every_balance_is_a_dot_where_load_and_motor_meet(example_motor, example_load, feeds, drawn):
    dots = list(ElementTree.fromstring(drawn["torque"]).iter(f"{SVG}circle"))
    balances = sorted(float(speed) for _, series in feeds for speed in
                      operating_points(example_motor, example_load, supply=230.0, series_impedance=series).speed if np.isfinite(speed))
    xs = sorted(float(dot.get("cx")) for dot in dots)
    assert len(xs) == len(balances)
    scale = np.polyfit(balances, xs, 1)
    assert np.polyval(scale, balances) == pytest.approx(xs, abs=0.1)
    assert {"2.2 uF", "3.3 uF", "both", "direct", "load"} <= set(words(drawn["torque"]))


def test_an_unstable_balance_is_hollow(example_motor, example_load):
    single = replace(example_motor, auxiliary_open=True)
    svg = charts.torque_speed(single, replace(example_load, constant_torque=0.03), [("one winding", 0.0)], supply=230.0).svg()
    fills = [dot.get("fill") for dot in ElementTree.fromstring(svg).iter(f"{SVG}circle")]
    assert fills == [PAPER.light, INK.light]


def test_predicted_and_measured_are_both_shown(drawn):
    root = ElementTree.fromstring(drawn["steps"])
    assert {"low <1>", "162", "382", "12", "75", "bar: predicted; cross: measured"} <= set(words(drawn["steps"]))
    bars = [float(bar.get("height")) for bar in root.iter(f"{SVG}rect") if bar.get("fill") == RULE.printed]
    assert bars[1] / bars[0] == pytest.approx(40.0 / 17.0, rel=0.01)
    crosses = [path for path in root.iter(f"{SVG}path") if path.get("stroke-width") == f"{FEED:g}"]
    assert len(crosses) == 2


def test_the_transient_names_its_peaks(drawn):
    labels = [word for word in words(drawn["transient"]) if word and word.startswith("branch")]
    assert len(labels) == 2 and all(re.fullmatch(r"branch \d [\d.]+ A", label) for label in labels)
    assert "time [ms]" in words(drawn["transient"])


def test_the_bands_say_their_limits(drawn):
    low, high = 15.0 / RADIANS_PER_SECOND, 19.0 / RADIANS_PER_SECOND
    assert f"{low:.0f} to {high:.0f}" in words(drawn["bands"])
    assert "grey: 95 of 100; line: middle; cross: wanted" in words(drawn["bands"])
