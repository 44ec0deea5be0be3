"""Whatever is posted to any deed of any sheet, the answer is words and never a fault of the page."""

import random
from string import printable

from pattress.web.sheets import SHEETS

WORDS = ["", "relay.pendant", "22", "-1", "²", "throw door", "drawer.stop", "nec 0x04:0x52", "9000 4500 560", "300 ohm", "230 V", "unknown", "load", "ceiling",
         "[]", "{}", "null", "\x00", "\ud7ff", "a" * 3000, "<b>", "../../x", "%2e%2e", "1e999", "nan", "inf", "pendant", "wish.iron", "proof"]
FIELDS = ["wire", "gpio", "line", "captures", "button", "code", "was", "main_winding", "0.mains", "0.speed", "39.power", "days", "kind", "back",
          "version", "key", "name", "supply", "section", "save", "field"]
PLACES = {"section": ["load", "fan", "wish", "nothing"], "key": ["pendant", "ceiling", "x"], "wire": ["relay.pendant", "x"], "gpio": ["22", "x"],
          "room": ["x"], "property": ["wish.iron"], "step": ["1", "x"], "document:path": ["handover.html", "x"]}
LONG_WORKS = {"prove", "rehearse", "make"}        # begin a process each; their own tests see to them


def addresses(path, source):
    for name, values in PLACES.items():
        path = path.replace("{" + name + "}", source.choice(values))
    return path


def test_no_form_breaks_a_sheet(served, client):
    source = random.Random(1)
    for sheet in SHEETS:
        for deed in sorted(set(sheet.deeds) - LONG_WORKS) + ["", "x", "write:load"]:
            for _ in range(3):
                form = {"do": deed + source.choice(["", ":", ":load.pendant", ":x"]),
                        **{source.choice(FIELDS): source.choice([*WORDS, "".join(source.choices(printable, k=20))]) for _ in range(source.randrange(8))}}
                address = addresses(sheet.path, source)
                answer = client.post(address, data=form)
                assert answer.status_code < 500, (address, form, answer.text[-500:])
    assert client.get("/").status_code == 200
