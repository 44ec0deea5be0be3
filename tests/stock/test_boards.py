"""Pin facts and limits of the boards against the sheets they were read in."""

import pytest

from pattress.stock.boards import load_boards
from pattress.stock.record import StockError

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
    "esp32-s3": {19, 20, *range(26, 38)},
    "rp2040-wifi": {23, 24, 25, 29},
    "rp2350-wifi": {23, 24, 25, 29},
}
CONSOLE = {"esp32": {1, 3}, "esp32-c3": {20, 21}, "esp32-s3": {43, 44}, "rp2040-wifi": set(), "rp2350-wifi": set()}
# Usable edge: 25 GPIO of which four input-only (30-pin board, from memory); header tables of the vendor's
# user guides for ESP32-C3-DevKitM-1 and ESP32-S3-DevKitC-1 v1.1; 40-pin board, GP0 to GP22 and GP26 to GP28.
BROUGHT_OUT = {"esp32": 25, "esp32-c3": 15, "esp32-s3": 36, "rp2040-wifi": 26, "rp2350-wifi": 26}


@pytest.mark.parametrize("board", BROUGHT_OUT)
def test_who_else_uses_the_pins_and_how_many_reach_the_edge(board):
    pins = BOARDS[board].pins
    assert {pin.gpio for pin in pins if pin.reserved} == RESERVED[board]
    assert {pin.gpio for pin in pins if pin.console} == CONSOLE[board]
    assert sum(bool(pin.edge) for pin in pins) == BROUGHT_OUT[board]


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
     "reserved, console, driven, carries, interrupt, label, place, pulses, strap, note, source\n  nearest: reserved"),
    (BEGINNING + "[pins]\nD5 = { }\n", "mine.toml:4: pins.D5 is 'D5'\n  allowed: a GPIO number from 0 to 99"),
    (BEGINNING + "[pins]\n16 = { place = 9 }\n",
     "mine.toml:4: pins.16 is a pin at place 9 of the right edge, where GPIO17 is\n  allowed: a place of its own for every pin"),
    (BEGINNING + '[pins]\n16 = { pulses = [{ level = "high", duration = "3", source = "HDG" }] }\n',
     "mine.toml:4: pins.16 is a pin with a pulse of duration '3', a number without a unit\n"
     '  allowed: a time such as "3 min", above 0 s; or "unknown"'),
    ('type = "mine"\nlike = "esp23"\n', "mine.toml:2: like is 'esp23'\n"
     "  allowed: esp32-c3, esp32-s3, esp32, rp2040-wifi, rp2350-wifi\n  nearest: esp32"),
    (BEGINNING + "rows = 0\n", "mine.toml:3: rows is 0\n  allowed: a whole number from 1 to 40"),
    (BEGINNING + "title = 7\n", "mine.toml:3: title is 7\n  allowed: a text in quotes"),
    (BEGINNING + '[figures]\npin_current = { value = "20 mV", source = "HDG" }\n',
     "mine.toml:4: figures.pin_current is '20 mV', a voltage\n  allowed: a current such as \"6 A\""),
    ('chip = "X"\n', "mine.toml:1: pins is without any pin\n  allowed: a table of pins by GPIO number"),
    ('type = "mine"\n[facts]\nedge = "sheet"\n[pins]\n1 = {}\n',
     "mine.toml:3: facts.edge is read in 'sheet'\n  allowed: a source named in [sources]"),
    (BEGINNING + '[pins]\n5 = { strap = { level = "low", role = "x", source = "DS23" } }\n',
     "mine.toml:4: pins.5 is read in 'DS23'\n"
     "  allowed: HDG, IDF, DS32, WR32E, WR32D, PZ, MPD, MPS, users, memory\n  nearest: DS32"),
]


@pytest.mark.parametrize("text, message", MESSAGES)
def test_an_error_names_file_line_key_what_was_found_and_what_is_allowed(tmp_path, text, message):
    with pytest.raises(StockError) as caught:
        own(tmp_path, text)
    assert str(caught.value) == message
