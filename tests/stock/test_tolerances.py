"""Parts that stray further than their sheets say."""

import pytest

from pattress.stock.parts import load_parts
from pattress.stock.tolerances import TOLERANCES, straying


def test_every_known_tolerance_is_so_many_times_as_large_and_nothing_else_changes():
    stock = load_parts()
    wide, seen = straying(stock, 2.0), set()
    assert list(wide.by_designation) == list(stock.by_designation)
    for part in stock:
        for name, rating in part.figures.items():
            other = wide[part.designation].figures[name]
            if name in TOLERANCES and isinstance(rating.value, float):
                assert other.value == 2.0 * rating.value and other.at.endswith("taken 2 times") and other.source == rating.source
                seen.add(name)
            else:
                assert other == rating
    assert seen == set(TOLERANCES)
    assert straying(stock, 1.0)["RT314005"].known("coil_tolerance") == stock["RT314005"].known("coil_tolerance")


def test_an_unknown_tolerance_stays_unknown():
    unknown = [part.designation for part in load_parts() if "tolerance" in part.figures and part.known("tolerance") is None]
    assert unknown and all(straying(load_parts(), 3.0)[name].known("tolerance") is None for name in unknown)


@pytest.mark.parametrize("times", [-1.0, float("nan"), float("inf")])
def test_a_share_that_is_none_is_refused(times):
    with pytest.raises(ValueError, match=r"^times must be zero or more and finite, found "):
        straying(load_parts(), times)
