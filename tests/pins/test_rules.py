"""Each rule between a wire and a pin, in its words."""

import pytest

from pattress.pins.demands import BUS_WIRE, CONTACT, LAMP, RECEIVER, REGISTER_WIRE, RELAY, SENSOR, WARNING
from pattress.pins.rules import objections, reluctances
from pattress.stock.boards import load_boards

BOARDS = load_boards()
NEEDS = {"relay": RELAY, "contact": CONTACT, "receiver": RECEIVER, "sensor": SENSOR, "lamp": LAMP, "bus": BUS_WIRE,
         "register": REGISTER_WIRE, "warning": WARNING}

# Reasons from the design guidelines, the datasheets and MicroPython's port, as the boards record them.
SPOKEN = [
    ("esp32", 34, "relay", {"input only": "is an input only"}),
    ("esp32", 34, "contact", {}),       # its resistor holds it up
    ("esp32", 34, "warning", {"pull-up": "has no pull-up of its own"}),
    ("esp32", 32, "warning", {}),
    ("esp32", 12, "warning", {"strap": "must not be held high at reset (selects the flash voltage, high means 1.8 V)"}),
    ("esp32", 34, "receiver", {}),
    ("esp32", 34, "sensor", {"input only": "is an input only"}),
    ("esp32", 12, "contact", {"strap": "must not be held high at reset (selects the flash voltage, high means 1.8 V)"}),
    ("esp32", 12, "sensor", {"strap": "must not be held high at reset (selects the flash voltage, high means 1.8 V)"}),
    ("esp32", 12, "relay", {}),
    ("esp32", 14, "relay", {"start": "is reported to pulse high while the board starts, for how long is unknown"}),
    ("esp32", 14, "contact", {}),
    ("esp32", 1, "relay", {"start": "is driven high while the board starts",
                           "console": "is the console's: the console sends on it, and the boot log before"}),
    ("esp32", 3, "relay", {"driven": "is already driven by the USB bridge",
                           "console": "is the console's: the console receives on it"}),
    ("esp32", 1, "contact", {"console": "is the console's: the console sends on it, and the boot log before"}),
    ("esp32", 6, "relay", {"edge": "is not brought out to the edge", "reserved": "belongs to the board itself: flash memory"}),
    ("esp32-c3", 9, "lamp", {"strap": "must not be held low at reset (low starts the firmware loader)"}),
    ("esp32-c3", 9, "contact", {"strap": "must not be held low at reset (low starts the firmware loader)"}),
    ("esp32-c3", 9, "bus", {}),
    ("esp32-c3", 21, "register", {"start": "is driven high while the board starts",
                                  "console": "is the console's: the boot log and the console send on it"}),
    ("esp32-s3", 18, "relay", {}),      # high for 60 us: a relay needs milliseconds
    ("esp32-s3", 19, "relay", {"reserved": "belongs to the board itself: USB console",
                               "start": "pulses high for 3.2 ms while the board starts"}),
    ("esp32-s3", 45, "contact", {"strap": "must not be held high at reset (selects the flash voltage, high means 1.8 V)"}),
    ("rp2040-wifi", 23, "relay", {"edge": "is not brought out to the edge",
                                  "reserved": "belongs to the board itself: radio power"}),
    ("rp2040-wifi", 0, "relay", {}),
]


@pytest.mark.parametrize("board, gpio, need, words", SPOKEN)
def test_what_speaks_against_a_wire_on_a_pin(board, gpio, need, words):
    assert objections(NEEDS[need], BOARDS[board].pin(gpio)) == words


# Pins of the ESP32-C3 that serve active-high drivers without caution: 0, 1, 3, 4, 5, 7, 10 (worked out from the
# design guidelines' IO table).
def test_the_seven_plain_pins_of_the_c3_are_those_with_neither_objection_nor_reluctance():
    plain = [pin.gpio for pin in BOARDS["esp32-c3"].pins if not objections(RELAY, pin) and not reluctances(RELAY, pin)]
    assert sorted(plain) == [0, 1, 3, 4, 5, 7, 10]


def test_every_radio_board_pin_at_the_edge_serves_a_relay():    # pads start with a pull-down, no straps
    for name in ("rp2040-wifi", "rp2350-wifi"):
        assert all(not objections(RELAY, pin) for pin in BOARDS[name].pins if pin.edge)


RELUCTANT = [
    ("esp32", 36, "receiver", {"its interrupt misfires with ADC, or with Wi-Fi and sleep": 9}),
    ("esp32", 12, "relay", {"a pin read at reset (selects the flash voltage, high means 1.8 V)": 12}),
    ("esp32-c3", 6, "relay", {"pulled up weakly at reset, against the pull-down at the driver": 9}),
    ("esp32-s3", 18, "relay", {"pulses at reset, too short for a relay": 3}),
    ("esp32-s3", 38, "contact", {"the board has an addressable lamp on it": 6}),
    ("esp32", 18, "relay", {}),
    ("esp32", 16, "relay", {"not the same on every such board: taken by the extra memory of modules that have it (WROVER)": 20}),
    ("esp32-38", 16, "relay", {}),
    ("esp32-s3", 36, "contact", {"not the same on every such board: taken by the octal memory of modules that have it (R8, R16)": 20}),
]


@pytest.mark.parametrize("board, gpio, need, words", RELUCTANT)
def test_what_one_would_rather_not_have(board, gpio, need, words):
    assert reluctances(NEEDS[need], BOARDS[board].pin(gpio)) == words


def test_the_status_lamp_likes_the_lamp_that_is_there():
    assert reluctances(LAMP, BOARDS["esp32"].pin(2)) == {}
    assert "the board has a lamp on it" in reluctances(CONTACT, BOARDS["esp32"].pin(2))
