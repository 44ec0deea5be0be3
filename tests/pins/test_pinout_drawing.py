"""The board's picture, read as a person reads it: which name stands at which pin."""

from dataclasses import replace
from itertools import combinations
from xml.etree import ElementTree

import pytest

from pattress.drawing.lettering import SANS
from pattress.drawing.pieces import link, text_box
from pattress.pins.assign import assign
from pattress.pins.demands import CONTACT, LAMP, RELAY, Demand
from pattress.pins.pinout_drawing import FILLS, FREE, LEGEND, NARROW, PRINTED, TAKEN, pinout
from pattress.stock.boards import load_boards

SVG = "{http://www.w3.org/2000/svg}"
BOARDS = load_boards()
WANTED = [Demand("relay.lamp", RELAY, "relays"), Demand("relay.<fan>", RELAY, "relays"),
          Demand("switch.door", CONTACT, "switches"), Demand("status", LAMP, "status")]


def drawn(board, fixed=None):
    """Return by height and side the texts, and the fills of the pins of the board."""
    root = ElementTree.fromstring(pinout(BOARDS[board], assign(WANTED, BOARDS[board], fixed or {}).pins).svg())
    texts = {}
    for text in root.iter(f"{SVG}text"):
        side = "left" if float(text.get("x")) < 380 else "right"
        texts.setdefault((side, float(text.get("y"))), []).append(text.text)
    return root, texts


def test_each_wire_stands_beside_its_pin():
    _, texts = drawn("esp32", {"switch.door": 34})
    rows = [words for words in texts.values() if len(words) == 2]
    assert ["D34", "switch.door (soldered)"] in rows
    assert ["D32", "relay.lamp"] in rows and ["D33", "relay.<fan>"] in rows
    assert ["D2", "status"] in rows                     # the lamp that the board has
    assert ["TX0 = GPIO1", "console"] in rows


def test_every_pin_of_the_edge_is_drawn_once_and_filled_by_what_hangs_on_it():
    root, _ = drawn("esp32-s3-octal")
    fills = [circle.get("fill") for circle in root.iter(f"{SVG}circle") if circle.get("cx") in ("282", "478")]
    assert len(fills) == 36
    assert fills.count(FILLS[RELAY].light) == 2 and fills.count(FILLS[CONTACT].light) == 1 and fills.count(FILLS[LAMP].light) == 1
    assert fills.count(TAKEN.light) == 7                      # console 43, 44; USB 19, 20; octal memory 35, 36, 37
    assert fills.count(FREE.light) == 36 - 4 - 7


def test_a_board_counted_around_has_its_last_pin_beside_its_first():
    _, texts = drawn("rp2040-wifi")
    heights = {words[0]: height for (_, height), words in texts.items()}
    assert heights["GP15"] == heights["GP16"] and heights["GP0"] < heights["GP15"]


def test_the_board_is_not_drawn_mirrored():
    for board, left, right in (("esp32", "D32", "D23"), ("rp2040-wifi", "GP0", "GP28"), ("esp32-s3", "4", "21")):
        _, texts = drawn(board)
        sides = {words[0]: side for (side, _), words in texts.items()}
        assert (sides[left], sides[right]) == ("left", "right")


def test_a_caution_is_printed_and_nothing_is_called_safe():
    svg = pinout(BOARDS["esp32"], assign(WANTED, BOARDS["esp32"]).pins).svg()
    assert "Wire the board with all power off." in svg
    assert "safe" not in svg.lower()


def test_narrow_for_a_telephone_with_each_pin_in_its_link():
    svg = pinout(BOARDS["esp32"], assign(WANTED, BOARDS["esp32"], {"switch.door": 34}).pins, NARROW,
                  around=lambda pin, drawn: link(drawn, f"/{pin.gpio}")).svg()
    root = ElementTree.fromstring(svg)
    links = {link.get("href"): [text.text for text in link.iter(f"{SVG}text")] for link in root.iter(f"{SVG}a")}
    assert len(links) == 25 and links["/34"] == ["D34", "switch.door"] and links["/1"] == ["TX0", "console"]
    assert len([rect for rect in root.iter(f"{SVG}rect") if rect.get("class") != "reach"]) == 3        # paper, board, and the square of the soldered wire


@pytest.mark.parametrize("layout", [PRINTED, NARROW])
@pytest.mark.parametrize("board", BOARDS)
def test_no_words_run_off_the_picture_or_into_their_neighbours(board, layout):
    long = [Demand("relay.a_lamp_with_an_extraordinarily_long_name.2", RELAY, "relays"), Demand("switch." + "w" * 40, CONTACT, "switches")]
    picture = pinout(BOARDS[board], assign([*WANTED, *long], BOARDS[board]).pins, layout)
    assert picture.outside() == ()
    root = ElementTree.fromstring(picture.svg())
    boxes = [text_box(float(text.get("x")), float(text.get("y")), text.text, float(text.get("font-size")), text.get("text-anchor", "start"), SANS)
             for text in root.iter(f"{SVG}text") if not text.get("font-weight")]
    assert len(boxes) > len(LEGEND)
    assert [(one, other) for one, other in combinations(boxes, 2) if one.meets(other)] == []


def test_what_runs_off_would_be_seen():
    picture = pinout(BOARDS["esp32"], (), NARROW)
    assert replace(picture, frame=replace(picture.frame, right=picture.frame.right / 2)).outside()
