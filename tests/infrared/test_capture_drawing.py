"""Pictures: fields where the bits are, words a person reads, and an SVG a browser draws."""

import random
import subprocess
import xml.etree.ElementTree as xml

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pattress.controller.infrared import protocols as p
from pattress.infrared.capture_drawing import bit_spans, field_spans, histogram, timing_diagram
from pattress.infrared.decoding import decode
from pattress.infrared.encoding import ENCODED, signal, wire_bits
from pattress.infrared.learning import learn
from pattress.job.code import Code
from tests.benchmarks.infrared import everything, some_code
from tests.infrared.reference_programs import program

NEC = Code(p.NEC, 0x04, 0x08)


def words(svg):
    return [element.text for element in xml.fromstring(svg).iter("{http://www.w3.org/2000/svg}text")]


@pytest.mark.parametrize("protocol", ENCODED, ids=lambda number: p.PROTOCOLS[number])
def test_fields_join_and_cover_the_frame_to_its_stop_mark(protocol):
    for seed in range(10):
        code = some_code(protocol, random.Random(seed))
        spans = field_spans(code)
        assert spans[0][1] == 0
        assert all(end == begin for (_, _, end), (_, begin, _) in zip(spans, spans[1:]))
        durations = signal(code).durations[:-1]
        first_half = durations[:31] if protocol in (p.SHARP, p.DENON) else durations
        rest = sum(first_half) - spans[-1][2]            # a stop mark; or less than nothing: a silent closing half
        assert -900 < rest < 600


def test_nec_fields_begin_where_its_bits_do():
    spans = {name: (begin, end) for name, begin, end in field_spans(NEC)}
    durations = signal(NEC).durations
    assert list(spans) == ["leader", "address", "address inverse", "command", "command inverse"]
    assert spans["command"] == (sum(durations[:2 + 2 * 16]), sum(durations[:2 + 2 * 24]))


@pytest.mark.parametrize("protocol", ENCODED, ids=lambda number: p.PROTOCOLS[number])
def test_bits_join_and_end_where_the_fields_do(protocol):
    code = some_code(protocol, random.Random(1))
    bits, fields = bit_spans(code), [span for span in field_spans(code) if span[0] != "leader"]
    assert [bit for bit, _, _ in bits] == wire_bits(code)
    assert bits[0][1] == fields[0][1] and bits[-1][2] == fields[-1][2]
    assert all(end == begin for (_, _, end), (_, begin, _) in zip(bits, bits[1:]))
    assert {end for _, _, end in fields} <= {end for _, _, end in bits}


@pytest.mark.parametrize("width", [360, 1000])
def test_the_bits_are_written_under_their_marks_in_sending_order(width):
    # NEC 0x04:0x08 as its sheet sends it: address, its inverse, command, its inverse, each least significant bit first.
    sent = "00100000" "11011111" "00010000" "11101111"
    svg = xml.fromstring(timing_diagram(signal(NEC).durations, decode(signal(NEC).durations), width=width).svg())
    texts = [text for text in svg.iter("{http://www.w3.org/2000/svg}text") if text.text in ("0", "1")]
    assert "".join(text.text for text in texts) == sent
    assert all(0 < float(text.get("x")) < width for text in texts)
    places = [(float(text.get("y")), float(text.get("x"))) for text in texts]
    assert places == sorted(places) and len(set(places)) == 32
    rows = {y for y, _ in places}
    ones = [x2 - x1 for (y1, x1), (y2, x2), bit in zip(places, places[1:], sent) if y1 == y2]
    assert len(rows) == (2 if width == 1000 else 6) and min(ones) > 15


def test_the_diagram_says_what_was_decoded():
    sent = signal(NEC, held=1).durations
    said = words(timing_diagram(sent, decode(sent), title="sofa").svg())
    assert said[:2] == ["sofa", "nec 0x04:0x08, 99 % sure, nec 0x04:0x08 (held), 95 % sure"]
    assert said.count("address inverse") == 1 and f"then {sent[67] / 1000:.1f} ms of silence" in said


def test_the_histogram_says_what_was_learned():
    learned = learn([signal(NEC).durations] * 3)
    said = words(histogram(learned, title="button on").svg())
    assert said[:2] == ["button on", "nec 0x04:0x08, 99 % sure; clock +0.0 %, marks +0 us, jitter 0 us r.m.s.; 3 of 3 presses agree"]
    assert "562 us, 99 times" in said and "9000 us, 3 times" in said


def test_a_browser_draws_it(tmp_path):
    source = random.Random(3)
    drawing = tmp_path / "press.svg"
    sent = everything(list(signal(NEC).durations), source)
    drawing.write_text(timing_diagram(sent, decode(sent)).svg())
    picture = tmp_path / "press.png"
    subprocess.run([program("chromium"), "--headless", "--no-sandbox", "--disable-gpu", "--window-size=1000,300",
                    f"--screenshot={picture}", drawing.as_uri()], check=True, capture_output=True, timeout=60)
    assert picture.read_bytes()[:8] == b"\x89PNG\r\n\x1a\n" and picture.stat().st_size > 8000     # a blank page has 2 kB


@given(st.lists(st.integers(-10, 30000), max_size=120), st.text(max_size=20))
@settings(max_examples=60, deadline=None)
def test_any_capture_is_drawn_as_sound_svg(durations, title):
    title = "".join(letter for letter in title if letter.isprintable() and ord(letter) < 0xD800)
    xml.fromstring(timing_diagram(durations, decode(durations), title=title).svg())
    xml.fromstring(histogram(learn([durations, durations]), title=title).svg())
