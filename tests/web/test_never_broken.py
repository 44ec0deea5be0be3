"""Whatever is posted to any action of any sheet, the answer is words and never a fault of the page; the job file stays whole, even killed."""

import random
import re
import shutil
import signal
import subprocess
import sys
import threading
from string import printable
from urllib.parse import quote_from_bytes

import httpx
import pytest

from pattress.job import load, read
from pattress.web.sheets import SHEETS

from .served_page import EXAMPLES

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
        for action in sorted(set(sheet.actions) - LONG_WORKS) + ["", "x", "write:load"]:
            for _ in range(3):
                form = {"do": action + source.choice(["", ":", ":load.pendant", ":x"]),
                        **{source.choice(FIELDS): source.choice([*WORDS, "".join(source.choices(printable, k=20))]) for _ in range(source.randrange(8))}}
                address = addresses(sheet.path, source)
                answer = client.post(address, data=form)
                assert answer.status_code < 500, (address, form, answer.text[-500:])
    assert client.get("/").status_code == 200


KEYS = ["load.pendant.power", "load.pendant", "load.", "site.enclosure", "board.pins", "fan.ceiling.measured", "remote.drawer.button.stop.code",
        "item 2 of switch.door.does", 'accept."heat.controller".reason', "switch/door/does", "load/pendant/power", "x"]
TYPED = [*WORDS, "a" * 200_000, "1\n2\n3", "toggle pendant", "off everything\noff everything", "400 W", "45 %\n70 %", "\x1b[31m", "\u202e", "\"", "#"]
TAKEN = [("load", "pendant"), ("fan", "ceiling"), ("switch", "door"), ("remote", "drawer"), ("wall", "bench"), ("board", ""), ("x", "y")]
CODINGS = ["utf-8", "utf-8", "utf-8", "latin-1", "utf-16", "shift-jis"]


def posted(source, pairs):
    """Return pairs as a form's body, now and then in another encoding or with a field many times."""
    coding = source.choice(CODINGS)
    told = [pair for pair in pairs for _ in range(source.choice([1, 1, 1, 30]))]
    return "&".join(f"{quote_from_bytes(name.encode())}={quote_from_bytes(text.encode(coding, 'replace'))}" for name, text in told)


@pytest.mark.parametrize("seed", [1, 2])
def test_typed_keys_chosen_lines_and_removals_break_nothing(served, client, seed):
    """What if with typed keys, a line chosen to a list, and things taken away with all that speaks of them."""
    source, whole = random.Random(seed), served.file.read_text()
    for _ in range(30):
        section, key = source.choice(TAKEN)
        address, thing = f"/thing/{section}" + (f"/{key}" if key else ""), f"{section}/{key}"
        typed = [(f"{source.choice(['key', 'text'])}-{source.choice(['1', '2', '9', 'x'])}", source.choice([*KEYS, *TYPED])) for _ in range(4)]
        chosen = [(f"one-more:{source.choice([f'{thing}/does', *KEYS])}", source.choice(TYPED)), (source.choice(KEYS), source.choice(TYPED))]
        for where, do, pairs in (("/what-if", source.choice(["look", "take"]), typed), (address, "write", chosen),
                                 (address, f"along:{source.choice([thing, thing, *TYPED])}", [])):
            answer = client.post(where, content=posted(source, [("do", do), *pairs]), headers={"content-type": "application/x-www-form-urlencoded"})
            assert answer.status_code < 500, (where, do, pairs, answer.text[-500:])
            load(served.file)                  # raises when it is no whole job
        assert client.get(f"/what-if?{posted(source, typed)[:3000]}").status_code < 500
        if source.random() < 0.2:
            served.draft.replace(whole)


def kept_writing(address, done):
    """Let a browser write one field again and again until the page is gone."""
    with httpx.Client(follow_redirects=True, timeout=10) as client:
        root = str(client.get(address).url.copy_with(path="/", query=None))
        for power in range(10, 10_000):
            try:
                client.post(f"{root}thing/load/pendant", headers={"origin": root.rstrip("/")}, data={
                    "do": "write", "load/pendant/power": f"{power} W", "version": re.search(r'name="version" value="([^"]*)"', client.get(f"{root}thing/load/pendant").text)[1]})
                done.set()
            except httpx.HTTPError:
                return


@pytest.mark.parametrize("after", [0.0, 0.02, 0.05, 0.11])
def test_killed_while_it_saves_it_leaves_a_whole_job_file(tmp_path, after):
    file, done = tmp_path / "job.toml", threading.Event()
    shutil.copy(EXAMPLES / "sewing-room" / "job.toml", file)
    lines = file.read_text().splitlines()
    running = subprocess.Popen([sys.executable, "-c", "from pattress.cli import main; main()", "page", str(file), "--no-browser"],
                               stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    while not (address := re.search(r"http://\S+", running.stdout.readline())):
        assert running.poll() is None
    hand = threading.Thread(target=kept_writing, args=(address[0], done))
    hand.start()
    assert done.wait(30)
    threading.Event().wait(after)
    running.send_signal(signal.SIGKILL)
    _, complaints = running.communicate(timeout=30)
    hand.join(30)
    assert complaints == "" and not hand.is_alive()
    left = file.read_text()
    read(left, str(file))
    changed = [line for line in left.splitlines() if line not in lines]
    assert len(changed) == 1 and re.fullmatch(r'power = "[0-9]+ W" +# of one lamp', changed[0]) and len(left.splitlines()) == len(lines)
