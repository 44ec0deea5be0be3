"""The updater against whatever may be sent to it: announcements and streams with bytes changed, cut, said twice or made up, with the key and without."""

import os
from random import Random

import pytest

from pattress.bundle.signing import announced
from pattress.controller.announcement import REASONS, Refused
from pattress.controller.announcement import announced as read_announcement
from pattress.controller.start import other

from .test_signing import KEY, OTHER, Board, announcing, bundles, stream

__all__ = ["bundles"]           # a fixture of the module it comes from

HOSTILE = (b"{", b'"files": {', b'"../x": "00",\n', b"\xff" * 9, b"1e999", b"\\u0000", b" ", b"\n", b"")


def changed(data, chance):
    """Return bytes with a few of them changed, cut out, said twice or put in."""
    data = bytearray(data)
    for _ in range(chance.randrange(1, 5)):
        at, kind = chance.randrange(len(data) + 1), chance.randrange(4)
        if kind == 0 and data:
            data[at - 1] = chance.randrange(256)
        elif kind == 1:
            del data[at:at + chance.randrange(1, 200)]
        elif kind == 2:
            data[at:at] = data[at:at + chance.randrange(1, 200)]
        else:
            data[at:at] = chance.choice(HOSTILE)
    return bytes(data)


def hold_against_streams(folder, bundles, count, seed):
    """Send streams, most of them damaged; assert that the program that runs is one of those, whole, and nothing else is touched."""
    chance, board = Random(seed), Board(folder / "flash")
    assert board.take(stream(bundles[0], 1)) == ("a", 1)
    board.pass_trial()
    said = {}
    for number in range(2, count + 2):
        whole, key = stream(bundles[number % 2], number), KEY
        line, _, rest = whole.partition(b"\n")
        kind = chance.randrange(4)
        if kind == 0:                   # damage on the way
            sent = line + b"\n" + changed(rest, chance)
        elif kind == 1:                 # a line from anybody
            sent = changed(line, chance) + b"\n" + rest
        elif kind == 2:                 # signed, and the manifest itself is hostile
            manifest = changed((bundles[number % 2] / "manifest.json").read_bytes(), chance)
            sent = announcing(manifest, number) + manifest + b"".join(content for _, content in list(announced(bundles[number % 2]))[1:])
        else:                           # another key
            sent, key = stream(bundles[number % 2], number, OTHER), OTHER
        answer = board.take(sent, piece=chance.choice((1, 64, 700, 5000)) if number % 50 == 0 else 700)
        said[answer if isinstance(answer, str) else "taken"] = said.get(answer if isinstance(answer, str) else "taken", 0) + 1
        assert isinstance(answer, tuple) or answer in REASONS
        assert key == KEY or answer == REASONS[0]
        if isinstance(answer, tuple) and kind == 2:        # whoever has the key may send what does not run: the trial ends, the former is back
            record = board.slots.record()
            board.slots.note(record | {"slot": other(record["slot"]), "trial": False})
        elif isinstance(answer, tuple):
            board.pass_trial()
        if number % 20 == 0:
            assert board.runs in (1, 2)
    assert sorted(os.listdir(folder)) == ["flash"] and board.runs in (1, 2)
    return said


def test_damaged_streams_leave_a_whole_program_and_touch_nothing_else(tmp_path, bundles):
    said = hold_against_streams(tmp_path, bundles, 250, 3)
    assert len(said) >= 4 and said[REASONS[0]] > 50          # the ways to be refused are reached


@pytest.mark.soak
def test_damaged_streams_leave_a_whole_program_and_touch_nothing_else_in_the_long_run(tmp_path, bundles):
    print(hold_against_streams(tmp_path, bundles, 100_000, 5))


def hold_against_announcements(bundles, count, seed):
    chance, line = Random(seed), announcing((bundles[0] / "manifest.json").read_bytes(), 7).rstrip()
    key, taken = bytes.fromhex(KEY), 0
    for _ in range(count):
        sent = changed(line, chance) if chance.random() < 0.9 else os.urandom(chance.randrange(300))
        try:
            read_announcement(sent, key)
            taken += 1
            assert sent.lower() == line.lower() and sent.rpartition(b" ")[0] == line.rpartition(b" ")[0]       # hexadecimal in capitals is the same signature
        except Refused as refused:
            assert str(refused) == REASONS[0]
    return taken


def test_no_announcement_is_believed_but_the_one_that_was_signed(bundles):
    assert hold_against_announcements(bundles, 2000, 3) < 100


@pytest.mark.soak
def test_no_announcement_is_believed_but_the_one_that_was_signed_in_the_long_run(bundles):
    hold_against_announcements(bundles, 100_000, 5)
