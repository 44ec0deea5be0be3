"""What may be asked: exactly the words of the grammar, in either spelling, and nothing near them."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pattress.controller import core
from pattress.controller.core import DOWN, OFF, ON, SET, TOGGLE, UP
from pattress.controller.network.channel_requests import allowed, parsed

WORDS = {"on": (ON, 0), "off": (OFF, 0), "toggle": (TOGGLE, 0), "up": (UP, 0), "down": (DOWN, 0)}


@pytest.mark.parametrize("word", WORDS)
def test_a_word_is_understood_plain_and_as_json(word):
    for payload in (word, json.dumps(word), f" {word}\n"):
        assert parsed(payload.encode(), core) == WORDS[word]


@given(st.integers(0, 99))
def test_a_level_is_understood(level):
    assert parsed(json.dumps(level).encode(), core) == (SET, level)


def test_truth_is_on_and_falsehood_off():
    assert parsed(b"true", core) == (ON, 0) and parsed(b"false", core) == (OFF, 0)


@pytest.mark.parametrize("payload", [
    b"", b" ", b"ON", b"On", b"set", b'"set"', b'"3"', b'""', b'"', b"-1", b"+1", b"1.0", b"1e1", b"03", b"100", b"on off", b"onn",
    b"null", b"[]", b"{}", b'{"do":"on"}', b"on\x00", b"\xff", b"True", b"'on'", b'"on', b"on" + b" " * 20, b"\xef\xbb\xbfon",
])
def test_what_is_near_the_grammar_is_not_in_it(payload):
    assert parsed(payload, core) is None


@given(st.binary(max_size=20))
def test_any_bytes_give_a_request_or_none(payload):
    found = parsed(payload, core)
    assert found is None or found[0] in range(len(core.VERBS)) and 0 <= found[1] <= 99


def test_the_grammar_is_told_in_words():
    assert allowed(4) == "on, off, toggle, up, down, true, false, or 0 to 4"
