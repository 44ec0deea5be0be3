"""The decoder under disturbance: decode rates, no wrong code, no code out of noise. The bench runs the same on more."""

import random

import pytest

from pattress.controller.infrared import protocols as p
from pattress.controller.infrared.decoder import Decoder
from pattress.infrared import disturbance
from pattress.job.code import Code
from pattress.infrared.decoding import decode
from pattress.infrared.encoding import ENCODED, signal
from tests.benchmarks.infrared import DISTURBANCES, HARDER, LEADERLESS, answers, false_accepts, presses

EACH = 12        # presses per protocol and disturbance

# per cent of presses decoded; what issue 5 asks for or more
LEAST = dict.fromkeys(DISTURBANCES, 99.5) | {"sigma 60": 99.0, "everything": 95.0}


@pytest.mark.parametrize("name", DISTURBANCES)
def test_disturbed_presses_decode_and_none_to_a_wrong_code(name):
    count = answers(presses(DISTURBANCES[name], random.Random(f"test {name}"), each=EACH), Decoder())
    sent, right, wrong = (sum(count[number, word] for number in ENCODED) for word in ("sent", "right", "wrong"))
    assert sent > EACH * (len(ENCODED) - 1) and wrong == 0
    assert 100 * right / sent >= LEAST[name]


@pytest.mark.parametrize("name", HARDER)
def test_what_cannot_be_repaired_gives_no_wrong_code(name):
    protocols = [number for number in ENCODED if name != "no leader" or number not in LEADERLESS]
    count = answers(presses(HARDER[name], random.Random(f"test {name}"), each=EACH, protocols=protocols), Decoder())
    assert sum(count[number, "wrong"] for number in ENCODED) == 0
    if name == "no leader":        # 12 check bits and more do without it
        assert count[p.NEC, "right"] == count[p.KASEIKYO, "right"] == count[p.RCA, "right"] == EACH


def test_noise_gives_no_trusted_code(capsys):
    trusted, _ = false_accepts(captures=1000, seed=77)
    assert sum(trusted.values()) == 0
    assert "1000 captures. False accepts per 10,000: 0.00 with a check field" in capsys.readouterr().out


@pytest.mark.parametrize("first", ENCODED, ids=lambda number: p.PROTOCOLS[number])
def test_two_remotes_in_one_capture_are_both_read(first):
    source = random.Random(first)
    (one, earlier), = presses(DISTURBANCES["sigma 30"], source, each=1, protocols=[first])
    second = source.choice(ENCODED)
    (other, later), = presses(DISTURBANCES["sigma 30"], source, each=1, protocols=[second])
    assert [found.code for found in decode([*earlier[:-1], 60_000, *later])] == [one, other]


def test_what_the_receiver_does_is_measured():
    """Clock and stretch come back as they were put in; the tolerance is that of integer microseconds on short frames."""
    sent = signal(Code(p.NEC, 0x20, 0x45)).durations
    (found,) = decode(disturbance.glitched(
        disturbance.stretched(disturbance.clocked(sent, error=0.06), stretch=90), random.Random(1), count=1))
    assert found.clock == pytest.approx(1.06, abs=0.005) and found.stretch == pytest.approx(90, abs=8) and found.merged == 1


# Pairs of section 5 of the project's infra-red notes, each with a frame that fits both
def test_a_nec_frame_cut_after_16_bits_is_no_jvc_code_unless_silence_follows():
    sent = list(signal(Code(p.NEC, 0x55, 0x12)).durations)
    assert [found.code.protocol for found in decode(sent[:35])] == [p.JVC]          # a perfect JVC frame
    assert not any(found.trusted for found in decode(sent[:41]))                    # cut elsewhere: nothing
    assert [found.code.protocol for found in decode(sent)] == [p.NEC]


def test_a_shorter_sirc_is_not_read_out_of_a_longer():
    for code in (Code(p.SIRC15, 0x97, 0x15), Code(p.SIRC20, 0x1A55, 0x15)):
        sent = signal(code).durations
        for jitter in range(20):
            assert [found.code for found in decode(disturbance.jittered(sent, random.Random(jitter), sigma=60))] == [code]


def test_command_64_and_above_is_rc5x():
    for command in (0x3F, 0x40):
        sent = signal(Code(p.RC5, 5, command)).durations
        assert (sent[0] > 1500) == (command >= 0x40)              # S2 = 0 joins the first mark
        assert decode(sent)[0].code == Code(p.RC5, 5, command)


def test_rc6_without_its_leader_is_not_read_as_rc5():
    for seed in range(200):
        source = random.Random(seed)
        sent = signal(Code(p.RC6, source.getrandbits(8), source.getrandbits(8))).durations
        assert not any(found.trusted for found in decode(sent[2:]))
