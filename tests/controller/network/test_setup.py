"""First Wi-Fi: when the access point opens, what its page takes, and what it never gives away."""

import asyncio
import socket
import time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pattress.controller.network.http.login import Guard
from pattress.controller.network.http.requests import Request
from pattress.controller.network.http.tries import TRIES
from pattress.controller.network.setup import HOLD_MS, OPEN_MS, SetupSite, Window, fault_of

from . import broker
from .board import Board
from .pages import PASSPHRASE, RECORD
from .places import Running
from .places import run as run_program
from .test_web import FORM, Visitor

STEP = 100
FIELDS = dict(ssid="Flur 2", key="a key of wifi", passphrase=PASSPHRASE)      # invented


def run(window, is_closed, ms):
    """Return how long the access point was open while the switch was so [ms]."""
    return sum(STEP for _ in range(0, ms, STEP) if window.advance(STEP, is_closed))


def test_held_from_power_up_it_opens_for_five_minutes_and_never_again():
    window = Window(True)
    assert run(window, True, HOLD_MS - STEP) == 0
    assert run(window, True, STEP) == STEP
    assert run(window, False, 2 * OPEN_MS) == OPEN_MS - STEP    # letting go then does not matter
    assert run(window, True, 10 * OPEN_MS) == 0


def test_a_switch_let_go_early_or_pressed_later_opens_nothing():
    window = Window(True)
    run(window, True, HOLD_MS - STEP)
    window.advance(STEP, False)
    assert run(window, True, 10 * HOLD_MS) == 0
    assert run(Window(False), True, 10 * HOLD_MS) == 0


def test_it_closes_when_it_is_done():
    window = Window(True)
    assert run(window, True, HOLD_MS + 1000) > 0
    window.close()
    assert run(window, True, OPEN_MS) == 0


@given(at_power_up=st.booleans(), course=st.lists(st.tuples(st.integers(1, 20_000), st.booleans()), max_size=60))
def test_it_is_open_only_after_an_unbroken_hold_and_no_longer_than_allowed(at_power_up, course):
    window, opened, held, unbroken = Window(at_power_up), 0, 0, at_power_up
    for elapsed, is_closed in course:
        unbroken = unbroken and (is_closed or held >= HOLD_MS)
        held += elapsed
        if window.advance(elapsed, is_closed):
            assert unbroken and held >= HOLD_MS
            opened += elapsed
    assert opened <= OPEN_MS + 20_000


@pytest.mark.parametrize("ssid, key, says", [
    ("", "12345678", "1 to 32 bytes, found 0"), ("ä" * 17, "12345678", "found 34"), ("home", "1234567", "8 to 63 letters, found 7"),
    ("home", "x" * 64, "found 64"), ("home", "schlüssel1", "plain letters"), ("home", "12345678", ""), ("ä" * 16, "x" * 63, ""),
])
def test_a_name_and_a_key_are_judged(ssid, key, says):
    assert (says in fault_of(ssid, key)) if says else fault_of(ssid, key) == ""


class Visit:
    def __init__(self):
        self.kept, self.clock = [], [0]
        self.queue = Board(fresh=True).queue
        self.site = SetupSite(self.queue, Guard(RECORD, lambda: self.clock[0]), "", lambda *given: self.kept.append(given))

    def send(self, method="POST", path="/wifi", **fields):
        request = Request(method, path, {"content-type": "application/x-www-form-urlencoded"})
        request.body = "&".join(f"{name}={value}" for name, value in fields.items()).encode()
        reply = asyncio.run(self.site.reply(request))
        return reply.status, "".join(reply.parts)


def test_the_page_keeps_what_the_owner_of_the_label_enters():
    visit = Visit()
    assert "Passphrase, from the label" in visit.send("GET", "/")[1]
    status, text = visit.send(**FIELDS)
    assert status == 200 and "Flur 2" in text and FIELDS["key"] not in text
    assert visit.kept == [("Flur 2", "a key of wifi")] and visit.site.is_done


@pytest.mark.parametrize("change, status, says", [
    (dict(passphrase="wrong wrong"), 403, "That is not the passphrase"), (dict(passphrase=""), 403, "That is not the passphrase"),
    (dict(key="short"), 409, "8 to 63 letters, found 5"), (dict(ssid=""), 409, "1 to 32 bytes"), (dict(path="/elsewhere"), 404, "nothing here"),
])
def test_the_page_keeps_nothing_else(change, status, says):
    visit = Visit()
    found, text = visit.send(**FIELDS | change)
    assert found == status and says in text and visit.kept == [] and not visit.site.is_done


def test_the_passphrase_is_not_guessed_here_either():
    visit = Visit()
    for _ in range(TRIES):
        visit.send(**FIELDS | {"passphrase": "wrong wrong"})
    assert visit.send(**FIELDS)[0] == 429 and visit.kept == []


def test_a_name_that_is_markup_is_shown_as_text():
    visit = Visit()
    assert "<b>" not in visit.send(**FIELDS | {"ssid": "<b>x</b>"})[1]


def hold_against_forms(body, path, kind):
    """Send what anybody near the access point may send; only a name and a key that can be are ever kept."""
    visit = Visit()
    request = Request("POST", path, {"content-type": kind})
    request.body = body
    reply = asyncio.run(visit.site.reply(request))
    assert 200 <= reply.status < 600 and all(len(part) < 4096 for part in reply.parts)
    assert all(fault_of(*given) == "" for given in visit.kept) and not (visit.kept and PASSPHRASE.encode() not in body)


FORMS = (st.one_of(st.binary(max_size=512), st.lists(st.tuples(st.sampled_from([b"ssid", b"key", b"passphrase", b"x", b""]), st.binary(max_size=80)), max_size=9).map(
    lambda rows: b"&".join(name + b"=" + value for name, value in rows)[:512])),
    st.sampled_from(["/wifi", "/", "/page.css2", "/wifi?x", "//"]), st.sampled_from(["application/x-www-form-urlencoded", "", "text/plain; x"]))


@settings(max_examples=300, deadline=None)
@given(*FORMS)
def test_hostile_forms_keep_nothing_and_do_no_harm(body, path, kind):
    hold_against_forms(body, path, kind)


@pytest.mark.soak
@settings(max_examples=100_000, deadline=None)
@given(*FORMS)
def test_hostile_forms_keep_nothing_and_do_no_harm_in_the_long_run(body, path, kind):
    hold_against_forms(body, path, kind)


# The whole of it: sockets are real, the radio is simulated and nothing else.

RADIO = """
import asyncio
import json
from simulated import Board, live
from radio import setup

calls = []

class Radio:
    # As the sources of the ports have it; `chip` is what the radio's own chip does with what it is told.
    def __init__(self, port, chip):
        self.port, self.chip, self.is_on, self.told, self.wrote = port, chip, False, {}, {}
        if port == "rp2":
            self.ioctl = self._ioctl

    def config(self, *asked, **told):
        calls.append(["config", list(asked), sorted(told.items())])
        if asked:
            return self.told.get(asked[0], 0)
        if self.port == "esp32" and not self.is_on:
            raise OSError("invalid interface")
        if self.port == "esp32" and self.chip == "stays open":
            told["security"] = 0
        self.told.update(told)

    def active(self, is_on):
        calls.append(["active", [is_on], []])
        self.is_on = is_on
        auth = self.told.get("security", 0)
        self.wrote = {b"wsec": auth & 0xff, b"wpa_auth": (0x80 if auth & 0x400000 else 0) | (4 if auth & 0x200000 else 0)}
        if self.chip == "stays open":
            self.wrote = {b"wsec": 0, b"wpa_auth": 0}

    def _ioctl(self, command, buffer):
        calls.append(["ioctl", [command], []])
        name, _, rest = bytes(buffer).partition(b"\\0")
        if self.chip != "answers nothing" and command == 0x20c and rest[:4] == b"\\1\\0\\0\\0":
            buffer[:4] = self.wrote[name[7:]].to_bytes(4, "little")

"""

OFFER = RADIO + """
board = Board()
kept, held = [], SETTINGS["held_s"]
setup.HOLD_MS = SETTINGS["hold_ms"]

async def offer():
    settings = {"name": "home", "passphrase": SETTINGS["record"], "setup": SETTINGS["key"]}
    done = await setup.offer(board.queue, lambda: board.queue.seconds < held, Radio(SETTINGS["board"], SETTINGS["chip"]), settings,
                             lambda *given: kept.append(given), SETTINGS["port"], SETTINGS["board"])
    calls.append(["over", [done], []])

asyncio.run(live(board, SETTINGS["stop"], offer()))
board.report(calls=calls, kept=kept)
"""


def offered(place, held_s, port, chip="does as told", hold_ms=HOLD_MS):
    return Running(*place, OFFER, held_s=held_s, record=RECORD, key=PASSPHRASE, port=port, board="rp2", chip=chip, hold_ms=hold_ms)


def test_held_it_opens_an_access_point_whose_page_keeps_the_wifi_and_closes(place):
    port = broker.free_port()
    with offered(place, 60, port) as board:
        visitor = Visitor(port)
        time.sleep(HOLD_MS / 1000)
        answer, text = visitor.ask("GET", "/generate_204")          # whatever a phone asks for, it sees the form
        assert answer.status == 200 and "Name of the home" in text
        body = "&".join(f"{name}={value.replace(' ', '+')}" for name, value in FIELDS.items())
        styled = visitor.ask("GET", "/page.css")                    # over the same packed files as the controller's own page
        assert styled[0].status == 200 and "--paper:" in styled[1]
        assert visitor.ask("POST", "/wifi", body.replace(PASSPHRASE, "wrong-passphrase"), **FORM)[0].status == 403
        assert visitor.ask("POST", "/wifi", body, **FORM)[0].status == 200
        time.sleep(4)
        with pytest.raises(ConnectionRefusedError):                 # nobody listens any more
            socket.create_connection(("127.0.0.1", port), 1)
    assert board.said["kept"] == [[FIELDS["ssid"], FIELDS["key"]]]
    assert [name for name, _, _ in board.said["calls"]] == ["config", "active", "config", "ioctl", "ioctl", "active", "over"]
    assert dict(map(tuple, board.said["calls"][0][2])) == {"ssid": "home", "key": PASSPHRASE, "security": 0x00400004}
    assert board.said["calls"][-2:] == [["active", [False], []], ["over", [True], []]]


OPENED = RADIO + """
found = []
for port, chip, number in SETTINGS["cases"]:
    real = setup.LOCKS.get(port)
    if number:
        setup.LOCKS[port] = number
    calls.clear()
    found.append([setup.opened(Radio(port, chip), "home", "key of it", port), calls[-1][0], calls[-1][1]])
    if number:
        setup.LOCKS[port] = real
print(json.dumps(found))
"""
REFUSED = {                 # what is wrong: (port, what the radio does, a number of another port)
    "a number that means nothing to this port": ("rp2", "does as told", 3), "a mixture with WPA": ("rp2", "does as told", 0x00600006),
    "a chip that stays open": ("rp2", "stays open", 0), "a chip that does not answer": ("rp2", "answers nothing", 0),
    "a driver that stays open": ("esp32", "stays open", 0), "a port whose driver nobody read": ("mimxrt", "does as told", 0)}


def test_an_access_point_is_open_only_where_its_lock_is_read_back_from_the_radio(place):
    allowed = [("rp2", "does as told", 0), ("esp32", "does as told", 0)]
    found = run_program(*place, OPENED, cases=[*allowed, *REFUSED.values()])
    assert [is_open for is_open, *_ in found] == [True] * len(allowed) + [False] * len(REFUSED)
    assert all(last == ["active", [False]] for _, *last in found[len(allowed):])        # whatever was wrong, the radio is off


def test_where_the_lock_cannot_be_read_back_no_page_is_served(place):
    port = broker.free_port()
    with offered(place, 60, port, "stays open", hold_ms=1000) as home:
        time.sleep(3)
        with pytest.raises(ConnectionRefusedError):
            socket.create_connection(("127.0.0.1", port), 1)
    assert home.said["calls"][-2:] == [["active", [False], []], ["over", [None], []]] and home.said["kept"] == []


def test_let_go_too_early_the_radio_is_never_touched(place):
    with offered(place, 2, broker.free_port()) as board:
        time.sleep(4)
    assert board.said["calls"] == [["over", [False], []]] and board.said["kept"] == []
