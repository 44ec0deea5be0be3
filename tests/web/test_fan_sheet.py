"""The measuring form of the fan: what is typed is fitted at once, and the bands get narrower."""

import re
from contextlib import closing

import pytest

from pattress.drawing import Medium
from pattress.fan import report
from pattress.fan.design import revolutions
from pattress.web.design.measuring import MEANWHILE

from .reading import TELEPHONE, WIDE, complaints, fits
from .served_page import EXAMPLES, Serving

# Invented readings of the usual size, those of docs/fan.md.
READINGS = {"main_winding": "300 ohm", "auxiliary_winding": "315 ohm",
            "0.mains": "230 V", "0.power": "75 W", "0.apparent_power": "76 VA", "0.speed": "382 rpm",
            "1.mains": "230 V", "1.capacitor": "2.2 uF", "1.power": "12.4 W", "1.apparent_power": "34.5 VA", "1.speed": "163 rpm"}


def was(page):
    return re.search(r'name="was" value="([^"]*)"', page)[1].replace("&#34;", '"')


def design(served):
    return served.draft.now.design.results["fan_designs"]["ceiling"]


def measured(served):
    return served.draft.now.design.job.fan["ceiling"].measured


def test_the_more_is_typed_the_narrower_the_bands(served, client):
    page, width = client.get("/fan").text, [float((design(served).prediction.high - design(served).prediction.low)[0])]
    typed = {}
    for name, text in READINGS.items():
        typed[name] = text
        if name in ("auxiliary_winding", "0.speed", "1.speed"):
            page = client.post("/fan/ceiling", data={"do": "measure", "was": was(page), **typed}).text
            assert "Written; the motor was fitted anew." in page
    width.append(float((design(served).prediction.high - design(served).prediction.low)[0]))
    assert width[1] < width[0] / 3
    assert len(measured(served).readings) == 2 and measured(served).readings[1].capacitor == pytest.approx(2.2e-6)
    step, low, high = design(served).steps[0], design(served).prediction.low[0], design(served).prediction.high[0]
    assert f"<td>{revolutions(step.speed):.0f}</td><td>{revolutions(low):.0f} to {revolutions(high):.0f}</td>" in page
    assert "Motor, fitted to the readings" in page and "MKP" in page and "What to measure next" in page
    assert "# A sewing room. Invented" in served.file.read_text()
    client.post("/fan/ceiling", data={"do": "measure", "was": was(page)})              # all emptied
    assert measured(served).readings == () and "measured" not in served.draft.now.table["fan"]["ceiling"]


def test_a_slip_of_the_pen_is_named_beside_what_the_rest_gives(served, client):
    page = client.get("/fan").text
    typed = READINGS | {"2.mains": "230 V", "2.capacitor": "3.3 uF", "2.capacitor_tolerance": "measured", "2.regulator_gets": "a new one",
                        "2.power": "24 W", "2.apparent_power": "47.1 VA", "2.speed": "427 rpm", "both_windings": "615 ohm", "capacitance_meter": "1 %"}
    page = client.post("/fan/ceiling", data={"do": "measure", "was": was(page), **typed}).text
    assert "Written; the motor was fitted anew." in page
    assert "Readings beside the fit" in page and "disagrees, left out of the fit" in page and "<td>427 rpm</td>" in page
    found = {finding.id: finding for finding in served.draft.now.design.findings}
    assert found["fan_readings.ceiling"].verdict == "fails" and "Reading 3 (behind 3.3 uF) has 427 rpm" in found["fan_readings.ceiling"].detail
    reading = measured(served).readings[2]
    assert (reading.capacitor_tolerance, reading.regulator_gets, measured(served).capacitance_meter) == ("measured", "a new one", 0.01)
    client.post("/fan/ceiling", data={"do": "measure", "was": was(page), **typed, "2.speed": "247 rpm"})
    assert measured(served).readings[2].capacitor_tolerance == "measured" and measured(served).both_windings == 615.0      # what was not touched stays
    assert {finding.id: finding for finding in served.draft.now.design.findings}["fan_readings.ceiling"].verdict == "holds"


def test_the_drawings_show_the_bands_that_the_table_gives(unchanged):
    served, client = unchanged
    drawn = {name: picture.svg(Medium.PAGE) for name, picture in report.bands(design(served)).items()}
    for low, high in zip(design(served).prediction.low, design(served).prediction.high):
        assert f"{revolutions(low):.0f} to {revolutions(high):.0f}<" in drawn["speed"]
    assert all(svg in client.get("/fan").text for svg in drawn.values())
    closer = client.get("/fan/ceiling/closer").text
    assert "Other regulators at" in closer and "Single faults" in closer and "Torque and speed per step" in closer


def test_a_quick_typist_loses_nothing_and_another_hand_is_not_overwritten(served, client):
    first = was(client.get("/fan").text)
    client.post("/fan/ceiling", data={"do": "measure", "was": first, "main_winding": "300 ohm"})
    client.post("/fan/ceiling", data={"do": "measure", "was": first, "main_winding": "300 ohm", "auxiliary_winding": "315 ohm"})   # sent before the answer came
    assert (measured(served).main_winding, measured(served).auxiliary_winding) == (300.0, 315.0)
    other = client.post("/fan/ceiling", data={"do": "measure", "was": first, "main_winding": "400 ohm"})
    assert other.status_code == 409 and MEANWHILE in other.text and measured(served).main_winding == 300.0


@pytest.mark.parametrize(("form", "words"), [
    ({"main_winding": "300 V"}, "main_winding"),
    ({"main_winding": "-3 ohm"}, "main_winding"),
    ({"main_winding": "x" * 5000}, "too long for a quantity"),
    ({"main_winding": "<script>alert(1)</script>"}, "main_winding"),
    ({"0.speed": "380 rpm"}, "mains is missing"),
    ({"0.mains": "230 V", "0.power": "many"}, "power"),
    ({"0.mains": "\x00"}, "mains"),
    ({"was": "[" * 100_000, "main_winding": "1 V"}, "main_winding"),
    ({"was": "7", "main_winding": "1 V"}, "main_winding"),
])
def test_what_cannot_be_is_said_at_the_form_and_nothing_is_written(unchanged, form, words):
    served, client = unchanged
    before = served.file.read_bytes()
    answer = client.post("/fan/ceiling", data={"do": "measure", "was": "{}", **form})
    assert answer.status_code == 422 and words in answer.text and "<script>alert" not in answer.text
    assert served.file.read_bytes() == before


def test_a_fan_that_is_not_there(tmp_path, client):
    assert client.get("/fan/nothing").status_code == 404
    assert client.post("/fan/nothing", data={"do": "measure"}).status_code == 404
    file = tmp_path / "none" / "job.toml"
    file.parent.mkdir()
    file.write_bytes((EXAMPLES / "garden-workshop" / "job.toml").read_bytes())
    with Serving(file) as page, closing(page.client()) as other:
        answer = other.get("/fan")
        assert answer.status_code == 200 and "This job has no ceiling fan." in answer.text


@pytest.mark.parametrize(("width", "scheme"), [(WIDE, "light"), (TELEPHONE, "dark")])
def test_a_field_is_fitted_as_soon_as_it_is_left(served, tab, width, scheme):
    here = tab("/fan", width=width, color_scheme=scheme)
    assert complaints(here) == [] and fits(here)
    here.page.get_by_label("Main winding").fill("300 ohm")
    here.page.get_by_label("Main winding").press("Tab")
    here.page.get_by_text("Written; the motor was fitted anew.").wait_for()
    assert measured(served).main_winding == 300.0
    assert here.page.evaluate("document.activeElement.id") == "m-auxiliary_winding"
    here.page.get_by_label("Auxiliary winding").fill("much")
    here.page.get_by_label("Auxiliary winding").press("Tab")
    here.page.get_by_role("alert").filter(has_text="auxiliary_winding").wait_for()
    assert here.page.get_by_label("Auxiliary winding").input_value() == "much"
    here.complaints[:] = [words for words in here.complaints if "422" not in words]        # the browser notes the refusal itself
    assert complaints(here) == [] and fits(here) and here.is_quiet(), here.complaints


def test_no_number_or_word_of_a_table_is_broken_on_a_telephone(tab):
    page = tab("/fan/ceiling/closer", width=TELEPHONE).page
    broken = page.evaluate("""() => [...document.querySelectorAll('.wide-table th, .wide-table td')].filter(cell => /^\\S+$/.test(cell.innerText.trim()))
        .filter(cell => { const range = document.createRange(); range.selectNodeContents(cell); return range.getClientRects().length > 1 }).map(cell => cell.innerText)""")
    assert broken == [] and page.locator(".wide-table td").count() > 50


def test_the_motor_is_told_in_units_and_its_relays_as_in_the_wiring(unchanged):
    served, client = unchanged
    closer = client.get("/fan/ceiling/closer").text
    core = next(one for one in design(served).fit.parameters if one.name == "core_resistance")
    assert f"<td>{core.value / 1e3:.2f} kohm</td>" in closer and " N m s2</td>" in closer and "e+0" not in closer
    assert "through K6 " in closer and "through K7 " in closer and "branch" not in closer and "<td>K6 + K7</td>" in closer


def test_without_script_the_button_writes(served, tab):
    bare = tab("/fan", java_script_enabled=False)
    bare.page.get_by_label("Main winding").fill("300 ohm")
    bare.page.get_by_role("button", name="Write and fit").click()
    assert measured(served).main_winding == 300.0
