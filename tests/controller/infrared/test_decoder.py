"""The board's decoder as a stream: any integers, bounded time and memory, the same on both interpreters."""

import array
import random
import time
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import pattress.controller.infrared as board
from pattress.controller.infrared import protocols as p
from pattress.controller.infrared.decoder import FRAMES, SIZE, TRUSTED, Decoder
from pattress.infrared.encoding import ENCODED, signal
from pattress.interpreter import run
from pattress.job.code import Code, canonical
from tests.infrared import disturbance

# Reads one capture per line, prints the frames of each: the same loop for both interpreters.
PROGRAM = """
import sys
from infrared.decoder import Decoder

decoder = Decoder()

def told(count):
    return [(f.protocol, f.address, f.command, int(f.repeat), f.toggle, f.confidence, f.scale, f.stretch,
             f.merged, f.start, f.end) for f in decoder.frames[:count]]

def frames(line):
    decoder.reset()
    found = []
    for word in line.split():
        found += told(decoder.feed(int(word)))
    return found + told(decoder.idle())
"""
ASK = PROGRAM + """
for line in sys.stdin:
    print(frames(line))
"""


def signed(durations):
    return [-value if place & 1 else value for place, value in enumerate(durations)]


def some_code(protocol, source):
    address = 0x800F if protocol == p.RC6MCE else source.getrandbits(p.ADDRESS_BITS[protocol])
    return canonical(Code(protocol, address, source.getrandbits(p.COMMAND_BITS[protocol])))


def corpus(source, *, each):
    """Captures of every protocol under every disturbance, of noise, and of nonsense, as signed durations."""
    for protocol in ENCODED:
        for _ in range(each):
            sent = signal(some_code(protocol, source), held=source.randrange(3), toggle=source.randrange(2)).durations
            yield signed(sent)
            yield signed(disturbance.jittered(sent, source, sigma=60))
            worst = disturbance.clocked(sent, error=source.uniform(-0.08, 0.08))
            worst = disturbance.stretched(worst, stretch=source.randint(-50, 150))
            worst = disturbance.glitched(disturbance.jittered(worst, source, sigma=35), source, count=2)
            yield signed(disturbance.with_trailing_noise(worst, source, count=3))
            yield signed(disturbance.with_leading_noise(disturbance.clipped(worst, source), source, count=3))
            yield signed(worst[source.randrange(len(worst)):])
    for _ in range(20 * each):
        yield signed(disturbance.noise(source, count=source.randint(1, 300)))
        yield [source.randint(-3000, 3000) for _ in range(source.randrange(80))]


def test_both_interpreters_read_the_whole_corpus_alike():
    lines = [" ".join(map(str, capture)) for capture in corpus(random.Random(2026), each=3)]
    here = {}
    exec(PROGRAM.replace("from infrared.", "from pattress.controller.infrared."), here)
    there = run(ASK, folder=Path(board.__file__).parents[1], lines=lines)
    answers = tuple(str(here["frames"](line)) for line in lines)
    assert len(there) == len(lines) == 435
    assert there == answers
    assert sum(answer != "[]" for answer in answers) > 240       # the corpus is not all noise


def test_the_stream_allocates_nothing_on_the_board():
    """Between heap_lock and heap_unlock MicroPython raises when anything is allocated. Disturbed frames and noise too."""
    source = random.Random(11)
    captures = [signal(some_code(protocol, source), held=1).durations for protocol in ENCODED]
    captures += [disturbance.glitched(disturbance.jittered(sent, source, sigma=50), source, count=1) for sent in captures]
    captures += [disturbance.noise(source, count=150) for _ in range(20)]
    captures.append([300, 500, *[300, 900] * 8, *[300, 500] * 9, 300, 30000])      # of no protocol: named by hash
    lines = [" ".join(map(str, signed(sent))) for sent in captures]
    program = PROGRAM + """
import micropython

def count(durations):
    found = 0
    micropython.heap_lock()
    for duration in durations:
        found += decoder.feed(duration)
    micropython.heap_unlock()
    return found

for line in sys.stdin:
    durations = [int(word) for word in line.split()]
    decoder.reset()
    print(count(durations))
"""
    assert run(program, folder=Path(board.__file__).parents[1], lines=lines)[: len(ENCODED)] == tuple(
        "3" if protocol in (p.SHARP, p.DENON) else "2" for protocol in ENCODED)


def test_memory_on_the_board_is_bounded():
    """The decoder with its buffers, on the workbench's interpreter whose words are twice the board's."""
    program = """
import gc, sys
import infrared.decoder
gc.collect()
before = gc.mem_alloc()
decoder = infrared.decoder.Decoder()
gc.collect()
made = gc.mem_alloc()
for round in range(40):
    for place in range(400):
        decoder.feed((-1 if place & 1 else 1) * (100 + place * 7919 * (round + 1) % 2900))
    gc.collect()
print(made - before, gc.mem_alloc() - made)
"""
    (answer,) = run(program, folder=Path(board.__file__).parents[1])
    used, grown = map(int, answer.split())
    assert used < 48 * 1024 and grown <= 256


@given(st.lists(st.integers(-(2**40), 2**40) | st.integers(-3000, 3000), max_size=600))
@settings(max_examples=80, deadline=None)
def test_any_integers_are_taken(durations):
    decoder = Decoder()
    for duration in durations:
        assert 0 <= decoder.feed(duration) <= FRAMES
    assert 0 <= decoder.idle() <= FRAMES
    for frame in decoder.frames:
        assert 0 <= frame.protocol < len(p.PROTOCOLS)
        assert 0 <= frame.address < 1 << 30 and 0 <= frame.command < 1 << 30


@given(st.lists(st.integers(1, 5000), min_size=SIZE, max_size=SIZE), st.sampled_from((0, 400, 560, 889)))
@settings(max_examples=25, deadline=None)
def test_the_longest_burst_takes_bounded_time(durations, unit):
    """Whatever fills the buffer, even all in one protocol's unit: a hundred times what a frame takes, no more."""
    decoder = Decoder()
    capture = signed(unit or duration for duration in durations)
    began = time.process_time()
    for duration in capture:
        decoder.feed(duration)
    decoder.idle()
    assert time.process_time() - began < 0.25


@given(st.integers(0, 2**32))
@settings(max_examples=40, deadline=None)
def test_how_the_durations_are_cut_up_does_not_matter(seed):
    """A driver that reports a long space in parts, or a mark in two, tells the same."""
    source = random.Random(seed)
    whole = signed(signal(some_code(source.choice(ENCODED), source), held=1).durations)
    parts = [part for value in whole for part in ((value // 3, value - value // 3) if source.random() < 0.3 else (value,))]

    def told(durations):
        decoder, found = Decoder(), []
        for duration in durations:
            for place in range(decoder.feed(duration)):
                frame = decoder.frames[place]
                found.append((frame.protocol, frame.address, frame.command, frame.repeat, frame.confidence))
        return found

    assert told(parts) == told(whole)


@pytest.mark.parametrize("kind", ["list", "array"])
def test_a_frame_is_found_after_endless_noise_without_a_pause(kind):
    code = Code(p.NEC, 0x12, 0x34)
    source = random.Random(4)
    hum = [value for _ in range(300) for value in (source.randint(100, 400), -source.randint(600, 4000))]
    stream = hum + signed(signal(code).durations)
    decoder, found = Decoder(), []
    for duration in array.array("i", stream) if kind == "array" else stream:
        for place in range(decoder.feed(duration)):
            found.append(Code(decoder.frames[place].protocol, decoder.frames[place].address, decoder.frames[place].command))
    assert found == [code]


def test_thinking_in_parts_tells_the_same_and_each_part_is_small():
    """What a loop that must not be held up does: one call of `think` per round."""
    def told(decoder, found):
        found += [(f.protocol, f.address, f.command, f.repeat, f.confidence) for f in decoder.frames[:decoder.found]]

    for capture in corpus(random.Random(6), each=1):
        whole, parts, at_once, in_parts = Decoder(), Decoder(), [], []
        for duration in capture:
            whole.feed(duration)
            told(whole, at_once)
            if parts.take(duration):
                rounds = 1
                while parts.think():
                    rounds += 1
                assert rounds <= SIZE // 2 + 3
            told(parts, in_parts)
        assert in_parts == at_once


PULSES_ONLY = tuple(protocol for protocol in ENCODED if protocol not in (*p.BIPHASE, p.HASH))


def trusted(decoder, capture):
    """Return the codes of a capture that a board would act on."""
    found = []
    for duration in [*capture, -300_000]:
        for frame in decoder.frames[:decoder.feed(duration)]:
            if frame.confidence >= TRUSTED:
                found.append((frame.protocol, frame.address, frame.command, frame.repeat))
    return found


def test_without_the_biphase_protocols_the_others_are_read_as_ever_and_none_is_invented():
    """Also of the captures that are bi-phase, disturbed or not."""
    everything, some = Decoder(), Decoder(PULSES_ONLY)
    counts = [0, 0]
    for capture in corpus(random.Random(77), each=4):
        expected, found = trusted(everything, capture), trusted(some, capture)
        assert found == [code for code in expected if code[0] in PULSES_ONLY]
        counts[0] += len(found)
        counts[1] += len(expected) - len(found)
    assert counts[0] > 200 and counts[1] > 80


def test_a_board_without_biphase_remotes_does_not_load_their_aligner_nor_the_hash():
    program = """
import gc, sys
import infrared.decoder
gc.collect()
before = gc.mem_alloc()
decoder = infrared.decoder.Decoder(WANTED)
gc.collect()
print(gc.mem_alloc() - before, sorted([name for name in sys.modules if name.split(".")[-1] in ("biphase", "fallback")]))
"""
    few, most = (run(program.replace("WANTED", wanted), folder=Path(board.__file__).parents[1])[0].split(" ", 1)
                 for wanted in ("[1, 14]", "[1, 8, 20]"))
    assert few[1] == "[]" and most[1] == "['infrared.biphase', 'infrared.fallback']"
    assert int(few[0]) < 8 * 1024 < 20 * 1024 < int(most[0])
