"""What triggers our buttons besides ours: each circumstance is shown on the decoder itself, then found by the rules."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pattress.controller.infrared import protocols as p
from pattress.infrared.collisions import OFFERED, Remote, collisions, free_addresses, why_mistaken
from pattress.infrared.decoding import decode
from pattress.infrared.encoding import signal
from pattress.job.code import Code, parse_code

TELEVISION = Remote("television", (("power", parse_code("nec 0x04:0x08")), ("mute", parse_code("nec 0x04:0x09"))))
OURS = Remote("lamp", (("on", parse_code("nec 0x04:0x08")), ("off", parse_code("nec 0x05:0x09"))))


def test_the_television_that_switches_the_lamp():
    (found,) = collisions(OURS, [TELEVISION])
    assert found.certain
    assert str(found) == "television power (nec 0x04:0x08) triggers on (nec 0x04:0x08): the same frame"
    assert decode(signal(found.other).durations)[0].code == found.code


@pytest.mark.parametrize("heard, ours, loss, why", [
    ("sirc15 0x41:0x15", "sirc12 0x01:0x15", lambda sent: sent[:25], "the shorter code is the beginning of the longer"),
    ("sirc20 0x0140:0x15", "sirc12 0x01:0x15", lambda sent: sent[:25], "the shorter code is the beginning of the longer"),
    ("nec 0x12:0x34", "jvc 0x12:0xed", lambda sent: sent[:35], "the first half of this frame is the whole of ours"),
    ("necx 0x1234:0x56", "samsung 0x1234:0x56", lambda sent: (4500, *sent[1:]), "only the leader differs"),
    ("rc5sz 0x65:0x11", "rc5 0x05:0x51", None, None),
    ("aeha 0x2012345:0x1200", "kaseikyo 0x2012345:0x12", None, None),
    ("sirc12 0x01:0x15", "sirc12 0x01:0x14", None, "one bit differs and the protocol has no check"),
    ("rc5 0x01:0x15", "rc5 0x01:0x55", None, "one bit differs and the protocol has no check"),
    ("hash 0x1234:0x5678", "hash 0x1234:0x5678", None, "both are recognised by the same pattern only"),
])
def test_what_a_loss_turns_into_ours(heard, ours, loss, why):
    heard, ours = parse_code(heard), parse_code(ours)
    if loss:                       # the circumstance really makes the decoder report our code
        assert decode(loss(signal(heard).durations))[0].code == ours
    found = why_mistaken(heard=heard, for_=ours)
    assert found is None if why is None else found[1].startswith(why)


def test_an_rc5sz_frame_without_its_head_is_an_rc5_frame():
    heard = Code(p.RC5SZ, 0x45, 0x11)
    (lost,) = decode(signal(heard).durations[2:])
    assert lost.code.protocol == p.RC5
    assert why_mistaken(heard=heard, for_=lost.code) == (False, "ours is this frame without its first bit, if that is lost")


@given(st.data())
@settings(max_examples=80, deadline=None)
def test_no_collision_means_the_decoder_tells_them_apart(data):
    """Two codes the rules keep apart are never read as one another, whole or with the end lost."""
    def draw():
        number = data.draw(st.sampled_from(OFFERED))
        return data.draw(st.builds(Code, st.just(number), st.integers(0, min(1 << p.ADDRESS_BITS[number], 4) - 1),
                                   st.integers(0, 3)))
    heard, ours = draw(), draw()
    if why_mistaken(heard=heard, for_=ours) is None:
        sent = signal(heard).durations[:-1]
        for end in (len(sent), 25, 31, 35):
            assert ours not in [found.code for found in decode(sent[:end]) if found.trusted]


def test_proposals_are_free_and_keep_the_commands():
    proposals = free_addresses(OURS, [TELEVISION], count=2)
    assert {proposal.protocol for proposal in proposals} == set(OFFERED)
    for proposal in proposals:
        assert collisions(Remote("lamp", proposal.buttons), [TELEVISION]) == ()
        assert [code.command for _, code in proposal.buttons] == [0x08, 0x09]
        for _, code in proposal.buttons:
            assert decode(signal(code).durations)[0].code == code
    first = proposals[0]
    assert (first.protocol, first.address, first.apart) == (p.NEC, 0xFB, 8)      # every bit unlike 0x04
    assert str(first) == "nec address 0xfb: nec 0xfb:0x08 and on, 8 bits from any in use"


def test_a_full_room_leaves_no_address():
    crowd = Remote("crowd", tuple((f"key {address} {command}", Code(p.SHARP, address, command))
                                  for address in range(32) for command in (8, 9)))
    assert free_addresses(OURS, [crowd], protocols=(p.SHARP,)) == ()
