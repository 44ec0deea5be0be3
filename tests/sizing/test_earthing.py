
from pattress.finding import Figure, Verdict
from pattress.sizing.earthing import findings

from .invented import by_id, make_job

BOX = 'enclosure = {{ width = "200 mm", height = "150 mm", depth = "80 mm", material = "{}" }}'


def answers(**changed):
    return by_id(findings(make_job(**changed)))


def test_boxes():
    assert answers()["earthing.box"].verdict is Verdict.UNKNOWN
    assert answers(site=BOX.format("plastic"))["earthing.box"].verdict is Verdict.HOLDS
    metal = answers(site=BOX.format("painted steel"))["earthing.box"]
    assert metal.verdict is Verdict.TIGHT
    assert metal.detail == "A metal box must be bonded to the protective conductor, with its own screw and washer."


# IEC 60364-6 table 6.1: 500 V and 1.0 Mohm for circuits up to 500 V.
def test_dead_tests_are_told_and_not_judged():
    found = answers()["insulation_test.mains"]
    assert found.limit == Figure(1e6, "ohm")
    assert (found.verdict, found.value, found.safety) == (Verdict.UNKNOWN, None, False)
    assert found.formula == "at least 1 Mohm at 500 V DC"
