"""Whatever lies on the flash at power-up: the loop lives, no relay closes that the plan does not let close, a switch works."""

from binascii import crc32

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from pattress.controller import core
from pattress.controller.drivers.store import BEFORE, DAMAGED, WHOLE, pack

from .core.home import DOOR, TABLE
from .drivers import parts
from .drivers.rig import TAG, Rig
from .drivers.simulated import Board, Clock, Memory

WAITS = ("dead_ms", "minimum_off_ms", "restore_delay_ms", "kick_ms")
QUICK = TABLE | {"channels": [row | {name: min(row[name], 12) for name in WAITS} for row in TABLE["channels"]]}     # all of it within the test
PLAN = core.Plan(QUICK)
LENGTH = core.size(PLAN)
LAMP_RELAY = 3
AT_ONCE = sum(mask for row in QUICK["channels"] if not any(row[name] for name in WAITS) for mask in row["masks"])    # the lamp has no waits
LAMP_WAS_ON = bytes(5) + bytes((60, 0, 0, 0, 1, 0))
ENTROPY = st.binary(max_size=80)


def slot_of(entropy):
    """Spell what a slot holds out of bytes: nothing, junk, a whole record of any content, or one that was damaged."""
    if len(entropy) < 6:
        return b""
    kind, sequence, place, change, *rest = entropy
    content = bytes(rest)
    if kind < 60:
        return content
    record = bytearray(pack(content.ljust(LENGTH, b"\1")[:LENGTH], sequence, TAG))
    if kind > 180:
        record[place % len(record)] ^= change
        if kind > 220:              # the sum is right again: only what it says is strange
            record[-4:] = crc32(bytes(record[:-4])).to_bytes(4, "little")
    return bytes(record)


def hold_against_any_flash(entropy):
    """Return what the slots were found to be."""
    half = len(entropy) // 2
    flash = Memory()
    flash.slots = [slot_of(entropy[:half]), slot_of(entropy[half:])]
    before = list(flash.slots)
    rig = Rig(parts, Board(Clock()), QUICK, flash=flash, contacts=[35])
    first = {number: level for _, number, level in reversed(rig.board.driven)}
    assert all(first[number] != rig.level for number in rig.wiring.relays)      # power-up: every relay is driven open
    assert rig.relays() & ~AT_ONCE == 0                         # and only a channel without waits follows the slots in that moment
    for _ in range(12):
        rig.run(5)
        assert is_of_the_plan(rig)
    was = rig.board.level[LAMP_RELAY]
    rig.switch(DOOR, 1)
    rig.run(30)
    assert rig.board.level[LAMP_RELAY] != was and is_of_the_plan(rig)       # the wall switch works
    assert not rig.loop.has_failed and len(rig.loop.snapshot) == LENGTH
    assert flash.slots == before
    return rig.store.found


def is_of_the_plan(rig):
    """Return whether the closed relays are one level of each channel."""
    closed = rig.relays()
    for masks in rig.plan.masks:
        every = 0
        for mask in masks:
            every |= mask
        if closed & every not in list(masks):
            return False
    return True


@settings(max_examples=2000, deadline=None)
@given(ENTROPY)
@example(LAMP_WAS_ON)
def test_any_snapshot_is_survived(entropy):
    hold_against_any_flash(entropy)


@pytest.mark.soak
@settings(max_examples=100_000, deadline=None)
@given(ENTROPY)
def test_any_snapshot_is_survived_in_the_long_run(entropy):
    hold_against_any_flash(entropy)


def test_a_channel_without_waits_comes_back_in_the_moment_of_power_up():
    flash = Memory()
    flash.slots = [slot_of(LAMP_WAS_ON[:5]), slot_of(LAMP_WAS_ON[5:])]
    assert Rig(parts, Board(Clock()), QUICK, flash=flash, contacts=[35]).relays() == AT_ONCE == 1 << LAMP_RELAY


def test_the_slots_are_of_every_kind():
    """Whole with levels that no plan has, damaged, and junk are all among what the bytes spell."""
    strange = bytes((100, 1, 0, 0)) + b"\xff" * (2 * LENGTH)
    found = hold_against_any_flash(strange[:4 + LENGTH] + bytes((200, 2, BEFORE, 9)) + bytes(LENGTH))
    assert found == [WHOLE, DAMAGED]
    assert hold_against_any_flash(bytes((10,)) * 40) == [DAMAGED, DAMAGED]
