"""The board's picture, read as a person reads it: which name stands at which pin."""

from xml.etree import ElementTree

from pattress.pins.assign import assign
from pattress.pins.demands import CONTACT, LAMP, RELAY, Demand
from pattress.pins.pinout_drawing import FILLS, FREE, NARROW, TAKEN, picture
from pattress.stock.boards import load_boards

SVG = "{http://www.w3.org/2000/svg}"
BOARDS = load_boards()
WANTED = [Demand("relay.lamp", RELAY, "relays"), Demand("relay.<fan>", RELAY, "relays"),
          Demand("switch.door", CONTACT, "switches"), Demand("status", LAMP, "status")]


def drawn(board, fixed=None):
    """Return by height and side the texts, and the fills of the pins of the board."""
    root = ElementTree.fromstring(picture(BOARDS[board], assign(WANTED, BOARDS[board], fixed or {}).pins))
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
    assert fills.count(FILLS[RELAY]) == 2 and fills.count(FILLS[CONTACT]) == 1 and fills.count(FILLS[LAMP]) == 1
    assert fills.count(TAKEN) == 7                      # console 43, 44; USB 19, 20; octal memory 35, 36, 37
    assert fills.count(FREE) == 36 - 4 - 7


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
    svg = picture(BOARDS["esp32"], assign(WANTED, BOARDS["esp32"]).pins)
    assert "Wire the board with all power off." in svg
    assert "safe" not in svg.lower()


def test_narrow_for_a_telephone_with_each_pin_in_its_link():
    svg = picture(BOARDS["esp32"], assign(WANTED, BOARDS["esp32"], {"switch.door": 34}).pins, NARROW,
                  around=lambda pin, drawn: f'<a href="/{pin.gpio}">{drawn}</a>')
    root = ElementTree.fromstring(svg)
    links = {link.get("href"): [text.text for text in link.iter(f"{SVG}text")] for link in root.iter(f"{SVG}a")}
    assert len(links) == 25 and links["/34"] == ["D34", "switch.door"] and links["/1"] == ["TX0", "console"]
    assert len([rect for rect in root.iter(f"{SVG}rect") if rect.get("class") != "reach"]) == 3        # paper, board, and the square of the soldered wire


def test_on_a_telephone_no_words_run_off_the_picture():
    """A letter is at most 0.6 of its size wide on the average of such words (from memory)."""
    root = ElementTree.fromstring(picture(BOARDS["rp2040-wifi"], (), NARROW))
    across, high = map(float, root.get("viewBox").split()[2:])
    notes = [text for text in root.iter(f"{SVG}text") if text.get("font-size") == "11" and text.get("text-anchor") == "start"]
    assert len(notes) > 8
    for text in notes:
        assert float(text.get("x")) + 0.6 * 11 * len(text.text) <= across + 8 and float(text.get("y")) < high
