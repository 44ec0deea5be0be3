import pytest

from pattress.finding import COMMON_PRACTICE
from pattress.sizing.mains import EN_50160, Mains


# docs/sources.md, E01 to E04: crests and upper corners of the world's systems.
@pytest.mark.parametrize(("voltage", "peak", "high", "crest"), [
    (230.0, 325.3, 253.0, 357.8), (120.0, 169.7, 132.0, 186.7), (220.0, 311.1, 242.0, 342.2), (100.0, 141.4, 110.0, 155.6),
])
def test_crests_and_corners(voltage, peak, high, crest):
    mains = Mains(voltage, 50.0)
    assert Mains(voltage, 50.0, tolerance=0.0).crest == pytest.approx(peak, abs=0.05)
    assert mains.high == pytest.approx(high)
    assert mains.crest == pytest.approx(crest, abs=0.05)


# docs/sources.md, E05.
def test_the_floor_of_en_50160():
    assert Mains(230.0, 50.0).low == pytest.approx(207.0)
    assert Mains(230.0, 50.0, tolerance=0.15).low == pytest.approx(195.5)


# docs/sources.md, E06.
@pytest.mark.parametrize(("frequency", "half_cycle"), [(50.0, 10e-3), (60.0, 8.333e-3)])
def test_half_cycles(frequency, half_cycle):
    assert Mains(230.0, frequency).half_cycle == pytest.approx(half_cycle, abs=0.5e-6)


def test_corners_in_words():
    assert Mains(230.0, 50.0).at_high == "mains 10 % high, 253 V"
    assert Mains(120.0, 60.0, 0.05).at_low == "mains 5 % low, 114 V"


# EN 50160 says 230 V +/-10 %, of public mains in Europe (digest in electrical-contractor.net). Until now 120 V +/-5 %
# of a job stood under its name.
@pytest.mark.parametrize(("mains", "source"), [
    (Mains(230.0, 50.0), EN_50160), (Mains(230.0, 50.0, 0.06), None),
    (Mains(120.0, 60.0, 0.05), None), (Mains(120.0, 60.0), COMMON_PRACTICE),
])
def test_the_tolerance_has_the_source_that_says_it(mains, source):
    assert mains.inputs[1].source == source
