"""Pin facts and limits of the boards against the sheets they were read in."""

import tomllib
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pattress.design import design_of
from pattress.job import load
from pattress.pins.assign import assign
from pattress.pins.demands import CONTACT, RELAY, Demand
from pattress.pins.findings import findings
from pattress.repeat.publishing import board_text
from pattress.sizing.questions import answers
from pattress.stock.board_reading import BOUNDS, FIGURES, USUAL_BOUNDS
from pattress.stock.boards import FOLDER, load_boards, nearest_type, read_board
from pattress.stock.parts import load_parts
from pattress.stock.record import StockError

EXAMPLE = Path(__file__).parents[2] / "examples" / "garden-workshop" / "job.toml"

BOARDS = load_boards()

# Espressif, ESP Hardware Design Guidelines (July 2026), IO tables, and ESP32 Series Datasheet, table 3:
# GPIO, output, own pull-up, ADC unit, state while starting, level a normal start needs.
ESP32 = [
    (0, True, True, 2, "weak high", "high"), (2, True, True, 2, "weak low", "any"), (4, True, True, 2, "weak low", None),
    (12, True, True, 2, "weak low", "low"), (13, True, True, 2, "weak low", None), (15, True, True, 2, "weak high", "any"),
    (18, True, True, 0, "floating", None), (25, True, True, 2, "floating", None), (32, True, True, 1, "floating", None),
    (34, False, False, 1, "floating", None), (39, False, False, 1, "floating", None),
]
# The same guidelines, ESP32-C3 table; the ESP32-C3 book, section 5.2.6, for GPIO9.
ESP32_C3 = [
    (0, True, True, 1, "floating", None), (2, True, True, 1, "floating", "high"), (5, True, True, 2, "floating", None),
    (6, True, True, 0, "weak high", None), (8, True, True, 0, "floating", "any"), (9, True, True, 0, "weak high", "high"),
    (20, True, True, 0, "weak high", None), (21, True, True, 0, "driven high", None),
]
# The same guidelines, ESP32-S3 table.
ESP32_S3 = [
    (0, True, True, 0, "weak high", "high"), (1, True, True, 1, "floating", None), (10, True, True, 1, "floating", None),
    (18, True, True, 2, "floating", None), (45, True, True, 0, "weak low", "low"), (46, True, True, 0, "weak low", "low"),
]
# Raspberry Pi Pico SDK 2.2.0, pads_bank0: reset values 0x56 (RP2040) and 0x116 (RP2350), pull-down on.
RP2040 = [(0, True, True, 0, "weak low", None), (22, True, True, 0, "weak low", None), (28, True, True, 1, "weak low", None)]
RP2350 = RP2040


@pytest.mark.parametrize(
    "board, row",
    [(name, row) for name, rows in (("esp32", ESP32), ("esp32-c3", ESP32_C3), ("esp32-s3", ESP32_S3),
                                    ("rp2040-wifi", RP2040), ("rp2350-wifi", RP2350)) for row in rows],
)
def test_a_pin_does_what_its_sheet_says(board, row):
    pin = BOARDS[board].pin(row[0])
    strap = pin.strap.level if pin.strap else None
    assert (pin.gpio, pin.output, pin.pull_up, pin.adc, pin.reset, strap) == row


# Who else uses a pin: design guidelines (flash), MicroPython source 1.29 (pins taken out), Pico SDK 2.2.0 (radio).
RESERVED = {
    "esp32": {6, 7, 8, 9, 10, 11},
    "esp32-c3": {11, 12, 13, 14, 15, 16, 17, 18, 19},
    "esp32-30": {6, 7, 8, 9, 10, 11}, "esp32-38": {6, 7, 8, 9, 10, 11}, "esp32-wrover": {6, 7, 8, 9, 10, 11, 16, 17},
    "esp32-c3-usb": {11, 12, 13, 14, 15, 16, 17, 18, 19},
    "esp32-s3": {19, 20, *range(26, 35)}, "esp32-s3-octal": {19, 20, *range(26, 38)}, "esp32-s3-quad": {19, 20, *range(26, 33)},
    "rp2040-wifi": {23, 24, 25, 29},
    "rp2350-wifi": {23, 24, 25, 29},
}
CONSOLE = {"esp32": {1, 3}, "esp32-c3": {20, 21}, "esp32-s3": {43, 44}, "rp2040-wifi": set(), "rp2350-wifi": set()}
CONSOLE |= {"esp32-30": {1, 3}, "esp32-38": {1, 3}, "esp32-wrover": {1, 3}, "esp32-c3-usb": {20, 21}, "esp32-s3-octal": {43, 44}, "esp32-s3-quad": {43, 44}}
# Usable edge: 25 GPIO of which four input-only (30-pin board, from memory); header tables of the vendor's
# user guides for ESP32-C3-DevKitM-1 and ESP32-S3-DevKitC-1 v1.1; 40-pin board, GP0 to GP22 and GP26 to GP28.
# ESP32-DevKitC V4 (vendor's user guide and a public drawing of its headers): 0 to 19 without the two that are not there, 21 to 23, 25 to 27,
# 32 to 36, 39. The small 16-pin C3 board (two public drawings that agree): 0 to 10, 20, 21.
BROUGHT_OUT = {"esp32": 25, "esp32-c3": 15, "esp32-s3": 36, "rp2040-wifi": 26, "rp2350-wifi": 26}
BROUGHT_OUT |= {"esp32-30": 25, "esp32-38": 32, "esp32-wrover": 32, "esp32-c3-usb": 13, "esp32-s3-octal": 36, "esp32-s3-quad": 36}


@pytest.mark.parametrize("board", BROUGHT_OUT)
def test_who_else_uses_the_pins_and_how_many_reach_the_edge(board):
    pins = BOARDS[board].pins
    assert {pin.gpio for pin in pins if pin.reserved} == RESERVED[board]
    assert {pin.gpio for pin in pins if pin.console} == CONSOLE[board]
    assert sum(bool(pin.edge) for pin in pins) == BROUGHT_OUT[board]


# ESP32-DevKitC V4, J1 (left) read whole in the vendor's user guide, J3 (right) in a public drawing of the same headers.
LEFT = {3: 36, 4: 39, 5: 34, 6: 35, 7: 32, 8: 33, 9: 25, 10: 26, 11: 27, 12: 14, 13: 12, 15: 13, 16: 9, 17: 10, 18: 11}
RIGHT = {2: 23, 3: 22, 4: 1, 5: 3, 6: 21, 8: 19, 9: 18, 10: 5, 11: 17, 12: 16, 13: 4, 14: 0, 15: 2, 16: 15, 17: 8, 18: 7, 19: 6}


@pytest.mark.parametrize("board", ["esp32-38", "esp32-wrover"])
def test_the_headers_of_the_38_pin_board(board):
    for edge, header in (("left", LEFT), ("right", RIGHT)):
        assert {pin.place: pin.gpio for pin in BOARDS[board].pins if pin.edge == edge} == header


# Vendor's user guides: GPIO16 and 17 are for WROOM boards only (DevKitC V4); GPIO35 to 37 not with octal memory (S3-DevKitC-1).
# Design guidelines: GPIO47 and 48 are in the 1.8 V domain of modules whose memory takes 1.8 V. GPIO12: from memory.
DIFFERS = {"esp32": {16, 17}, "esp32-s3": {35, 36, 37, 47, 48}, "esp32-s3-octal": {47, 48}, "esp32-wrover": {12}}


def test_where_boards_of_one_kind_differ_each_says_so_and_no_other_does():
    assert {name: found for name, board in BOARDS.items() if (found := {pin.gpio for pin in board.pins if pin.differs})} == DIFFERS
    for name, board in BOARDS.items():
        for gpio in DIFFERS.get(board.kind_of, ()):
            pin = board.pin(gpio)      # a board that says which it is has the pin, has it not, or says that its modules differ
            assert pin.differs or pin.reserved or pin.edge, (name, gpio)
    assert {name: board.kind_of for name, board in BOARDS.items() if board.kind_of} == {
        "esp32-30": "esp32", "esp32-38": "esp32", "esp32-wrover": "esp32", "esp32-c3-usb": "esp32-c3", "esp32-s3-octal": "esp32-s3", "esp32-s3-quad": "esp32-s3"}


def test_the_file_of_a_board_of_the_stock_is_named_for_its_type():
    assert all(board.type == name for name, board in BOARDS.items()) and len(BOARDS) == 11


# What people write, and the board they mean.
MEANT = [
    ("pico w", "rp2040-wifi"), ("Pico-W", "rp2040-wifi"), ("picow", "rp2040-wifi"), ("raspberry pi pico w", "rp2040-wifi"), ("rp2040", "rp2040-wifi"),
    ("pico 2 w", "rp2350-wifi"), ("Pico 2W", "rp2350-wifi"), ("pico2w", "rp2350-wifi"), ("rp2350", "rp2350-wifi"),
    ("ESP32", "esp32"), ("esp 32", "esp32"), ("esp23", "esp32"), ("esp32 devkit", "esp32"), ("ESP32 DevKit V1", "esp32-30"), ("esp32-devkitc", "esp32-38"),
    ("nodemcu-32s", "esp32-38"), ("esp32 wrover", "esp32-wrover"), ("esp32wrover", "esp32-wrover"), ("esp32s3", "esp32-s3"), ("esp32-s3-n16r8", "esp32-s3-octal"),
    ("ESP32-S3 N8", "esp32-s3-quad"), ("esp32 c3", "esp32-c3"), ("esp32-c3 supermini", "esp32-c3-usb"), ("ESP32-C3 Super Mini", "esp32-c3-usb"),
    ("a toaster", ""), ("", ""),
]


@pytest.mark.parametrize("found, meant", MEANT)
def test_the_names_that_people_use_lead_to_the_type(found, meant):
    assert nearest_type(found, BOARDS) == meant


def test_no_name_is_of_two_boards():
    names = ["".join(filter(str.isalnum, name.casefold())) for board in BOARDS.values() for name in (board.type, *board.called)]
    assert len(names) == len(set(names))


# Design guidelines, IO tables: glitches while starting, longest high one [s]. ESP32: reported by users, length unknown.
HIGH_PULSES = {("esp32-c3", 18): 50e-6, ("esp32-s3", 18): 60e-6, ("esp32-s3", 19): 3.2e-3, ("esp32", 14): None}


@pytest.mark.parametrize("place, longest", HIGH_PULSES.items())
def test_high_glitches_while_starting(place, longest):
    board, gpio = place
    assert [pulse.duration for pulse in BOARDS[board].pin(gpio).pulses if pulse.level == "high"][0] == longest


def test_low_glitch_of_the_input_only_pins():   # ESP32 guidelines: about 80 ns on GPIO36 and 39
    assert [BOARDS["esp32"].pin(gpio).pulses[0].duration for gpio in (36, 39)] == pytest.approx([80e-9, 80e-9])


# ESP32 Series Datasheet, table 13 (VOH 0.8 VDD, VOL 0.1 VDD, pull 45 kohm); ESP32-PICO-ZERO manual, table 6 (368 mA);
# RP2040 Datasheet 5.2.3 (VOH 2.62 V, VOL 0.5 V, 50 mA in all, pull from 50 kohm); Pico SDK (4 mA pad reset);
# ESP-IDF (brown-out levels).
LIMITS = [
    ("esp32", "output_high_least", 0.8 * 3.3), ("esp32", "output_low_most", 0.1 * 3.3), ("esp32", "weak_pull", 45e3),
    ("esp32", "radio_peak_current", 0.368), ("esp32", "pin_current", 0.020), ("esp32", "brown_out", 2.43),
    ("esp32-c3", "brown_out", 2.51), ("esp32-s3", "brown_out", 2.44),
    ("rp2040-wifi", "output_high_least", 2.62), ("rp2040-wifi", "output_low_most", 0.5),
    ("rp2040-wifi", "total_current", 0.050), ("rp2040-wifi", "weak_pull_least", 50e3), ("rp2040-wifi", "pin_current", 0.004),
]


@pytest.mark.parametrize("board, name, sheet", LIMITS)
def test_limits_follow_the_sheet(board, name, sheet):
    figure = BOARDS[board].figures[name]
    assert figure.value == pytest.approx(sheet)
    assert figure.source.read


def test_what_is_from_memory_says_so():
    assert str(BOARDS["esp32-c3"].figures["radio_peak_current"].source).endswith("(from memory)")
    assert not BOARDS["esp32"].pin(18).sources["edge"].read
    assert BOARDS["esp32"].figures["total_current"].value is None
    assert BOARDS["esp32"].figures["total_current"].why


def test_pins_are_in_order_along_the_edges():
    order = [pin.gpio for pin in BOARDS["esp32"].pins if pin.edge]
    assert order[:3] == [36, 39, 34] and order[12:15] == [23, 22, 1] and order[-1] == 15


def test_places_count_down_each_edge_or_around_the_board():
    esp32, rp2040 = BOARDS["esp32"], BOARDS["rp2040-wifi"]
    assert [esp32.row(esp32.pin(gpio)) for gpio in (36, 13, 23, 15)] == [1, 12, 0, 12]
    assert [rp2040.row(rp2040.pin(gpio)) for gpio in (0, 15, 16, 28)] == [0, 19, 19, 6]     # pins 1, 20, 21, 34 of 40
    for board in BOARDS.values():
        assert all(0 <= board.row(pin) < board.rows for pin in board.pins if pin.edge)


def own(tmp_path, text):
    path = tmp_path / "mine.toml"
    path.write_text(text, encoding="utf-8")
    return load_boards([path])


def test_a_board_may_be_like_another_of_ones_own_and_has_neither_its_names_nor_its_kind(tmp_path):
    first, second = tmp_path / "first.toml", tmp_path / "second.toml"
    first.write_text('type = "first"\nlike = "esp32-38"\ncalled = ["The First"]\n[pins]\n4 = { carries = "a buzzer" }\n')
    second.write_text('type = "second"\nlike = "first"\n[pins.5]\ncarries = "a button"\n')
    boards = load_boards([first, second])
    assert (boards["second"].pin(4).carries, boards["second"].pin(5).carries, boards["second"].rows) == ("a buzzer", "a button", 19)
    assert (boards["first"].kind_of, boards["second"].called, boards.own) == ("", (), ("second", "first"))
    assert nearest_type("the first", boards) == "first"
    with pytest.raises(StockError, match="like is 'first'"):
        load_boards([second])


def test_a_file_that_is_not_there_or_is_no_text_is_told_like_a_parts_file(tmp_path):
    with pytest.raises(StockError, match=r"mine\.toml: it is not there\n  allowed: the path of a board file$"):
        load_boards([tmp_path / "mine.toml"])
    (tmp_path / "mine.toml").write_bytes(b'type = "mine"\nlike = "\xff"\n')
    with pytest.raises(StockError, match=r"mine\.toml:2: the byte 0xff is no text here"):
        load_boards([tmp_path / "mine.toml"])


JUNK = st.recursive(st.none() | st.booleans() | st.integers(-5, 200) | st.floats(allow_nan=False, allow_infinity=False) | st.sampled_from(
    ["", "unknown", "HDG", "left", "3 V", "0 ohm", "-3 V", "5 kV", "high", "esp32", "\u00e9", "x" * 300]),
    lambda inner: st.lists(inner, max_size=2) | st.dictionaries(st.sampled_from(["value", "source", "16", "level", "edge", "zz"]), inner, max_size=2), max_leaves=4)


def places(table, path=()):
    for key, value in table.items():
        yield (*path, key)
        if isinstance(value, dict):
            yield from places(value, (*path, key))


@settings(max_examples=40, deadline=None)
@given(st.data())
def test_whatever_a_file_of_ones_own_holds_it_is_a_board_that_can_be_reckoned_with_or_a_refusal_that_names_the_file(data):
    table = tomllib.loads((FOLDER / "esp32-c3.toml").read_text("utf-8"))
    for _ in range(data.draw(st.integers(1, 2))):
        *path, key = data.draw(st.sampled_from(sorted(places(table), key=str)))
        held = table
        for part in path:
            held = held.get(part, {}) if isinstance(held, dict) else {}
        if isinstance(held, dict):
            junk = data.draw(JUNK)
            held.pop(key, None) if junk is None else held.__setitem__(key, junk)
    text = board_text(without_none(table))
    try:
        board = read_board(text, "mine.toml")
    except StockError as error:
        assert str(error).startswith("mine.toml:") and "allowed: " in str(error)
        return
    wanted = [Demand("relay.a", RELAY, "relays"), Demand("switch.b", CONTACT, "switches", 2.2e3)]
    findings(assign(wanted, board, {}, [board]), board)
    job, parts = load(EXAMPLE), load_parts()
    answers(job, parts, board, {})


@settings(max_examples=40, deadline=None)
@given(st.data())
def test_whatever_figures_a_board_may_have_every_question_has_an_answer(data):
    lines = []
    for name, unit in FIGURES.items():
        least, most = BOUNDS.get(name) or USUAL_BOUNDS[unit]
        if data.draw(st.booleans()):
            value = data.draw(st.sampled_from([least, most]) | st.floats(least, most))
            lines.append(f'{name} = {{ value = "{value:.6f} {unit}", source = "memory" }}')
        elif data.draw(st.booleans()):
            lines.append(f'{name} = {{ value = "unknown", why = "not measured" }}')
    text = "\n".join([f'type = "mine"\nlike = "{data.draw(st.sampled_from(sorted(BOARDS)))}"', "[figures]", *lines])
    try:
        board = read_board(text, "mine.toml")
    except StockError as error:
        assert ", more than " in str(error)
        return
    design = sewing_room()
    assert answers(design.job, load_parts(), board, design.results["fan_drives"])


@cache
def sewing_room():
    return design_of(EXAMPLE.parents[1] / "sewing-room" / "job.toml")


def without_none(value):
    if isinstance(value, dict):
        return {key: without_none(one) for key, one in value.items() if one is not None}
    return [without_none(one) for one in value if one is not None] if isinstance(value, list) else value


def test_a_users_file_says_only_what_differs_and_wins(tmp_path):
    boards = own(tmp_path, 'type = "esp32-more"\nlike = "esp32"\n[pins]\n16 = { reserved = "extra memory" }\n')
    assert boards["esp32-more"].pin(16).reserved == "extra memory"
    assert boards["esp32-more"].pin(16).edge == "right"
    assert boards["esp32"].pin(16).reserved == ""
    again = own(tmp_path, 'type = "esp32"\nlike = "esp32"\n[pins]\n17 = { console = "a modem" }\n')
    assert again["esp32"].pin(17).console == "a modem" and load_boards()["esp32"].pin(17).console == ""


BEGINNING = 'type = "mine"\nlike = "esp32"\n'
MESSAGES = [
    (BEGINNING + '[pins]\n16 = { reset = "weak hihg" }\n',
     "mine.toml:4: pins.16 is a pin whose reset is 'weak hihg'\n"
     "  allowed: floating, weak high, weak low, driven high\n  nearest: weak high"),
    (BEGINNING + "[pins]\n16 = { rserved = \"memory\" }\n",
     "mine.toml:4: pins.16 is an entry with the key 'rserved'\n  allowed: edge, output, pull_up, pull_down, adc, reset, "
     "reserved, console, driven, carries, interrupt, differs, label, place, pulses, strap, note, source\n  nearest: reserved"),
    (BEGINNING + "[pins]\nD5 = { }\n", "mine.toml:4: pins.D5 is 'D5'\n  allowed: a GPIO number from 0 to 99"),
    (BEGINNING + "[pins]\n16 = { place = 9 }\n",
     "mine.toml:4: pins.16 is a pin at place 9 of the right edge, where GPIO17 is\n  allowed: a place of its own for every pin"),
    (BEGINNING + '[pins]\n16 = { pulses = [{ level = "high", duration = "3", source = "HDG" }] }\n',
     "mine.toml:4: pins.16 is a pin with a pulse of duration '3', a number without a unit\n"
     '  allowed: a time such as "3 min", above 0 s; or "unknown"'),
    ('type = "mine"\nlike = "esp23"\n', "mine.toml:2: like is 'esp23'\n"
     "  allowed: esp32-30, esp32-38, esp32-c3-usb, esp32-c3, esp32-s3-octal, esp32-s3-quad, esp32-s3, esp32-wrover, esp32, rp2040-wifi, rp2350-wifi\n  nearest: esp32"),
    (BEGINNING + "rows = 0\n", "mine.toml:3: rows is 0\n  allowed: a whole number from 1 to 40"),
    (BEGINNING + "title = 7\n", "mine.toml:3: title is 7\n  allowed: a text in quotes on one line, at most 300 characters"),
    (BEGINNING + '[figures]\npin_current = { value = "20 mV", source = "HDG" }\n',
     "mine.toml:4: figures.pin_current is '20 mV', a voltage\n  allowed: a current such as \"6 A\""),
    ('chip = "X"\n', "mine.toml:1: pins is without any pin\n  allowed: a table of pins by GPIO number"),
    ('type = "mine"\n[facts]\nedge = "sheet"\n[pins]\n1 = {}\n',
     "mine.toml:3: facts.edge is read in 'sheet'\n  allowed: a source named in [sources]"),
    (BEGINNING + '[pins]\n5 = { strap = { level = "low", role = "x", source = "DS23" } }\n',
     "mine.toml:4: pins.5 is read in 'DS23'\n"
     "  allowed: HDG, IDF, DS32, WR32E, WR32D, PZ, MPD, MPS, users, DKC, memory\n  nearest: DS32"),
    (BEGINNING + '[pins.16]\nreset = "weak hihg"\n',
     "mine.toml:3: pins.16 is a pin whose reset is 'weak hihg'\n  allowed: floating, weak high, weak low, driven high\n  nearest: weak high"),
    (BEGINNING + '[figures]\ninput_high_least = { value = "5 V", source = "HDG" }\n',
     "mine.toml:4: figures.input_high_least is '5 V'\n  allowed: from 500 mV to 3.2 V: the controller works at 3.3 V"),
    (BEGINNING + '[figures]\nweak_pull = { value = "45 kohm", source = ["HDG"] }\n',
     "mine.toml:4: figures.weak_pull is source a list\n  allowed: HDG, IDF, DS32, WR32E, WR32D, PZ, MPD, MPS, users, DKC, memory"),
    (BEGINNING + '[figures]\nsupply_least = { value = "3.7 V", source = "HDG" }\n',
     "mine.toml:4: figures.supply_least is '3.7 V', more than supply_most\n  allowed: at most 3.6 V"),
    (BEGINNING + 'called = "Mine"\n', 'mine.toml:3: called is \'Mine\'\n  allowed: a list of names in quotes, such as ["Pico W"]'),
    (BEGINNING + '[micropython]\nport = { value = "esp", source = "MPD" }\n', "mine.toml:4: micropython.port is 'esp'\n  allowed: esp32, rp2\n  nearest: esp32"),
]


@pytest.mark.parametrize("text, message", MESSAGES)
def test_an_error_names_file_line_key_what_was_found_and_what_is_allowed(tmp_path, text, message):
    with pytest.raises(StockError) as caught:
        own(tmp_path, text)
    assert str(caught.value).replace(f"{tmp_path}/", "") == message
