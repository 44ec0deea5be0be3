"""The page of a running board under both interpreters: over plain sockets, by an independent client, hostile and slow."""

import asyncio
import json
import re
import socket
import threading
import time
from http.client import HTTPConnection, HTTPException
from urllib.parse import urlencode

import pytest
from jsonschema import Draft7Validator

from pattress.bundle.passphrase import passphrase_record
from pattress.controller import core
from pattress.controller.network.http import web_page
from pattress.controller.network.http.exchange import LISTENERS, REQUEST_S
from pattress.controller.network.http.server import ACCEPT_S, AT_ONCE, CONNECTIONS, EACH_S, UNPROVEN_S, Place, Server
from pattress.controller.network.http.tries import TRIES
from pattress.controller.network.setup import SetupSite
from pattress.controller.request_queue import RequestQueue

from ..core.home import TABLE
from .answered import answered
from .board import Board
from .broker import free_port
from .pages import PASSPHRASE, RECORD, SERVE, serve
from .places import Running

COMES_IN_S = 30         # within which an owner comes in, whoever else is there
FORM = {"Content-Type": "application/x-www-form-urlencoded"}
JSON = {"Content-Type": "application/json"}


class Visitor:
    """An HTTP client of the standard library with a cookie, and that of its device; `address` is its own."""

    def __init__(self, port, address="127.0.0.1", device=None):
        self.port, self.address, self.cookie, self.device = port, address, None, device

    def ask(self, method, path, body=None, **fields):
        connection = HTTPConnection("127.0.0.1", self.port, timeout=10, source_address=(self.address, 0))
        fields = {name.replace("_", "-"): value for name, value in fields.items()}
        if self.cookie or self.device:
            fields["Cookie"] = "; ".join(filter(None, (self.cookie, self.device)))
        for _ in range(100):
            try:
                connection.connect()
                break
            except ConnectionRefusedError:      # the board is still starting
                time.sleep(0.05)
        connection.request(method, path, body, fields)
        answer = connection.getresponse()
        text = answer.read().decode()
        connection.close()
        for cookie in answer.headers.get_all("Set-Cookie", ()):
            if cookie.startswith("session="):
                self.cookie = cookie.partition(";")[0]
            else:
                self.device = cookie.partition(";")[0]
        return answer, text

    def enter(self, passphrase=PASSPHRASE):
        return self.ask("POST", "/login", urlencode({"passphrase": passphrase}), **FORM)

    def level(self, key):
        return json.loads(self.ask("GET", f"/channel/{key}")[1])["level"]

    def wait_for_level(self, key, level):
        for _ in range(100):
            if self.level(key) == level:
                return
            time.sleep(0.02)
        raise AssertionError(f"{key} did not come to {level}")


def raw(port, data, seconds=10):
    """Send bytes, return all that comes back."""
    with socket.create_connection(("127.0.0.1", port), 5) as link:
        link.sendall(data)
        return answered(link, seconds)


def test_a_visit_by_form_and_by_program(place):
    with serve(place) as board:
        visitor = Visitor(board.port)
        answer, text = visitor.ask("GET", "/")
        assert answer.status == 200 and 'name=passphrase' in text and "lamp" not in text
        assert visitor.ask("GET", "/channel/lamp")[0].status == 401 and visitor.ask("GET", "/news")[0].status == 401
        assert visitor.ask("POST", "/channel/lamp/ask", '"on"', **JSON)[0].status == 401
        assert visitor.enter("wrong wrong wrong")[0].status == 403

        answer, _ = visitor.enter()
        assert answer.status == 303
        cookie = answer.headers["Set-Cookie"]
        assert re.fullmatch(r"session=[0-9a-f]{32}; HttpOnly; SameSite=Strict; Path=/; Max-Age=604800", cookie)
        assert re.fullmatch(r"device=[0-9a-f]{40}; HttpOnly; SameSite=Strict; Path=/; Max-Age=31536000", answer.headers.get_all("Set-Cookie")[1])

        answer, text = visitor.ask("GET", "/")
        assert [re.sub("<.*?>", "", name) for name in re.findall("<h2.*?</h2>", text)] == ["lamp", "fan", "fridge"]
        assert answer.headers["Content-Security-Policy"].startswith("default-src 'none'") and "http" not in text.replace("http-equiv", "")
        token = re.search(r"name=token value=([0-9a-f]+)", text)[1]
        assert visitor.ask("POST", "/channel/lamp/ask", urlencode({"request": "on", "token": token}), **FORM)[0].status == 303
        visitor.wait_for_level("lamp", 1)
        assert visitor.ask("POST", "/channel/fan/ask", "3", **JSON)[0].status == 204
        visitor.wait_for_level("fan", 3)

        answer, text = visitor.ask("POST", "/channel/fan/ask", "5", **JSON)
        assert answer.status == 409 and json.loads(text)["reason"] == "unknown channel, verb or level"
        assert visitor.ask("POST", "/channel/lamp/ask", urlencode({"request": "off"}), **FORM)[0].status == 403       # no token
        assert visitor.ask("POST", "/channel/lamp/ask", urlencode({"request": "off", "token": token[:-1] + "x"}), **FORM)[0].status == 403
        assert visitor.ask("POST", "/channel/lamp/ask", "off", Content_Type="text/plain")[0].status == 415
        assert visitor.ask("POST", "/channel/lamp/ask", '"off"', Origin="http://elsewhere.example", **JSON)[0].status == 403
        assert visitor.ask("POST", "/channel/lamp/ask", '"off"', Sec_Fetch_Site="cross-site", **JSON)[0].status == 403
        assert visitor.ask("GET", "/", Host="rebound.example")[0].status == 421
        assert visitor.ask("GET", "/../plan.json")[0].status == 404 and visitor.ask("GET", "/channel/porch")[0].status == 404
        text = visitor.ask("GET", "/log")[1]
        assert "fan: step 3, over the network" in text and "login refused" in text
        assert visitor.ask("POST", "/logout", urlencode({"token": token}), **FORM)[0].status == 303
        visitor.cookie = cookie.partition(";")[0]
        assert visitor.ask("GET", "/channel/lamp")[0].status == 401
    assert board.said["moves"] == [0b1000, 0b1011]


@pytest.mark.parametrize("settings", [dict(record=None), dict(read_only=True)], ids=["no passphrase", "read-only"])
def test_a_page_for_reading_only(place, settings):
    with serve(place, **settings) as board:
        visitor = Visitor(board.port)
        text = visitor.ask("GET", "/")[1]
        assert "reading only" in text and "<form" not in text
        assert "21.5 °C" in text or "no reading" in text
        visitor.enter(PASSPHRASE)
        visitor.enter("")
        answer, text = visitor.ask("POST", "/channel/lamp/ask", '"on"', **JSON)
        assert answer.status == 403 and json.loads(text)["reason"] == "not allowed here"
    assert board.said["moves"] == []


def test_passphrases_are_not_tried_fast(place):
    with serve(place) as board:
        visitor = Visitor(board.port)
        statuses = [visitor.enter(f"wrong guess {number}")[0].status for number in range(10)]
        assert statuses == [403] * 8 + [429] * 2
        assert visitor.enter()[0].status == 429


def test_nobody_s_wrong_tries_keep_the_owner_out(place):
    """A stranger tries as often as it likes; another address, and at the stranger's own a device that logged in before, find a place."""
    with serve(place) as board:
        owner, stranger = Visitor(board.port), Visitor(board.port, "127.0.0.2")
        assert owner.enter()[0].status == 303
        statuses = [stranger.enter(f"wrong guess {number}")[0].status for number in range(20)]
        assert statuses == [403] * TRIES + [429] * (20 - TRIES)
        assert Visitor(board.port).enter()[0].status == 303
        assert "Too many tries" in stranger.ask("GET", "/")[1]
        known = Visitor(board.port, "127.0.0.2", owner.device)
        assert "Too many tries" not in known.ask("GET", "/")[1] and known.enter()[0].status == 303
        forged = Visitor(board.port, "127.0.0.2", owner.device[:-1] + "x")
        assert forged.enter()[0].status == 429


def flood(port, ended, answered):
    """Open connections from another address, one after the other; note of each whether it was answered."""
    while not ended.is_set():
        try:
            with socket.create_connection(("127.0.0.1", port), 1, ("127.0.0.2", 0)) as link:
                link.sendall(b"GET /nothing HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n")
                answered.append(bool(link.recv(100)))
        except OSError:
            answered.append(False)


def test_a_peer_that_opens_too_many_connections_is_cut_off_and_others_are_served(place):
    with serve(place) as board:
        owner = Visitor(board.port)
        assert owner.enter()[0].status == 303
        ended, answered = threading.Event(), []
        threads = [threading.Thread(target=flood, args=(board.port, ended, answered)) for _ in range(6)]
        for thread in threads:
            thread.start()
        time.sleep(2)
        began = time.monotonic()
        assert owner.ask("GET", "/")[0].status == 200 and time.monotonic() - began < 3
        ended.set()
        lasted = time.monotonic() - began + 2
        for thread in threads:
            thread.join()
    assert sum(answered) <= AT_ONCE + EACH_S * (lasted + 2) and answered.count(False) > 50


def test_the_news_come_as_they_happen(place):
    with serve(place) as board:
        visitor = Visitor(board.port)
        visitor.enter()
        with socket.create_connection(("127.0.0.1", board.port), 5) as link:
            link.sendall(b"GET /news HTTP/1.1\r\nHost: 127.0.0.1\r\nCookie: " + visitor.cookie.encode() + b"\r\n\r\n")
            link.settimeout(10)
            heard = b""
            while b"event: channel/fridge" not in heard:
                heard += link.recv(4096)
            visitor.ask("POST", "/channel/lamp/ask", '"on"', **JSON)
            asked = time.monotonic()
            while b'event: channel/lamp\ndata: {"level":1,' not in heard:
                heard += link.recv(4096)
            assert time.monotonic() - asked < 1
            assert b'event: sensor/hall_air\ndata: {"value":2' in heard
            token = re.search(r"name=token value=([0-9a-f]+)", visitor.ask("GET", "/")[1])[1]
            visitor.ask("POST", "/logout", urlencode({"token": token}), **FORM)
            while link.recv(4096):                  # who has left the session hears no more
                pass
    assert board.said["listeners"] == 0


def test_the_news_are_for_a_few_listeners_only(place):
    with serve(place, read_only=True) as board:
        Visitor(board.port).ask("GET", "/")
        links = [socket.create_connection(("127.0.0.1", board.port), 5) for _ in range(LISTENERS + 1)]
        heads = []
        for link in links:
            link.settimeout(10)
            link.sendall(b"GET /news HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n")
            heads.append(link.recv(12))
        for link in links:
            link.close()
    assert heads == [b"HTTP/1.1 200"] * LISTENERS + [b"HTTP/1.1 503"]


def test_odd_names_are_shown_as_text():
    odd = """<script>alert('x')</script>"&amp;"""
    board = Board()
    table = TABLE | {"title": odd, "channels": [channel | {"name": odd, "key": odd} for channel in TABLE["channels"]]}
    queue = RequestQueue(core, board.home.plan, table, [(odd, odd, odd)], reset_cause=odd)
    queue.news(0, 1, 1)
    queue.reading(0, 1, 1)
    for parts in (web_page.main_page(queue, "", True, True), web_page.log_page(queue), web_page.login_page(queue), web_page.notice_page(queue, odd)):
        text = "".join(parts)
        assert "&#60;script&#62;alert(&#39;x&#39;)" in text and "<script>" not in text and "'x'" not in text


def test_the_thing_is_true(place):
    """Follow every HTTP form of the Thing Description; what comes must fit its own data schema."""
    with serve(place) as board:
        visitor = Visitor(board.port)
        answer, text = visitor.ask("GET", "/.well-known/wot")
        assert answer.headers["Content-Type"] == "application/td+json"
        thing = json.loads(text)
        visitor.enter()
        for name, affordance in thing["properties"].items():
            form = next(form for form in affordance["forms"] if form["op"] == "readproperty")
            answer, text = visitor.ask("GET", "/" + form["href"])
            assert answer.status == 200 and answer.headers["Content-Type"] == form["contentType"]
            Draft7Validator(affordance).validate(json.loads(text))
        for name, affordance in thing["actions"].items():
            wishes = [wish for choice in affordance["input"]["oneOf"] for wish in choice.get("enum", [choice.get("maximum")])]
            for wish in wishes[:3] + wishes[-1:]:
                answer, _ = visitor.ask("POST", "/" + affordance["forms"][0]["href"], json.dumps(wish), **JSON)
                assert answer.status == 204, (name, wish)
        event = thing["events"]["happened"]["forms"][0]
        assert event["href"] == "news" and event["subprotocol"] == "sse"


HOSTILE = [b"", b"\r\n\r\n", b"\x16\x03\x01" + bytes(500), b"GET / HTTP/1.1\r\n" + b"X: y\r\n" * 1000, b"GET /" + b"%00" * 5000,
           b"POST /login HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: 99999\r\n\r\n" + b"x" * 99999,
           b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n",
           b"POST /channel/lamp/ask HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Type: application/json\r\nContent-Length: 4\r\n\r\n\"on\"",
           b"PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n"]


def test_hostile_requests_are_answered_and_change_nothing(place):
    with serve(place) as board:
        Visitor(board.port).ask("GET", "/")
        for data in HOSTILE:
            with socket.create_connection(("127.0.0.1", board.port), 5) as link:
                try:
                    link.sendall(data)
                    link.shutdown(socket.SHUT_WR)
                    link.settimeout(5)
                    back = link.recv(100)
                except (ConnectionResetError, BrokenPipeError, OSError):
                    back = b""
                assert not back.startswith(b"HTTP/1.1 2")
        assert Visitor(board.port).ask("GET", "/")[0].status == 200
    assert board.said["moves"] == [] and board.said["still_open"] == 0


def held(board, source="127.0.0.1", sent=b""):
    """Return a connection from an address of this machine that takes little and has sent this much."""
    link = socket.create_connection(("127.0.0.1", board.port), 5, source_address=(source, 0))
    link.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 2048)
    link.sendall(sent)
    return link


NEWS = b"GET /news HTTP/1.1\r\nHost: 127.0.0.1\r\nCookie: %s\r\n\r\n"
UNSIGNED = b"POST /program HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: 500000\r\n\r\n"


def test_the_page_is_there_at_once_when_others_hold_all_connections(place):
    """Silent, half-written, never-reading and dripping visitors give way, whether they come from one address or from several."""
    with serve(place) as board:
        visitor = Visitor(board.port)
        visitor.enter()
        links = [held(board, f"127.0.0.{2 + number % 2}", [b"", b"GET / HT", b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n", UNSIGNED][number % 4])
                 for number in range(3 * CONNECTIONS)]
        links += [held(board, sent=NEWS % visitor.cookie.encode()) for _ in range(LISTENERS)]
        for _ in range(3):
            began = time.monotonic()
            assert visitor.ask("GET", "/channel/lamp")[0].status == 200 and visitor.enter()[0].status == 303
            assert time.monotonic() - began < 3
            links += [held(board, "127.0.0.2") for _ in range(CONNECTIONS)]
        for link in links:
            link.close()
    assert board.said["turned_away"] == 0 and board.said["listeners"] <= LISTENERS


def crowd(port, ended, addresses=64, rate=70):
    """Open connections that say nothing from many addresses in turn, and keep the last few hundred of them."""
    held = []
    while not ended.wait(1 / rate):
        link = socket.socket()
        link.setblocking(False)
        link.bind((f"127.0.1.{len(held) % addresses + 1}", 0))
        link.connect_ex(("127.0.0.1", port))
        held.append(link)
        if len(held) > 300:
            for old in held[:addresses]:
                old.close()
            del held[:addresses]
    for link in held:
        link.close()


def test_in_a_crowd_of_sixty_four_addresses_a_device_that_logged_in_before_comes_in(place):
    """Its session is over; looking at a passphrase takes far longer than anybody of the crowd keeps a place."""
    ended = threading.Event()
    with serve(place, record=passphrase_record(PASSPHRASE, rounds=40_000)) as board:
        owner = Visitor(board.port)
        assert owner.enter()[0].status == 303
        owner.cookie, began = None, time.monotonic()
        assert owner.enter()[0].status == 303
        alone = time.monotonic() - began
        owner.cookie = None
        thread = threading.Thread(target=crowd, args=(board.port, ended))
        thread.start()
        try:
            time.sleep(1)
            began = time.monotonic()
            while owner.cookie is None or owner.level("lamp") not in (0, 1):
                assert time.monotonic() - began < COMES_IN_S
                try:
                    owner.enter()
                except (OSError, HTTPException):
                    time.sleep(0.2)
        finally:
            ended.set()
            thread.join()
    assert alone > CONNECTIONS * ACCEPT_S       # else any place would do


def test_who_is_known_by_a_session_is_not_pushed_out_and_who_floods_pushes_out_its_own(place):
    with serve(place) as board:
        visitor = Visitor(board.port)
        visitor.enter()
        listening = held(board, sent=NEWS % visitor.cookie.encode())
        time.sleep(0.3)
        other = held(board, "127.0.0.3", b"GET /channel/lamp HTTP/1.1\r\nHost: ")
        flood = [held(board, "127.0.0.2") for _ in range(5 * CONNECTIONS)]
        other.sendall(b"127.0.0.1\r\nCookie: %s\r\n\r\n" % visitor.cookie.encode())
        other.settimeout(5)
        assert other.recv(12) == b"HTTP/1.1 200"
        visitor.ask("POST", "/channel/lamp/ask", '"on"', **JSON)
        listening.settimeout(10)
        heard = b""
        while b'event: channel/lamp\ndata: {"level":1,' not in heard:
            part = listening.recv(4096)
            assert part                             # it was not closed
            heard += part
        for link in [listening, other, *flood]:
            link.close()
    assert board.said["turned_away"] == 0


def test_a_connection_that_proves_nothing_is_over_when_its_seconds_are():
    queue = Board().queue
    served, port = Server(queue, lambda: SetupSite(queue, None, "", None)), free_port()

    async def waited():
        serving = asyncio.create_task(served.run("127.0.0.1", port))
        await asyncio.sleep(0.1)
        reader, writer = await asyncio.open_connection("127.0.0.1", port)
        writer.write(b"GET / HT")
        await asyncio.sleep(1.2)
        assert served.open == 1
        queue.seconds += UNPROVEN_S + 1
        began = time.monotonic()
        try:
            assert await reader.read() == b""
        except ConnectionResetError:
            pass
        assert time.monotonic() - began < 3 < REQUEST_S and served.open == 0
        writer.close()
        serving.cancel()

    asyncio.run(waited())


def test_where_all_places_are_proven_a_further_one_is_told_to_come_back():
    served = Server(Board().queue, lambda: SetupSite(Board().queue, None, "", None))

    async def crowded():
        places = [Place("127.0.0.1", 0) for _ in range(CONNECTIONS)]
        for place in places:
            place.is_proven = True
        served._places += places
        here, there = socket.socketpair()
        here.setblocking(False)
        await served._connected(here, "127.0.0.1")
        assert there.recv(100).startswith(b"HTTP/1.1 503") and served._places == places and served.turned_away == 1
        there.close()

    asyncio.run(crowded())


LET_GO = SERVE.replace("server = server.Server", "server.IDLE_S = 1\nserver = server.Server").replace("still_open=", "parts=[name for name in sys.modules if name.startswith('radio.http.')], still_open=").replace("import gc", "import gc, sys")


def test_what_speaks_with_visitors_is_loaded_for_them_let_go_after_them_and_loaded_again(place):
    """Sessions and tries outlive it; where all of Python is at hand nothing is let go."""
    folder, which = place
    (folder / "thing.json").write_bytes(b"{}")
    port = free_port()
    with Running(folder, which, LET_GO, record=RECORD, read_only=False, thing="thing.json", port=port) as board:
        visitor = Visitor(port)
        visitor.enter()
        time.sleep(3.5)                 # the simulated board's second is one of ours
        assert visitor.level("lamp") in (0, 1)
        time.sleep(3.5)
    assert board.said["still_open"] == 0 and board.said["turned_away"] == 0
    loaded = {name.rpartition(".")[2] for name in board.said["parts"]}
    assert loaded == {"tries", "server"} if which == "micropython" else loaded >= {"tries", "login", "server", "site", "exchange"}
