from pathlib import Path
from time import monotonic
from typing import get_args

import pytest

from pattress.finding import Figure, Source
from pattress.job.model import LoadKind
from pattress.stock.kinds import KINDS
from pattress.stock.loads import behaviour
from pattress.stock.parts import load_parts, read_parts
from pattress.stock.record import StockError

OWN = """\
[sources.sheet]
title = "EXR-10 series datasheet"
edition = "rev. C, 2021"
read = true

[[part]]
designation = "EXR-10-05"            # invented
kind = "relay"
[part.figures]
rated_current = { value = "10 A", at = "250 V AC, resistive, 85 degC", source = "sheet", where = "p. 2" }
making_current = { value = "unknown", why = "the sheet gives no lamp or inrush figure" }
coil_voltage = { value = "5 V", source = "sheet" }
coil_resistance = { value = "70 ohm", at = "20 degC, +/- 10 %", source = "sheet", where = "p. 3" }
operate_voltage = { value = "3.5 V", source = "sheet" }
"""


def test_a_figure_carries_condition_and_source():
    part = read_parts(OWN, "own.toml")["EXR-10-05"]
    shown = part.input("rated_current")
    assert (shown.name, shown.figure, shown.origin) == (
        "rated current", Figure(10.0, "A"), "EXR-10-05, 250 V AC, resistive, 85 degC"
    )
    assert shown.source == Source("EXR-10 series datasheet, rev. C, 2021", "p. 2", True)


def test_unknown_is_a_value_with_a_reason():
    part = read_parts(OWN, "own.toml")["EXR-10-05"]
    assert part.known("making_current") is None
    assert part.input("making_current").figure == "unknown"
    with pytest.raises(StockError, match=r"^EXR-10-05 has no making current: the sheet gives no lamp or inrush figure$"):
        part.value("making_current")
    with pytest.raises(StockError, match=r"^EXR-10-05 has no creepage: the record gives none$"):
        part.value("creepage")


def test_a_figure_no_such_part_can_have_is_a_mistake_of_ours():
    with pytest.raises(KeyError, match="a relay has no figure 'colour'"):
        read_parts(OWN, "own.toml")["EXR-10-05"].known("colour")


def test_the_persons_own_file_comes_first_and_wins(tmp_path):
    own = tmp_path / "own.toml"
    own.write_text(OWN + OWN.partition("[[part]]")[1] + OWN.partition("[[part]]")[2].replace("EXR-10-05", "RT314005"))
    parts = load_parts(own)
    assert [part.designation for part in parts.of("relay")][:2] == ["EXR-10-05", "RT314005"]
    assert parts["RT314005"].value("rated_current") == 10.0
    assert len(parts) == len(load_parts()) + 1
    assert load_parts()["RT314005"].value("rated_current") == 16.0
    assert (parts.replaced, load_parts().replaced) == (("RT314005",), ())


FAULTS = {
    "a missing unit": (
        '"70 ohm"', '"70"',
        "own.toml:13: EXR-10-05.coil_resistance is '70', a number without a unit\n"
        '  allowed: a resistance such as "4.7 kohm"',
    ),
    "a mistyped figure": (
        "making_current =", "makeing_current =",
        "own.toml:11: EXR-10-05.makeing_current is no figure of a relay\n"
        "  allowed: rated_current, rated_voltage, inductive_current, motor_current, making_current, "
        "making_current_short, making_current_long, coil_voltage, coil_resistance, coil_tolerance, operate_voltage, "
        "release_voltage, operate_time, release_time, bounce_time, endurance, endurance_light, light_current, "
        "lamp_endurance, lamp_current, ambient_most, contact_resistance, minimum_power, withstand_voltage, clearance, creepage, "
        "insulation, making_with, making_shorter\n"
        "  nearest: making_current",
    ),
    "a kind we do not have": (
        '"relay"', '"rely"',
        "own.toml:8: EXR-10-05.kind is 'rely'\n"
        "  allowed: relay, driver, optocoupler, diode, supply, regulator, capacitor, fuse, varistor, contactor, inrush limiter, terminal\n"
        "  nearest: relay",
    ),
    "a source that is not there": (
        'source = "sheet", where = "p. 2"', 'source = "shet"',
        "own.toml:10: EXR-10-05.rated_current is source 'shet'\n  allowed: sheet\n  nearest: sheet",
    ),
    "an unknown without a reason": (
        ', why = "the sheet gives no lamp or inrush figure"', "",
        "own.toml:11: EXR-10-05.making_current is unknown without a reason\n"
        '  allowed: why = "what the sheet does not say"',
    ),
    "a figure it cannot do without": (
        'operate_voltage = { value = "3.5 V", source = "sheet" }\n', "",
        "own.toml:6: EXR-10-05.operate_voltage is missing\n"
        "  allowed: a relay needs rated_current, coil_voltage, coil_resistance, operate_voltage",
    ),
    "a key of a figure": (
        'where = "p. 3"', 'page = "3"',
        "own.toml:13: EXR-10-05.coil_resistance is a table with the key 'page'\n  allowed: value, at, source, where, why",
    ),
    "a source without read": (
        "read = true", 'read = "yes"',
        "own.toml:4: sources.sheet.read is 'yes'\n  allowed: true when the source was read, false when from memory",
    ),
    "a part without a name": (
        'designation = "EXR-10-05"', "designation = 7",
        "own.toml:7: part 1.designation is 7\n  allowed: the type as printed on the case, at most 60 characters",
    ),
}


@pytest.mark.parametrize("written, wrong, said", [
    ('"10 A"', '"1e308 A"', "own.toml:10: EXR-10-05.rated_current is '1e308 A'\n  allowed: from 0.001 uA to 100 kA, as such figures are"),
    ('"10 A"', '"-16 A"', "own.toml:10: EXR-10-05.rated_current is '-16 A'\n  allowed: from 0.001 uA to 100 kA, as such figures are"),
    ('"10 A"', '"0 A"', "own.toml:10: EXR-10-05.rated_current is '0 A'\n  allowed: from 0.001 uA to 100 kA, as such figures are"),
    ('"EXR-10-05"', f'"{"x" * 1900}"', f"own.toml:7: part 1.designation is '{'x' * 57}...'\n  allowed: the type as printed on the case, at most 60 characters"),
    ('"EXR-10-05"', '"\\u3164"', "own.toml:7: part 1.designation is '\\u3164'\n  allowed: the type as printed on the case, at most 60 characters"),
    ('"EXR-10-05"', '"\\u001b[31mX"', "own.toml:7: part 1.designation is '\\x1b[31mX'\n  allowed: the type as printed on the case, at most 60 characters"),
    ('"250 V AC, resistive, 85 degC"', '"\\u202e"', "own.toml:10: EXR-10-05.rated_current is a figure whose 'at' is '\\u202e'\n"
                                                      "  allowed: a text in quotes on one line, at most 300 characters"),
    ("rated_current =", '"\\u001b[2J" =', "own.toml:6: EXR-10-05.'\\x1b[2J' is no figure of a relay"),
    ('"relay"', "[]", "own.toml:8: EXR-10-05.kind is an empty list"),
])
def test_figures_and_names_that_no_part_has_are_refused(written, wrong, said):
    with pytest.raises(StockError) as refused:
        read_parts(OWN.replace(written, wrong, 1), "own.toml")
    assert str(refused.value).startswith(said)


def test_as_many_parts_as_a_file_may_hold_are_read_at_once_and_five_thousand_are_refused(tmp_path):
    head, _, part = OWN.partition("[[part]]")
    small = "[[part]]\ndesignation = 'T%d'\nkind = 'terminal'\n[part.figures]\n" + "".join(
        f"{name} = {{ value = '{value}', source = 'sheet' }}\n" for name, value in (("section_most", "4 mm2"), ("rated_current", "24 A")))
    begun = monotonic()
    assert len(read_parts(head + "".join(small % number for number in range(1400)), "own.toml")) == 1400
    assert monotonic() - begun < 5
    (tmp_path / "own.toml").write_text(head + "".join(small % number for number in range(5000)))
    with pytest.raises(StockError, match="it is larger than any parts file\n  allowed: at most 256 KiB$"):
        load_parts(tmp_path / "own.toml")


@pytest.mark.parametrize("fault", FAULTS)
def test_an_error_names_file_line_and_key(fault):
    written, wrong, said = FAULTS[fault]
    assert written in OWN
    with pytest.raises(StockError) as refused:
        read_parts(OWN.replace(written, wrong, 1), "own.toml")
    assert str(refused.value) == said


def test_what_is_no_toml_names_the_line():
    with pytest.raises(StockError, match=r"^own\.toml:6: .*\n  allowed: a TOML file$"):
        read_parts(OWN.replace("[[part]]", "[[part]"), "own.toml")


def test_a_file_that_is_not_there(tmp_path):
    with pytest.raises(StockError, match="it is not there\n  allowed: the path of a parts file$"):
        load_parts(tmp_path / "none.toml")


def test_a_file_of_another_encoding_names_the_byte_and_a_byte_order_mark_is_read(tmp_path):
    (tmp_path / "own.toml").write_bytes(b"# one\n# Gr\xf6sse\n")
    with pytest.raises(StockError, match=r"own\.toml:2: the byte 0xf6 is no text here\n  allowed: a file saved as UTF-8$"):
        load_parts(tmp_path / "own.toml")
    (tmp_path / "own.toml").write_text(OWN, "utf-8-sig")
    assert "EXR-10-05" in load_parts(tmp_path / "own.toml")


def test_the_same_part_twice():
    twice = OWN + "".join(OWN.partition("[[part]]")[1:])
    with pytest.raises(StockError, match=r"^own\.toml:16: part 2\.designation is 'EXR-10-05' a second time\n"):
        read_parts(twice, "own.toml")


def test_a_part_that_is_not_in_stock_names_the_nearest():
    with pytest.raises(StockError, match=r"^no part 'RT31405' in stock\n  nearest: RT314005$"):
        load_parts()["RT31405"]


@pytest.mark.parametrize("part", load_parts(), ids=lambda part: part.designation)
def test_every_shipped_figure_is_finite_and_sourced_or_says_why_not(part):
    for name, rating in part.figures.items():
        if rating.value is None:
            assert rating.why, name
        else:
            assert rating.source is not None and rating.source.title, name
            assert isinstance(rating.value, str) or 0 < rating.value < 1e9, name


def test_every_kind_of_part_is_shipped():
    assert {part.kind for part in load_parts()} == set(KINDS)


# Facts of the sheets that decide a build (RT1 Inrush rev. 0415; RT Inrush Power rev. 0119; T9A rev. 0815).
@pytest.mark.parametrize(("designation", "figure", "printed"), [
    ("RT33L005", "making_current", 80.0), ("RTS3T005", "making_current_short", 800.0), ("RTS3L005", "making_current", 120.0),
    ("RT314005", "making_current_long", 30.0), ("RT314005", "operate_voltage", 3.5), ("T9AS1D12-5", "motor_current", 22.0),
    ("G5LE-1A DC5", "coil_resistance", 63.0), ("SRD-05VDC-SL-A", "withstand_voltage", 1500.0),
])
def test_shipped_figures_are_those_of_the_sheets(designation, figure, printed):
    part = load_parts()[designation]
    assert part.value(figure) == printed
    assert part.source(figure).read


def test_coil_powers_are_those_the_sheets_print():
    parts = load_parts()
    power = {p.designation: p.value("coil_voltage") ** 2 / p.value("coil_resistance") for p in parts.of("relay")}
    assert power["RT314005"] == pytest.approx(0.403, abs=0.001)      # RT1: 403 mW
    assert power["T9AS1D12-5"] == pytest.approx(1.0)                 # T9A code D: 1 W
    assert power["G5LE-1A DC5"] == pytest.approx(0.400, abs=0.005)   # about 400 mW
    assert 5.0 / parts["G5LE-1A DC5"].value("coil_resistance") == pytest.approx(79.4e-3, abs=0.1e-3)


@pytest.mark.parametrize("kind", [*get_args(LoadKind), "permanent split capacitor", "shaded pole",
                                  "electronically commutated", "unknown"])
def test_every_load_of_a_job_has_a_behaviour(kind):
    found = behaviour(kind)
    surge = found.surge(power=10.0, current=10.0 / 230.0, voltage=230.0)
    assert 10.0 / 230.0 <= surge.least <= surge.most and surge.rule
    assert 0 < found.power_factor <= 1
    assert found.rectifies in ("yes", "no", "perhaps")


# Cautions for Use of Solid State Relays, ASCTB400E, 2020-03: inrush table.
@pytest.mark.parametrize(("kind", "least", "most"), [
    ("resistive heater", 1, 1), ("tungsten lamp", 10, 15), ("motor", 5, 10), ("solenoid", 10, 20),
])
def test_inrush_multiples_are_those_of_the_cautions(kind, least, most):
    assert (behaviour(kind).multiples.least, behaviour(kind).multiples.most) == (least, most)


def test_the_records_lie_beside_the_package():
    assert (Path(__file__).parents[2] / "src/pattress/stock/parts/relays.toml").is_file()
