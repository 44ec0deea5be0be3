"""How long an input must keep still before it is believed, and how long a press is held or waits."""

from importlib.resources import files
from tomllib import loads
from typing import get_args

import pytest

from pattress.design.defaults import default_ms, settle_ms
from pattress.job.model import Input

KINDS = get_args(Input.model_fields["kind"].annotation)


def test_each_kind_has_its_time():
    assert {kind: settle_ms(kind) for kind in KINDS} == {
        "door": 50, "window": 50, "presence": 50, "float": 5000, "leak": 1000, "switch": 50, "other": 50}


def test_the_table_has_the_kinds_of_the_job_file_and_a_reason_for_each():
    rows = loads(files("pattress.design").joinpath("defaults.toml").read_text("utf-8"))["input"]
    assert set(rows) == set(KINDS) and all(row["why"] for row in rows.values())


def test_a_kind_that_no_input_has_is_an_error():
    with pytest.raises(KeyError, match="^'flood'$"):
        settle_ms("flood")


@pytest.mark.parametrize("how, key", [("held", "held"), ("twice", "again")])
def test_the_form_of_a_switch_names_the_times_of_its_presses(how, key):
    words = loads(files("pattress.web.job").joinpath("words.toml").read_text("utf-8"))["Switch"][how][1]
    assert f"{default_ms('press', key) / 1000:g} s" in words
