"""The pipeline runs each stage once, in order, and again only when something it needs has changed."""

import pytest

from pattress.design.stages import Stage, run


def _doubled(length):
    return 2 * length


def _area(doubled, width):
    return doubled * width


STAGES = (Stage("doubled", _doubled), Stage("area", _area))


def test_a_stage_needs_what_its_parameters_name():
    assert STAGES[1].needs == ("doubled", "width")


def test_results_hold_what_was_given_and_every_stage():
    assert run(STAGES, {"length": 3, "width": 5}) == {"length": 3, "width": 5, "doubled": 6, "area": 30}


@pytest.mark.parametrize(
    "given, ran_again",
    [
        ({"length": 3, "width": 5}, []),
        ({"length": 3, "width": 6}, ["area"]),
        ({"length": 4, "width": 5}, ["doubled", "area"]),
    ],
)
def test_only_stages_with_changed_inputs_run_again(given, ran_again):
    earlier = run(STAGES, {"length": 3, "width": 5})
    seen = []
    assert run(STAGES, given, earlier, seen.append) == run(STAGES, given)
    assert seen == ran_again


def test_an_equal_result_stops_the_change():
    stages = (Stage("rounded", lambda length: round(length)), Stage("area", lambda rounded: rounded * 7))
    earlier = run(stages, {"length": 3.1})
    seen = []
    run(stages, {"length": 2.9}, earlier, seen.append)
    assert seen == ["rounded"]


def test_a_missing_need_is_an_error():
    with pytest.raises(KeyError, match="width"):
        run(STAGES, {"length": 3})
