"""How well a reading's capacitor is known: its words are as good as those of any other key."""
import pytest

from pattress.job import JobError
from tests.sizing.invented import fan_text, make_job


def reading(**fields):
    text = ", ".join(f'{name} = "{value}"' for name, value in {"mains": "230 V", "capacitor": "2.2 uF", "speed": "163 rpm", **fields}.items())
    return make_job(fan_text() + f"measured = {{ readings = [{{ {text} }}] }}\n").fan["ceiling"].measured.readings[0]


@pytest.mark.parametrize("written, read", [("5 %", 0.05), ("10%", 0.10), ("measured", "measured"), ("unknown", "unknown"), ("0 %", 0.0)])
def test_a_tolerance_is_a_share_or_a_word(written, read):
    assert reading(capacitor_tolerance=written).capacitor_tolerance == read


def test_what_is_left_out_is_as_printed_on_a_run_capacitor():
    assert reading().capacitor_tolerance == 0.05 and reading().regulator_gets == "a new one"


@pytest.mark.parametrize("key, written, found, allowed, nearest", [
    ("capacitor_tolerance", "mesured", "'mesured'", 'a share such as "10 %", at least 0 %, at most 20 %, or "measured" or "unknown"', "measured"),
    ("capacitor_tolerance", "unkown", "'unkown'", 'a share such as "10 %", at least 0 %, at most 20 %, or "measured" or "unknown"', "unknown"),
    ("capacitor_tolerance", "30 %", "'30 %'", 'a share such as "10 %", at least 0 %, at most 20 %, or "measured" or "unknown"', ""),
    ("capacitor_tolerance", "5 uF", "'5 uF', a capacitance", 'a share such as "10 %", at least 0 %, at most 20 %, or "measured" or "unknown"', ""),
    ("regulator_gets", "that one", "'that one'", "a new one, this one", "this one"),
])
def test_a_slip_says_what_is_allowed_and_what_is_nearest(key, written, found, allowed, nearest):
    with pytest.raises(JobError) as caught:
        reading(**{key: written})
    problem, = caught.value.problems
    assert problem.key.endswith(f"fan.ceiling.measured.readings.{key}")
    assert (problem.found, problem.allowed, problem.nearest) == (found, allowed, nearest)
