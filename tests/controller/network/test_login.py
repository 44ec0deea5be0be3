"""Who may ask: the key against a published value and the standard library, tries, sessions, forms."""

import asyncio
from hashlib import pbkdf2_hmac

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pattress.bundle.passphrase import LETTERS, new_passphrase, passphrase_record
from pattress.controller.network.http.login import LONGEST_S, SESSION_S, SESSIONS, Guard, form_token, is_same, stretched
from pattress.controller.network.http.tries import ALL_TRIES, PEERS, TRIES, TRY_S, Memory, Tries

PASSPHRASE = "k7rm-2xqf-9b3t-wn6e"


class Clock:
    now = 1000

    def __call__(self):
        return self.now


def guard(**more):
    clock = Clock()
    return Guard(passphrase_record(PASSPHRASE, rounds=10, salt=bytes(16)), clock, **more), clock


def enter(guard, passphrase, *who):
    return asyncio.run(guard.enter(passphrase.encode(), *who))


# RFC 7914, section 11, PBKDF2-HMAC-SHA-256 (from memory): the first 32 of 64 bytes.
PUBLISHED = [("passwd", "salt", 1, "55ac046e56e3089fec1691c22544b605f94185216dde0465e68b9d57c20dacbc")]


@pytest.mark.parametrize("passphrase, salt, rounds, key", PUBLISHED)
def test_the_key_follows_the_published_vector(passphrase, salt, rounds, key):
    assert asyncio.run(stretched(passphrase.encode(), salt.encode(), rounds)).hex() == key


@settings(max_examples=50)
@given(passphrase=st.binary(min_size=1, max_size=64), salt=st.binary(max_size=20), rounds=st.integers(1, 30))
def test_the_key_is_that_of_the_standard_library(passphrase, salt, rounds):
    assert asyncio.run(stretched(passphrase, salt, rounds)) == pbkdf2_hmac("sha256", passphrase, salt, rounds)


def test_the_right_passphrase_opens_a_session_and_a_wrong_one_does_not():
    ours, _ = guard()
    assert enter(ours, "k7rm-2xqf-9b3t-wn6f") == "" and enter(ours, "") == "" and enter(ours, "x" * 65) == ""
    session = enter(ours, PASSPHRASE)
    assert len(session) == 32 and ours.may_ask(session) and ours.may_read(session)
    assert not ours.may_ask("") and not ours.may_read("") and not ours.may_ask(session[:-1] + "x")
    ours.leave(session)
    assert not ours.may_ask(session)


def test_without_a_passphrase_all_may_read_and_nobody_may_ask():
    ours = Guard(None, Clock())
    assert ours.may_read("") and not ours.may_ask("")
    assert enter(ours, "") == "" and enter(ours, PASSPHRASE) == ""


def test_read_only_holds_against_the_right_passphrase():
    ours, _ = guard(read_only=True)
    assert not ours.may_ask(enter(ours, PASSPHRASE)) and ours.may_read("")


def test_tries_run_out_and_come_back_one_at_a_time():
    ours, clock = guard()
    for _ in range(TRIES):
        assert ours.wait() == 0 and enter(ours, "wrong wrong") == ""
    assert ours.wait() > 0
    assert enter(ours, PASSPHRASE) == ""            # not even the right one
    clock.now += TRY_S
    assert ours.wait() == 0 and enter(ours, "wrong wrong") == "" and ours.wait() > 0
    tried = 0
    for _ in range(3600):                           # an hour of trying every second
        clock.now += 1
        if not ours.wait():
            enter(ours, "wrong wrong")
            tried += 1
    assert tried == 3600 // TRY_S


def test_tries_at_the_same_time_are_counted_too():
    async def at_once():
        ours, _ = guard()
        found = await asyncio.gather(*[ours.enter(b"wrong wrong") for _ in range(50)])
        return ours.wait(), found
    wait, found = asyncio.run(at_once())
    assert wait > 0 and set(found) == {""}


def test_a_stranger_at_two_and_a_half_tries_a_second_keeps_nobody_else_out():
    ours, clock = guard()
    for number in range(2500):
        clock.now += number % 5 in (1, 3)
        enter(ours, "wrong wrong", "stranger")
        assert not ours.wait("owner")
    assert ours.wait("stranger") and enter(ours, PASSPHRASE, "owner")


def test_a_device_that_logged_in_has_a_place_though_all_others_are_taken():
    ours, clock = guard()
    assert enter(ours, PASSPHRASE, "phone")
    device = ours.device()
    assert ours.device(device) == device and ours.device("x") != device and len(device) == 40
    for number in range(ALL_TRIES + 1):
        enter(ours, "wrong wrong", f"stranger {number}")
    assert ours.wait("another") and ours.wait("phone") and enter(ours, PASSPHRASE, "phone") == ""
    assert not ours.wait("phone", device) and enter(ours, PASSPHRASE, "phone", device)


def test_the_cookie_of_a_device_opens_nothing_cannot_be_made_and_is_limited_too():
    ours, clock = guard()
    device = ours.device()
    assert not ours.is_open(device) and enter(ours, device, "phone", device) == ""
    for wrong in ("", device[:-1] + "x", "0" * 16 + device[16:], device[:16], device + "0", Guard(
            passphrase_record(PASSPHRASE, rounds=10), clock).device()):
        for _ in range(TRIES):
            enter(ours, "wrong wrong", "stranger", wrong)
        assert ours.wait("stranger", wrong)
    for _ in range(TRIES):
        assert enter(ours, "wrong wrong", "phone", device) == ""
    assert ours.wait("phone", device) and enter(ours, PASSPHRASE, "phone", device) == ""
    assert Guard(None, clock).wait("phone", device) == 0


def test_a_thousand_addresses_try_together_no_faster_than_one_a_second():
    ours, clock = guard()
    tried = 0
    for second in range(1000):
        clock.now += 1
        for number in range(3):
            if not ours.wait(f"{second} {number}"):
                enter(ours, "wrong wrong", f"{second} {number}")
                tried += 1
    assert tried <= ALL_TRIES + 1000
    assert len(ours._memory.tries._rows) <= PEERS


@settings(max_examples=100)
@given(st.lists(st.tuples(st.integers(0, 4), st.integers(0, 20)), max_size=60))
def test_no_peer_does_more_than_it_may(moments):
    """Whoever does it at each chance within `span` does it at most `most` times and once more for each `seconds`."""
    tries, now, done = Tries(3, 10), 0, {}
    for peer, passed in moments:
        now += passed
        if not tries.wait(peer, now):
            tries.count(peer, now)
            done.setdefault(peer, []).append(now)
    for times in done.values():
        for i, first in enumerate(times):
            for j in range(i, len(times)):
                assert j - i + 1 <= 3 + (times[j] - first) // 10 + 1


def test_a_session_ends_a_week_after_it_was_opened_however_often_it_is_used():
    ours, clock = guard()
    session = enter(ours, PASSPHRASE)
    opened = clock.now
    while clock.now - opened < LONGEST_S - 1:
        assert ours.may_read(session)           # as the news ask, again and again
        clock.now += min(3600, LONGEST_S - 1 - (clock.now - opened))
    assert ours.may_read(session)
    clock.now += 1
    assert not ours.may_read(session) and not ours.may_ask(session)


def test_sessions_end_when_unused_and_the_oldest_makes_room():
    ours, clock = guard()
    sessions = [enter(ours, PASSPHRASE) for _ in range(SESSIONS)]
    assert all(map(ours.is_open, sessions)) and ours.is_open(sessions[0])      # the first was used last
    newest = enter(ours, PASSPHRASE)
    assert not ours.is_open(sessions[1]) and ours.is_open(sessions[0]) and ours.is_open(newest)
    clock.now += SESSION_S - 1
    assert ours.is_open(newest)
    clock.now += SESSION_S - 1
    assert ours.is_open(newest) and not ours.is_open(sessions[0])


def test_secrets_are_compared_whole():
    assert is_same(b"abc", b"abc") and not is_same(b"abc", b"abd") and not is_same(b"abc", b"ab") and is_same(b"", b"")


def test_tries_and_sessions_outlive_the_guard_that_is_let_go():
    memory = Memory()
    first, _ = guard(memory=memory)
    token = enter(first, PASSPHRASE)
    for _ in range(TRIES):
        enter(first, "wrong", "192.0.2.66")
    second, _ = guard(memory=memory)
    assert second.is_open(token) and second.wait("192.0.2.66") and not second.wait("192.0.2.5")
    assert not guard()[0].is_open(token)        # without it nothing is known


def test_forms_of_two_sessions_differ():
    assert form_token("a" * 32) != form_token("b" * 32) and len(form_token("")) == 24


def test_a_passphrase_for_a_label():
    made = {new_passphrase() for _ in range(100)}
    assert len(made) == 100
    assert all(len(one) == 19 and set(one) <= set(LETTERS + "-") for one in made)
    assert not set(LETTERS) & set("01ilo")
    assert passphrase_record(PASSPHRASE) != passphrase_record(PASSPHRASE)           # the salt is new each time
    with pytest.raises(ValueError, match="^passphrase must be 8 to 64 bytes, found 5$"):
        passphrase_record("short")
