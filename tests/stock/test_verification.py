"""Tests of a residual-current device by country, against what was read of each country's rules."""

import pytest

from pattress.stock.verification import operating_times, verification

# Digest of the Electricity (Safety) Regulations 2010 of New Zealand, 24(3), by avo.co.nz, testing tips 2: not within 300 ms at the rated
# residual current, not within 40 ms at five times, or tripping at or below half is electrically unsafe.
NEW_ZEALAND = [(0.5, None), (1.0, 0.3), (5.0, 0.04)]
# J. Belzer on elektrofachkraft.de, July 2020: DIN VDE 0100-600:2017-06, between half and once the rated current, 300 ms at once.
GERMANY = [(0.5, None), (1.0, 0.3)]
# A testing firm's page (ausitesttag.com.au): each test begun at 0 and at 180 degrees.
AUSTRALIA = [(1.0, 0.3)]


@pytest.mark.parametrize("country, steps, both", [("NZ", NEW_ZEALAND, True), ("DE", GERMANY, False), ("AU", AUSTRALIA, True)])
def test_the_steps_are_those_of_the_rules_that_were_read(country, steps, both):
    found = verification(country)
    assert [(step.times, step.within) for step in found.steps] == steps and found.both_half_waves is both and found.is_known and found.source.read


def test_at_once_the_rated_current_every_country_has_the_time_of_the_product_standard():
    """IEC 61008-1, general type: 300 ms at once and 40 ms at five times the rated residual current (HT Instruments, manual of the 400 series, p. DE-74)."""
    for country in ("GB", "NZ", "AU", "DE", "FR"):
        assert {step.within for step in verification(country).steps if step.times == 1.0} == {0.3}
    assert operating_times().read and "40 ms at five times" in str(operating_times())


@pytest.mark.parametrize("country", ["FR", "unknown"])
def test_a_country_of_which_nothing_is_known_is_tested_once_and_told(country):
    found = verification(country)
    assert not found.is_known and [(step.times, step.within) for step in found.steps] == [(1.0, 0.3)] and found.standard == "IEC 60364-6"
    assert found.worded("the distribution board") == "the distribution board"


def test_words_of_the_trade_change_at_the_beginning_of_a_line_too():
    said = verification("NZ").worded
    assert said("Protective conductor of feed a: bar of the distribution board") == "Protective earthing conductor of feed a: bar of the switchboard"
    assert verification("US").steps == () and verification("US").worded("Residual-current device") == "Ground-fault circuit interrupter"
