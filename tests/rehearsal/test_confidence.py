"""The interval of a mean: Student's t against its tables, and how often it holds the truth on synthetic households."""

from random import Random

import pytest
from scipy.special import stdtrit

from pattress.rehearsal.confidence import Mean, mean, student_quantile

# Two-sided 95 % points of Student's t by degrees of freedom, as every table of it prints them (from memory).
TABLE = [(1, 12.706), (2, 4.303), (3, 3.182), (4, 2.776), (5, 2.571), (9, 2.262), (10, 2.228), (19, 2.093), (30, 2.042), (60, 2.000), (120, 1.980)]


@pytest.mark.parametrize("freedom, printed", TABLE)
def test_quantile_as_printed(freedom, printed):
    assert student_quantile(freedom, 0.95) == pytest.approx(printed, abs=0.0005)


@pytest.mark.parametrize("freedom", [1, 2, 3, 7, 40, 199])
@pytest.mark.parametrize("share", [0.5, 0.9, 0.99])
def test_quantile_agrees_with_an_independent_implementation(freedom, share):
    assert student_quantile(freedom, share) == pytest.approx(stdtrit(freedom, (1 + share) / 2), rel=1e-9)


def test_mean_and_its_interval_as_worked_on_paper():
    """2, 4, 6: mean 4, s = 2, s / sqrt 3 = 1.1547; t of 2 degrees of freedom is 4.303."""
    found = mean([2.0, 4.0, 6.0])
    assert found.value == 4.0
    assert (found.low, found.high) == pytest.approx((4 - 4.303 * 1.1547, 4 + 4.303 * 1.1547), abs=0.001)
    assert mean([5.0]) == Mean(5.0, None, None)
    with pytest.raises(ValueError, match="^values must be at least one household, found none$"):
        mean([])


@pytest.mark.parametrize("households", [3, 8, 30, 200])
def test_it_holds_the_true_mean_about_as_often_as_it_says_for_homes_as_they_are_drawn(households):
    """Lognormal with the spread of `habits.HOMES_DIFFER`, true mean 1. Skewed, so a little less than 95 %."""
    rng, trials = Random(4), 1500
    kept = 0
    for _ in range(trials):
        found = mean([rng.lognormvariate(-0.4**2 / 2, 0.4) for _ in range(households)])
        kept += found.low <= 1.0 <= found.high
    assert 0.915 <= kept / trials <= 0.965      # 95 %, up to three points lost to skew; 1500 trials spread by 0.6 points
