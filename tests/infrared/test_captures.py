"""Captures from text: the forms of the kernel's tools and of the board, and what is said about any other text."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pattress.controller.infrared import protocols as p
from pattress.infrared.captures import Capture, CaptureError, parse_captures, read_captures
from pattress.infrared.decoding import decode
from pattress.infrared.encoding import signal
from pattress.job.code import Code
from tests.infrared.reference_programs import lircd_remote, sent_by_irsimsend

CODE = Code(p.NEC, 0x04, 0x08)
FRAME = signal(CODE).durations
# what mode2 of lirc 0.10.1 prints before it begins
MODE2 = "Using driver file on device out\nTrying device: testdata.sym\nUsing device: testdata.sym\nWarning: Running as root.\n"


@pytest.mark.parametrize("text", [
    " ".join(map(str, FRAME)),
    ", ".join(map(str, FRAME[:-1])),
    "[" + ", ".join(map(str, FRAME)) + "]",
    " ".join(f"{'-' if place & 1 else '+'}{value}" for place, value in enumerate(FRAME)) + " # timeout 19000",
    MODE2 + "space 1000000\n" + "\n".join(
        f"{'space' if place & 1 else 'pulse'} {value}" for place, value in enumerate(FRAME)),
    "# from the sofa\r\n\r\ncarrier 38000\r\n" + "\r\n".join(
        f"{'timeout' if place & 1 else 'pulse'} {value}" for place, value in enumerate(FRAME)),
])
def test_every_form_gives_the_same_capture(text):
    (capture,) = parse_captures(text)
    assert capture.durations[:67] == FRAME[:67]
    assert decode(capture.durations)[0].code == CODE


def test_rows_are_presses_and_long_silences_part_presses():
    row = " ".join(map(str, FRAME))
    assert [capture.line for capture in parse_captures(f"{row}\n\n{row}\n")] == [1, 3]
    held = parse_captures(f"{row} 300 300000 {row}")
    assert [capture.line for capture in held] == [1, 1] and held[1].durations == FRAME


def states(durations, *last):
    """Return the lines of one press as the kernel's tools print them, its closing silence told by `last`."""
    return "".join(f"{'space' if place & 1 else 'pulse'} {value}\n" for place, value in enumerate(durations[:67])) + "".join(
        f"{line}\n" for line in last)


@pytest.mark.parametrize("last", [("timeout 125000",), ("timeout 20000",), ("timeout 125000", "space 87000"), ("space 90000", "timeout 40000"),
                                  ("timeout 19000", "space 500000")], ids=" ".join)
def test_time_outs_part_presses(last):
    """125 ms is the kernel's time-out as it comes; ir-ctl may be asked for others."""
    found = parse_captures(states(FRAME, *last) * 3)
    assert [capture.line for capture in found] == [1, 68 + len(last), 135 + 2 * len(last)]
    assert [capture.durations[:67] for capture in found] == [FRAME[:67]] * 3


def test_a_time_out_within_a_held_key_parts_nothing():
    """After a time-out of 20 ms the kernel tells how long the silence was: the next frame came as a held key's does."""
    (held,) = parse_captures(states(FRAME, "timeout 20000", "space 20000") * 3)
    assert held.durations[67] == 40_000 and [frame.repeat for frame in decode(held.durations)] == [False, True, True]


def test_equal_states_in_a_row_are_one_duration():
    assert parse_captures("pulse 100\npulse 50\nspace 20\nspace 30\npulse 7")[0].durations == (150, 50, 7)
    assert parse_captures("-40 +100 +50 -20 -30 +7")[0].durations == (150, 50, 7)


def test_the_file_irsimsend_writes_is_read(tmp_path):
    sent_by_irsimsend(tmp_path, lircd_remote(p.NEC, [CODE]))
    assert decode(read_captures(tmp_path / "simsend.out")[0].durations)[0].code == CODE


@pytest.mark.parametrize("text, message", [
    ("", r"^remote.txt: found no capture\n  allowed: durations in us \("),
    ("# nothing\n", r"^remote.txt: found no capture\n"),
    ("9000 4500\npluse 560\n", r"^remote.txt:2: found 'pluse'\n  allowed: durations in us .*\n  nearest: pulse$"),
    ("pulse\n", r"^remote.txt:1: found 0 numbers after 'pulse'\n  allowed: one, as in 'pulse 560'$"),
    ("9000 4500 x12\n", r"^remote.txt:1: found 'x12'\n  allowed: a duration of 0 to 10000000 us as a whole number$"),
    ("9000 45000000\n", r"^remote.txt:1: found '45000000'\n"),
    ("9000 4.5\n", r"^remote.txt:1: found '4.5'\n"),
])
def test_the_words_about_a_text_that_is_no_capture(text, message):
    with pytest.raises(CaptureError, match=message):
        parse_captures(text, where="remote.txt")


def test_the_words_about_a_file_that_cannot_be_read(tmp_path):
    with pytest.raises(CaptureError, match=r"gone.txt: found no readable file \(it is not there\)\n  allowed: "):
        read_captures(tmp_path / "gone.txt")
    (tmp_path / "picture").write_bytes(b"\x89PNG\xff\xfe")
    with pytest.raises(CaptureError, match=r"picture: found no readable file \(the byte 0x89 is no text here\)\n"):
        read_captures(tmp_path / "picture")


@given(st.text() | st.text(alphabet="0123456789 +-,\n#pulsecarit/[]\t\r", max_size=300))
@settings(max_examples=300, deadline=1000)
def test_any_text_is_read_or_refused_in_words(text):
    try:
        captures = parse_captures(text)
    except CaptureError as error:
        assert "found" in str(error) and "allowed" in str(error)
    else:
        assert all(isinstance(capture, Capture) and min(capture.durations) > 0 for capture in captures)
        for capture in captures[:3]:
            decode(capture.durations)
