"""Quantities as people write them, read into floats; the referee is pint's own default registry."""

import pint
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from pattress.quantity import NotAQuantity, OutOfRange, QuantityError, WrongUnit, parse, show
from pattress.quantity.compound import factor_between
from pattress.quantity.units import KINDS, SPELLINGS, WORDS

# A busy machine must not fail a test: no time limits.
unhurried = settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])

# How pint's default registry spells what we spell otherwise.
PINT_SPELLING = {"m2": "m**2", "mm2": "mm**2", "cm2": "cm**2", "sqmm": "mm**2", "qmm": "mm**2", "r/min": "rpm", "1/min": "rpm", "U/min": "rpm",
                 "min-1": "rpm", "mfd": "uF",
                 "A2 s": "A**2*s", "A2s": "A**2*s", "amp": "ampere", "amps": "ampere", "sec": "second", "": "dimensionless"}


@pytest.mark.parametrize("spelling", SPELLINGS)
def test_every_spelling_agrees_with_pint(spelling):
    unit = SPELLINGS[spelling]
    registry = pint.get_application_registry()
    written = registry.Quantity(1.0, PINT_SPELLING.get(spelling, spelling))
    if unit.base in ("degC", "rpm"):
        assert spelling in ("degC", "celsius", "rpm", "r/min", "1/min", "U/min", "min-1") and written.units == registry.Unit(unit.base)
    else:
        assert written.to(PINT_SPELLING.get(unit.base, unit.base)).magnitude == pytest.approx(
            unit.factor * 10.0**unit.exponent, rel=1e-12
        )


@pytest.mark.parametrize("written, unit, inside", [
    ("12.1 ohm/km", "ohm/m", 0.0121), ("0.2 kV A", "VA", 200.0), ("1200 A2 s", "A2 s", 1200.0),
    ("1.2 K/W", "K/W", 1.2), ("3 N m", "N m", 3.0), ("5 mA/mm2", "A/m2", 5000.0), ("0.5 W/cm2", "W/m2", 5000.0), ("0.5 K / mW", "K/W", 500.0),
])
def test_compound_units(written, unit, inside):
    assert parse(written, unit) == pytest.approx(inside, rel=1e-12)


@pytest.mark.parametrize("written", ["W/m", "/W", "W//m", "W**", "9**9**9", "m 9", "W" * 50, "W/", "foo bar", "m__2"])
def test_what_is_no_compound_unit_is_none(written):
    assert factor_between(written, "W") is None


@pytest.mark.parametrize("written, unit, inside", [
    ("75 W", "W", 75.0), ("75W", "W", 75.0), (" 75  W ", "W", 75.0), ("2.2kW", "W", 2200.0), ("2.2 KW", "W", 2200.0),
    ("2 200 W", "W", 2200.0), ("75 watts", "W", 75.0), ("1.5e3 W", "W", 1500.0), ("+5 W", "W", 5.0),
    ("2.2 uF", "F", 2.2e-6), ("2.2 µF", "F", 2.2e-6), ("2.2 μF", "F", 2.2e-6), ("2,2 uF", "F", 2.2e-6),
    ("0.75 mm²", "m2", 0.75e-6), ("0.75 mm2", "m2", 0.75e-6), ("1,5 mm2", "m2", 1.5e-6), ("0,750 mm^2", "m2", 0.75e-6),
    ("30 mA", "A", 0.03), ("6kA", "A", 6000.0), ("90 VA", "VA", 90.0), ("3 min", "s", 180.0), ("500 ms", "s", 0.5),
    ("10 %", "", 0.1), ("10%", "", 0.1), (0.1, "", 0.1), ("0.1", "", 0.1), (1, "", 1.0),
    ("30 °C", "degC", 30.0), ("-5 degC", "degC", -5.0), ("−5 degC", "degC", -5.0), ("30 C", "degC", 30.0),
    ("40 K", "K", 40.0), ("40 degC", "K", 40.0), ("350 rpm", "rpm", 350.0), ("350 1/min", "rpm", 350.0),
    ("1.234 W", "W", 1.234), ("0.100 W", "W", 0.1), ("1.50 W", "W", 1.5), ("1000.000 W", "W", 1000.0), ("350 U/min", "rpm", 350.0), ("350 min⁻¹", "rpm", 350.0), ("350 min-1", "rpm", 350.0), ("5 MFD", "F", 5e-6), ("1,5 qmm", "m2", 1.5e-6),
    ("20 ft", "m", 6.096), ("50 Hz", "Hz", 50.0), ("470 Ω", "ohm", 470.0), ("4.7 kΩ", "ohm", 4700.0),
    ("2 200 W", "W", 2200.0), (".5 A", "A", 0.5),
])
def test_what_people_write(written, unit, inside):
    assert parse(written, unit) == inside


# IEC 60062, letter and digit code (from memory).
@pytest.mark.parametrize("written, unit, inside", [
    ("2u2", "F", 2.2e-6), ("100n", "F", 100e-9), ("4p7", "F", 4.7e-12), ("2u2F", "F", 2.2e-6), ("4k7", "ohm", 4700.0),
    ("R47", "ohm", 0.47), ("4R7", "ohm", 4.7), ("2M2", "ohm", 2.2e6), ("10k", "ohm", 10e3), ("4k7 ohm", "ohm", 4700.0),
    ("4k7Ω", "ohm", 4700.0), ("2m2", "H", 2.2e-3), ("3V3", "V", 3.3), ("12V5", "V", 12.5),
])
def test_letter_and_digit_code(written, unit, inside):
    assert parse(written, unit) == inside


# ASTM B258 table of diameters, printed area in mm2 (from memory): 10, 12, 14, 16, 18 AWG.
@pytest.mark.parametrize("gauge, printed", [(10, 5.26), (12, 3.31), (14, 2.08), (16, 1.31), (18, 0.823)])
def test_american_wire_gauge(gauge, printed):
    assert parse(f"{gauge} AWG", "m2") == parse(f"AWG {gauge}", "m2") == pytest.approx(printed * 1e-6, abs=0.005e-6)


@pytest.mark.parametrize("written, unit, bounds, kind, words", [
    (75, "W", {}, NotAQuantity, 'found 75, a number without a unit\n  allowed: a power such as "75 W"'),
    ("75", "W", {}, NotAQuantity, "found '75', a number without a unit\n  allowed: a power such as \"75 W\""),
    ("75 kg", "W", {}, WrongUnit, "found '75 kg', a mass\n  allowed: a power such as \"75 W\""),
    ("75 VA", "W", {}, WrongUnit, "found '75 VA', an apparent power\n  allowed: a power such as \"75 W\""),
    ("75 wats", "W", {}, WrongUnit,
     "found '75 wats', whose unit is not known here\n  allowed: a power such as \"75 W\"\n  nearest: 75 watts"),
    ("5 mw", "W", {}, WrongUnit,
     "found '5 mw', whose unit is not known here\n  allowed: a power such as \"75 W\"\n  nearest: 5 mW or 5 MW"),
    ("1,500 W", "W", {}, NotAQuantity, "found '1,500 W', where the comma may mark thousands or decimals\n"
     "  allowed: a power such as \"75 W\"\n  nearest: 1500 W or 1.5 W"),
    ("2.000 W", "W", {}, NotAQuantity, "found '2.000 W', where the point may mark thousands or decimals\n"
     "  allowed: a power such as \"75 W\"\n  nearest: 2000 W or 2 W"),
    ("90 kW", "W", {"above": 0.0, "most": 20e3}, OutOfRange,
     "found '90 kW'\n  allowed: a power such as \"75 W\", above 0 W, at most 20 kW"),
    ("1.5 m2", "m2", {"most": 50e-6}, OutOfRange, "found '1.5 m2'\n  allowed: an area such as \"1.5 mm2\", at most 50 mm²"),
    (10, "", {"least": 0.0, "most": 0.2}, OutOfRange, 'found 10\n  allowed: a share such as "10 %", at least 0 %, at most 20 %'),
    ("75 °F", "degC", {}, WrongUnit, "found '75 °F', in Fahrenheit\n  allowed: a temperature such as \"30 degC\""),
    ("1e999 A", "A", {}, OutOfRange, "found '1e999 A', more than can be reckoned with\n  allowed: a current such as \"6 A\""),
    (True, "A", {}, NotAQuantity, 'found true\n  allowed: a current such as "6 A"'),
    ("nan A", "A", {}, NotAQuantity, "found 'nan A'\n  allowed: a current such as \"6 A\""),
    ("3 K", "ohm/m", {}, WrongUnit, "found '3 K', a temperature difference\n  allowed: a resistance of a length such as \"12.1 ohm/km\""),
    ("3 K", "W/m2", {}, WrongUnit, "found '3 K', a temperature difference\n  allowed: a quantity in W/m2 such as \"1 W/m2\""),
    ([], "A", {}, NotAQuantity, 'found an empty list\n  allowed: a current such as "6 A"'),
    (float("nan"), "", {}, OutOfRange, 'found nan, more than can be reckoned with\n  allowed: a share such as "10 %"'),
])
def test_the_words_of_a_refusal(written, unit, bounds, kind, words):
    with pytest.raises(kind) as caught:
        parse(written, unit, **bounds)
    assert type(caught.value) is kind and str(caught.value) == words


@pytest.mark.parametrize("written, unit, nearest", [
    ("2.2 kilowatt", "W", "2.2 kW"), ("2.2 Kilo-Watts", "W", "2.2 kW"), ("2.2 kwatt", "W", "2.2 kW"), ("2.2 kwat", "W", "2.2 kW"), ("2.2 killowat", "W", "2.2 kW"),
    ("2.2 killowatt", "W", "2.2 kW"), ("2.2e3 kilowatt", "W", "2.2e3 kW"), ("2,2 kilowatt", "W", "2,2 kW"), ("1.500 kilowatt", "W", "1500 kW or 1.5 kW"),
    ("1.500e3 W", "W", "1500e3 W or 1.5e3 W"), ("1,500", "", "1500 or 1.5"), ("1.500", "W", ""), ("1.500 kg", "W", ""),
    ("3 microfarad", "F", "3 uF"), ("3 micofarad", "F", ""), ("5 mmfd", "F", "5 pF"), ("30 milliamps", "A", "30 mA"), ("30 miliamps", "A", "30 mA"),
    ("3 megohm", "ohm", "3 Mohm"), ("5 mohn", "ohm", ""), ("20 msec", "s", "20 ms"), ("3 hrs", "s", "3 h"), ("230 VAC", "V", "230 V"),
    ("5 kWh", "W", ""), ("2 hp", "W", ""), ("5 mAh", "A", ""), ("60 rps", "rpm", ""), ("30 deg", "degC", ""), ("30 celcius", "degC", "30 celsius"),
    ("1 kK", "K", ""), ("10 sqcm", "m2", "10 cm2"), ("10 dm2", "m2", ""), ("10 permille", "", ""), ("5 megavolt", "V", ""), ("3 decimetre", "m", ""),
])
def test_what_is_proposed_for_a_unit_that_is_none(written, unit, nearest):
    with pytest.raises(QuantityError) as refused:
        parse(written, unit)
    assert refused.value.nearest == nearest


PREFIXES_SPELT = ("", "pico", "nano", "micro", "milli", "centi", "kilo", "mega", "giga")
LETTERS = "abcdefghijklmnopqrstuvwxyz"


@st.composite
def slipped(draw):
    """Return a unit spelt out, and the same as somebody may mistype it: other case, a space or hyphen, a plural, a letter wrong."""
    base = draw(st.sampled_from(["V", "A", "W", "ohm", "F", "H", "m", "s", "Hz", "J", "N"]))
    spelt, word = draw(st.sampled_from(PREFIXES_SPELT)), draw(st.sampled_from([word for word in WORDS[base] if len(word) > 1]))
    kind, plain = draw(st.sampled_from(("none", "out", "added", "replaced", "swapped"))), spelt + word
    at, letter = draw(st.integers(0, len(plain) - 2)), draw(st.sampled_from(LETTERS))
    typed = {
        "none": plain, "out": plain[:at] + plain[at + 1:], "added": plain[:at] + letter + plain[at:], "replaced": plain[:at] + letter + plain[at + 1:],
        "swapped": plain[:at] + plain[at + 1] + plain[at] + plain[at + 2:],
    }[kind]
    if kind == "none":
        typed = draw(st.sampled_from((typed, typed.capitalize(), spelt + " " * bool(spelt) + word, spelt + "-" * bool(spelt) + word)))
    return base, plain, typed, kind == "none"


def size(written, base):
    """Return how many of the base unit a unit is, by pint's default registry; None when it knows no such unit."""
    registry = pint.get_application_registry()
    try:
        return registry.Quantity(1.0, PINT_SPELLING.get(written, written)).m_as(base)
    except (pint.PintError, ValueError, AssertionError, TypeError):
        return None


@settings(unhurried, max_examples=300)
@given(slipped(), st.sampled_from(("2.2", "75", "0,5", "3e2")))
def test_a_proposal_never_changes_the_size_that_was_meant(slip, number):
    base, plain, typed, is_whole = slip
    assume(is_whole or size(typed, base) is None)              # what is a unit by itself is what was written
    try:
        parse(f"{number} {typed}", base)
    except QuantityError as refused:
        if refused.nearest:
            assert parse(refused.nearest, base) == pytest.approx(float(number.replace(",", ".")) * size(plain, base), rel=1e-9), refused.nearest
        else:
            assert not is_whole or not any(measured.base == base and measured.factor == 1 and 10.0**measured.exponent == pytest.approx(size(plain, base))
                                           for measured in SPELLINGS.values())


@unhurried
@given(st.text(max_size=70) | st.text("0123456789.,eEkmuWVAF²*^/ %+-", max_size=30), st.sampled_from(list(KINDS)))
def test_any_text_is_read_or_refused(text, unit):
    try:
        value = parse(text, unit)
    except QuantityError:
        return
    assert value == value and abs(value) != float("inf")


@unhurried
@given(st.floats(1e-9, 1e6), st.sampled_from([unit for unit in KINDS if unit]))
def test_what_is_shown_can_be_read_again(value, unit):
    assert parse(show(value, unit, 6), unit) == pytest.approx(value, rel=1e-5)
