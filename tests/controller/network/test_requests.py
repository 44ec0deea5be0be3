"""HTTP requests: the one form that is taken, what is refused with which status, and hostile bytes."""

import asyncio

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pattress.controller.network.http import login, site
from pattress.controller.network.http.requests import BODY_LIMIT, HEAD_LIMIT, BadRequest, Reader, form

from .board import Board
from .pages import RECORD

GOOD = b"POST /channel/lamp/ask HTTP/1.1\r\nHost: home.local\r\nCookie: a=1; session=abc\r\nContent-Type: application/json; charset=utf-8\r\nContent-Length: 4\r\n\r\n\"on\""


def read(data, size=7):
    """Feed a request in small parts, as a connection does; return it when whole."""
    reader = Reader()
    for start in range(0, len(data), size):
        request = reader.feed(data[start:start + size])
        if request is not None:
            return request
    return None


@pytest.mark.parametrize("size", [1, 7, 1000])
def test_a_request_is_read_however_it_is_cut(size):
    request = read(GOOD, size)
    assert (request.method, request.path, request.body) == ("POST", "/channel/lamp/ask", b'"on"')
    assert request.kind() == "application/json" and request.cookie("session") == "abc" and request.cookie("b") == ""
    assert read(GOOD[:-1]) is None


@pytest.mark.parametrize("data, status, reason", [
    (b"GET / HTTP/1.1\r\n\r\n", 400, "the host is missing"),
    (b"GET  / HTTP/1.1\r\nHost: a\r\n\r\n", 400, "the request line has not three parts"),
    (b"GET / HTTP/2.0\r\nHost: a\r\n\r\n", 505, "the version is neither HTTP/1.1 nor HTTP/1.0"),
    (b"PUT / HTTP/1.1\r\nHost: a\r\n\r\n", 501, "the method is none of GET, HEAD and POST"),
    (b"GET http://a/ HTTP/1.1\r\nHost: a\r\n\r\n", 400, "the path does not begin with / or is too long"),
    (b"GET /\x00 HTTP/1.1\r\nHost: a\r\n\r\n", 400, "a control character in the head"),
    (b"GET /" + b"a" * 200 + b" HTTP/1.1\r\nHost: a\r\n\r\n", 400, "the path does not begin with / or is too long"),
    (b"GET / HTTP/1.1\r\nHost: a\r\nHost: b\r\n\r\n", 400, "host is there twice"),
    (b"GET / HTTP/1.1\nHost: a\n\n\r\n\r\n", 400, "a control character in the head"),
    (b"GET / HTTP/1.1\r\nHost: a\r\n folded\r\n\r\n", 400, "a header field without a name"),
    (b"GET / HTTP/1.1\r\nHost : a\r\n\r\n", 400, "a header field with an odd name"),
    (b"GET / HTTP/1.1\r\nHost: a\r\n: b\r\n\r\n", 400, "a header field without a name"),
    (b"GET / HTTP/1.1\r\nHost: \xff\r\n\r\n", 400, "a header field that is not UTF-8"),
    (b"POST / HTTP/1.1\r\nHost: a\r\n\r\n", 411, "the length of the body is missing"),
    (b"POST / HTTP/1.1\r\nHost: a\r\nContent-Length: -1\r\n\r\n", 400, "the length of the body is no number"),
    (b"POST / HTTP/1.1\r\nHost: a\r\nContent-Length: 4\r\nContent-Length: 5\r\n\r\n", 400, "content-length is there twice"),
    (b"POST / HTTP/1.1\r\nHost: a\r\nContent-Length: 0x4\r\n\r\n", 400, "the length of the body is no number"),
    (b"POST / HTTP/1.1\r\nHost: a\r\nContent-Length: %d\r\n\r\n" % (BODY_LIMIT + 1), 413, "the body is longer than 512 bytes"),
    (b"POST / HTTP/1.1\r\nHost: a\r\nTransfer-Encoding: chunked\r\n\r\n", 501, "a body of unknown length is not taken"),
    (b"POST / HTTP/1.1\r\nHost: a\r\nContent-Length: 4\r\nTransfer-Encoding: chunked\r\n\r\n", 501, "a body of unknown length is not taken"),
    (b"POST / HTTP/1.1\r\nHost: a\r\nExpect: 100-continue\r\nContent-Length: 4\r\n\r\n", 417, "nothing may be expected"),
    (b"GET / HTTP/1.1\r\nHost: a\r\n" + b"A: b\r\n" * 60 + b"\r\n", 431, "too many header fields"),
    (b"GET / HTTP/1.1\r\nHost: a\r\nB: " + b"c" * 3000, 431, "the head is too long"),
    (b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03\r\n\r\n", 400, "a control character in the head"),
])
def test_what_can_be_read_in_two_ways_is_refused(data, status, reason):
    with pytest.raises(BadRequest) as refused:
        read(data)
    assert (refused.value.status, refused.value.reason) == (status, reason)


@pytest.mark.parametrize("body, fields", [
    (b"passphrase=k7rm-2xqf&token=1", {"passphrase": "k7rm-2xqf", "token": "1"}), (b"a=b+c%20d%C3%A4", {"a": "b c dä"}),
    (b"", {}), (b"a=%", {}), (b"a=%zz", {}), (b"a=%ff", {}), (b"=b", {}), (b"&&&", {}), (b"&".join(b"f%d=x" % i for i in range(20)), {f"f{i}": "x" for i in range(8)}),
])
def test_forms(body, fields):
    assert form(body) == fields


def hold_against_hostile_bytes(entropy):
    """Spell a damaged request out of bytes; it is read, refused or waited for, never more than the limits are held.

    What is read is answered, and no relay moves: the session in it is nobody's.
    """
    data = bytearray(GOOD)
    for at in range(0, len(entropy) - 2, 3):
        place, change, byte = entropy[at:at + 3]
        place %= len(data)
        if change < 120:
            data[place] = byte
        elif change < 200:
            data[place:place] = bytes((byte,)) * (change - 119)
        else:
            del data[place:place + change - 199]
        if not data:
            break
    reader = Reader()
    try:
        for start in range(0, len(data), 64):
            request = reader.feed(bytes(data[start:start + 64]))
            if request is not None:
                assert request.path.startswith("/") and len(request.body) <= BODY_LIMIT
                form(request.body)
                request.kind(), request.cookie("session")
                answered(request)
                break
            assert len(reader._data) <= HEAD_LIMIT + BODY_LIMIT + 64
    except BadRequest as refused:
        assert 400 <= refused.status < 600


def answered(request):
    """Let the site of a fresh board answer; the loop lives on, and nothing was asked of it. Return the status."""
    board = Board(fresh=True)
    before = bytes(board.home.state)
    page = site.Site(board.queue, login.Guard(RECORD, lambda: board.queue.seconds), "home", ".", None)
    reply = asyncio.run(page.reply(request))
    assert 200 <= reply.status < 600
    for part in reply.parts:
        assert len(part) < 4096
    board.turn(0)
    assert board.taken == [] and bytes(board.home.state) == before
    return reply.status


def test_the_hostile_requests_reach_the_site():
    """Undamaged it is a request of somebody without a session."""
    assert answered(read(GOOD)) in (401, 403) and answered(read(GOOD.replace(b"home.local", b"elsewhere"))) == 421


# A name that others have: docs/network.md, Discovery.
@pytest.mark.parametrize("host", ["home", "home.local", "HOME.local:80", "home-2.local", "home-9", "localhost", "192.0.2.7:8080"])
def test_each_name_that_the_controller_may_have_is_its_own(host):
    assert answered(read(GOOD.replace(b"home.local", host.encode()))) == 401


@pytest.mark.parametrize("host", ["", "home-10.local", "home-0.local", "home-x.local", "home--2", "home2", "-2", "xhome-2", "home-2.example", "home.local.example",
                                  "home-\u00b2", "1.2.3"])
def test_any_other_name_is_refused(host):
    assert answered(read(GOOD.replace(b"home.local", host.encode()))) == 421


@settings(max_examples=2000, deadline=None)
@given(st.binary(max_size=30))
def test_hostile_requests_do_no_harm(entropy):
    hold_against_hostile_bytes(entropy)


@pytest.mark.soak
@settings(max_examples=100_000, deadline=None)
@given(st.binary(max_size=60))
def test_hostile_requests_do_no_harm_in_the_long_run(entropy):
    hold_against_hostile_bytes(entropy)


@settings(max_examples=500)
@given(st.binary(max_size=300))
def test_noise_is_no_request(noise):
    try:
        assert read(noise + b"\r\n\r\n") is None or noise.startswith((b"GET /", b"HEAD /", b"POST /"))
    except BadRequest:
        pass
