"""The batch form gives the decoder's own answers, capture by capture, whatever the captures are."""

import random

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from pattress.controller.infrared import protocols as p
from pattress.infrared.decoding import decode
from pattress.infrared.encoding import ENCODED, signal
from pattress.job.code import Code, canonical
from tests.infrared import disturbance
from tests.infrared.batch import decode_many, frames_of, pack


def some_capture(source):
    """A press of any protocol, mostly little disturbed, at times cut, repeated, noisy or nonsense."""
    protocol = source.choice(ENCODED)
    address = 0x800F if protocol == p.RC6MCE else source.getrandbits(p.ADDRESS_BITS[protocol])
    code = canonical(Code(protocol, address, source.getrandbits(p.COMMAND_BITS[protocol])))
    sent = signal(code, held=source.choice((0, 0, 0, 1)), toggle=source.randrange(2)).durations
    kind = source.randrange(10)
    if kind < 4:
        return list(sent[:-1] if source.random() < 0.5 else sent)
    if kind < 7:
        sent = disturbance.stretched(sent, stretch=source.randint(-60, 160))
        return disturbance.jittered(sent, source, sigma=source.choice((10, 30, 60)))
    if kind == 7:
        place = source.randrange(len(sent))
        return [*sent[:place], source.choice((0, -5, 1, 100, 7000)), *sent[place + 1:]]
    if kind == 8:
        return list(sent[source.randrange(4):source.randrange(len(sent))])
    return disturbance.noise(source, count=source.randrange(120))


def test_batch_and_decoder_agree_on_a_mixed_corpus():
    source = random.Random(7)
    captures = [some_capture(source) for _ in range(600)]
    assert frames_of(decode_many(pack(captures)), len(captures)) == [decode(capture) for capture in captures]


@given(st.lists(st.lists(st.integers(-5, 6000) | st.sampled_from((560, 889, 444, 1690, 9000, 4500)), max_size=70), max_size=6))
@settings(max_examples=60, deadline=None)
def test_batch_and_decoder_agree_on_any_integers(captures):
    assert frames_of(decode_many(pack(captures)), len(captures)) == [decode(capture) for capture in captures]


@given(st.integers(0, 2**32), st.integers(100, 200))
@settings(max_examples=10, deadline=None)
def test_batch_and_decoder_agree_at_the_edges_of_the_windows(seed, percent):
    """Durations scaled until they leave the strict windows one after the other."""
    source = random.Random(seed)
    captures = []
    for protocol in ENCODED:
        address = 0x800F if protocol == p.RC6MCE else source.getrandbits(p.ADDRESS_BITS[protocol])
        sent = signal(canonical(Code(protocol, address, source.getrandbits(p.COMMAND_BITS[protocol])))).durations
        place = source.randrange(len(sent) - 1)
        captures.append([value * percent // 130 if at == place else value for at, value in enumerate(sent)])
        captures.append([value * percent // 150 for value in sent])
    assert frames_of(decode_many(pack(captures)), len(captures)) == [decode(capture) for capture in captures]


def test_batch_and_decoder_agree_on_frames_of_makers_with_a_check():
    source, captures = random.Random(48), []
    for vendor in (0x2002, 0x3254, 0x0103, 0x5AAA, 0x6314):
        parity = (vendor ^ vendor >> 4 ^ vendor >> 8 ^ vendor >> 12) & 0xF
        for _ in range(60):
            code = Code(p.AEHA, vendor << 12 | source.getrandbits(12), source.getrandbits(16))
            captures.append(signal(code).durations)
            octets = [parity | (code.address & 0xF) << 4, code.address >> 4 & 0xFF, code.command >> 8]
            low = source.getrandbits(4) if vendor == 0x5AAA else None
            rest = octets[0] ^ octets[1] ^ octets[2]
            six = rest if low is None else low | (rest & 0xF ^ rest >> 4 ^ low ^ 0xF) << 4
            captures.append(signal(Code(p.AEHA, code.address, octets[2] << 8 | six)).durations)
    table = frames_of(decode_many(pack(captures)), len(captures))
    assert table == [decode(capture) for capture in captures]
    assert sum(bool([frame for frame in frames if frame.trusted]) for frames in table) > 60 * 6


def test_batch_and_decoder_agree_on_rc6_bodies_behind_leaders_that_are_nearly_theirs():
    source, captures = random.Random(6), []
    for _ in range(150):
        body = signal(Code(p.RC6, source.getrandbits(8), source.getrandbits(8))).durations[2:]
        for mark, space in ((2592, 648), (2592, 760), (2400, 889), (2359, 1300), (2359, 1620)):     # SIRC 8 % slow, clipped AEHA
            captures.append([mark + source.randint(-20, 20), space + source.randint(-20, 20), *body])
    assert frames_of(decode_many(pack(captures)), len(captures)) == [decode(capture) for capture in captures]


def test_most_clean_captures_take_the_fast_way(monkeypatch):
    """Otherwise the batch form would be right but pointless."""
    source = random.Random(3)
    captures = [signal(canonical(Code(number, source.getrandbits(p.ADDRESS_BITS[number]), source.getrandbits(
        p.COMMAND_BITS[number])))).durations for number in ENCODED for _ in range(50)]
    slow = []
    monkeypatch.setattr("tests.infrared.batch.decode", lambda capture, decoder: slow.append(capture) or [])
    table = decode_many(pack(captures))
    assert len(slow) == 0 and np.array_equal(table["capture"], np.arange(len(captures)))


def test_no_captures_at_all():
    assert frames_of(decode_many(pack([])), 0) == []
    assert frames_of(decode_many(pack([[], [500]])), 2) == [[], []]
