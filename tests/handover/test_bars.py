"""The bar beside a finding says on which side of the stroke it is good, in its drawing and in words."""

import re
from dataclasses import replace

import pytest

from pattress.finding import Figure, Finding, Sense, Verdict
from pattress.handover.bars import bar_of

FOUND = Finding("contacts.lamp", "Does it?", "load.lamp", Verdict.HOLDS, Figure(4.0, "A"), Figure(8.0, "A"), Sense.AT_MOST)


def test_at_most_is_good_on_the_left_and_at_least_on_the_right():
    most, least = bar_of(FOUND), bar_of(replace(FOUND, sense=Sense.AT_LEAST))
    assert (most.value, most.limit, most.good, most.side) == (80.0, 160.0, (0.0, 160.0), "good: left of the stroke")
    assert (least.value, least.limit, least.good, least.side) == (80.0, 160.0, (160.0, 40.0), "good: right of the stroke")
    assert most.words == "50 % of the limit; good: left of the stroke"


@pytest.mark.parametrize("sense", Sense)
@pytest.mark.parametrize("share", [0.0, 0.3, 0.99, 1.01, 1.2, 7.0])
def test_the_end_of_the_filling_lies_on_the_good_side_just_when_the_limit_is_kept(sense, share):
    bar = bar_of(replace(FOUND, value=Figure(8.0 * share, "A"), sense=sense))
    start, width = bar.good
    assert (start <= bar.value <= start + width) == ((share <= 1) if sense is Sense.AT_MOST else (share >= 1))


def test_it_is_printed_with_the_good_side_underlined_and_named():
    printed = bar_of(FOUND).__html__()
    assert re.search(r'<rect class="good" x="0" y="11" width="160"', printed) and "<small>good: left of the stroke</small>" in printed
    assert "<title>50 % of the limit</title>\n<desc>good: left of the stroke</desc>" in printed


@pytest.mark.parametrize("found", [replace(FOUND, limit=Figure(0.0, "A")), replace(FOUND, limit=None), replace(FOUND, value=None)])
def test_no_bar_where_a_share_makes_no_sense(found):
    assert bar_of(found) is None
