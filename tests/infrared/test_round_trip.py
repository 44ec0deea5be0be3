"""What the encoder sends, the board's decoder reads: every protocol, its whole code space, pressed and held."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pattress.controller.infrared import protocols as p
from pattress.infrared.decoding import decode
from pattress.infrared.encoding import ENCODED, signal, wire_bits
from pattress.job.code import Code, CodeError, canonical

TOGGLED = (p.RC5, p.RC5SZ, p.RC6, p.RC6A20, p.RC6A24, p.RC6A32, p.RC6MCE)


def codes_of(protocol):
    address = st.integers(0, (1 << p.ADDRESS_BITS[protocol]) - 1)
    if protocol == p.RC6MCE:
        address = st.just(0x800F)
    command = st.integers(0, (1 << p.COMMAND_BITS[protocol]) - 1)
    return st.builds(Code, st.just(protocol), address, command).map(canonical)


def test_every_protocol_but_the_unnamed_can_be_sent():
    assert set(ENCODED) == set(range(1, len(p.PROTOCOLS))) - {p.HASH}


@pytest.mark.parametrize("protocol", ENCODED, ids=lambda number: p.PROTOCOLS[number])
@settings(max_examples=60, deadline=None)
@given(data=st.data())
def test_one_press_held_for_two_repeats_decodes_to_the_same_code(protocol, data):
    code = data.draw(codes_of(protocol))
    toggle = data.draw(st.integers(0, 1)) if protocol in TOGGLED else 0
    frames = decode(signal(code, held=2, toggle=toggle).durations)
    assert [frame.code for frame in frames] == [code] * len(frames)
    # of a Sharp or Denon pair every further half confirms the key again
    assert len(frames) == (5 if protocol in (p.SHARP, p.DENON) else 3)
    assert [frame.repeat for frame in frames] == [False] + [True] * (len(frames) - 1)
    assert all(frame.trusted for frame in frames)
    assert frames[0].toggle == (toggle if protocol in TOGGLED else None)


@pytest.mark.parametrize("protocol", TOGGLED, ids=lambda number: p.PROTOCOLS[number])
@given(data=st.data())
@settings(max_examples=20, deadline=None)
def test_a_flipped_toggle_is_a_new_press(protocol, data):
    code = data.draw(codes_of(protocol))
    frames = decode(signal(code, toggle=0).durations + signal(code, toggle=1).durations)
    assert [(frame.code, frame.repeat, frame.toggle) for frame in frames] == [(code, False, 0), (code, False, 1)]


@pytest.mark.parametrize("protocol", ENCODED, ids=lambda number: p.PROTOCOLS[number])
@given(data=st.data())
@settings(max_examples=20, deadline=None)
def test_the_same_key_after_the_key_up_time_is_a_new_press(protocol, data):
    code = data.draw(codes_of(protocol))
    press = signal(code).durations
    frames = decode((*press[:-1], 300_000, *press))
    assert [(frame.code, frame.repeat) for frame in frames] == [(code, False), (code, False)]


def test_a_plain_nec_frame_lasts_what_the_data_sheet_says():
    """67.5 ms from the leader to the end of the 32nd bit, 16 ones and 16 zeros (uPD6121, U10114EJ6V0DS00)."""
    for address, command in ((0x00, 0x00), (0x04, 0x08), (0xFF, 0xA5)):
        code = Code(p.NEC, address, command)
        assert sum(wire_bits(code)) == 16
        assert sum(signal(code).durations[:66]) == pytest.approx(67500, abs=32)     # 562.5 is sent as 562
        assert sum(signal(code).durations) == 108000


def test_an_rc5_frame_lasts_what_its_bits_say():
    """14 bits of 1778 us are 24.9 ms (SB-Projects, RC-5); the first half bit is silence."""
    frame = signal(Code(p.RC5, 0x05, 0x35)).durations[:-1]
    assert 24900 - 889 - 889 - 20 <= sum(frame) <= 24900 - 889


def test_a_recorded_frame_has_the_recorded_bits():
    """40 04 05 43 FD BB, remote EUR648251, first bit sent = most significant (infrared notes)."""
    bits = [int(bit) for bit in f"{0x40040543FDBB:048b}"]
    octets = [sum(bit << place for place, bit in enumerate(bits[at:at + 8])) for at in range(0, 48, 8)]
    code = Code(p.KASEIKYO, 0x2002 << 12 | octets[3] << 4 | octets[2] >> 4, octets[4])
    assert wire_bits(code) == bits


def test_a_ditto_alone_never_produces_a_command():
    press = signal(Code(p.NEC, 4, 8), held=3).durations
    frame, dittos = press[:68], press[68:]
    assert decode(dittos) == []
    assert [found.repeat for found in decode(frame + dittos)] == [False, True, True, True]
    assert len(decode((*frame[:-1], 300_000, *dittos))) == 1


def test_half_a_pair_is_told_but_not_trusted():
    press = signal(Code(p.SHARP, 5, 0x2A)).durations
    for half in (press[:31], press[32:]):
        (found,) = decode(half)
        assert found.code == Code(p.SHARP, 5, 0x2A) and not found.trusted


def test_a_headless_jvc_word_needs_an_equal_one():
    press = signal(Code(p.JVC, 3, 0x17), held=3).durations
    words = press[36:]
    assert decode(words[:33]) == []
    assert [found.code for found in decode(words)] == [Code(p.JVC, 3, 0x17)] * 2


def test_what_cannot_be_sent_is_refused_by_name():
    with pytest.raises(CodeError, match=r"^found protocol hash, which can be recognised but not sent\n  allowed: nec, necx, "):
        signal(Code(p.HASH, 1, 2))


@pytest.mark.parametrize("gap, trusted", [(12_000, False), (30_000, False), (38_000, True), (46_000, True), (70_000, False)])
def test_halves_are_a_pair_only_at_a_pairs_distance(gap, trusted):
    """40 ms (SB-Projects, Sharp) to 43.6 ms (JP1 Remotes wiki, Denon), with 8 % of clock error and lost time."""
    press = signal(Code(p.DENON, 2, 0x33)).durations
    found = decode((*press[:31], gap, *press[32:]))
    assert any(frame.trusted for frame in found) == trusted
    assert {frame.code for frame in found} == {Code(p.DENON, 2, 0x33)}
