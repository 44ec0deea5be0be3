"""The decoder under disturbance: decode rates, no wrong code, no code out of noise. The bench runs the same on more."""

import random

import pytest

from pattress.controller.infrared import protocols as p
from pattress.controller.infrared.decoder import Decoder
from pattress.infrared.decoding import decode
from pattress.infrared.encoding import ENCODED, signal
from pattress.job.code import Code
from tests.benchmarks.infrared import DISTURBANCES, HARDER, LEADERLESS, answers, false_accepts, presses, some_code
from tests.infrared import disturbance

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


# Leaders of the project's infra-red notes, section 1 and 2, and of an old Panasonic (8 T / 8 T, T 420 us)
FOREIGN = {"nec": (9000, 4500), "ditto": (9000, 2250), "samsung": (4500, 4500), "jvc": (8440, 4220), "kaseikyo": (3456, 1728),
           "rca": (4000, 4000), "sirc": (2400, 600), "panasonic": (3360, 3360), "rc6": (2666, 889)}
RC6_KINDS = (p.RC6, p.RC6A20, p.RC6A24, p.RC6A32, p.RC6MCE)
HEARD = {
    "clean": lambda sent, source: sent,
    "sigma 30": lambda sent, source: disturbance.jittered(sent, source, sigma=30),
    "clipped": lambda sent, source: disturbance.clipped(sent, source),
    "worst": lambda sent, source: disturbance.clipped(disturbance.clocked(
        disturbance.stretched(sent, stretch=source.randint(-50, 120)), error=source.uniform(-0.08, 0.08)), source),
}


@pytest.mark.parametrize("heard", HEARD)
def test_a_bi_phase_body_behind_the_leader_of_another_protocol_is_no_frame(heard):
    source = random.Random(f"mixed {heard}")
    for leader in FOREIGN:
        for protocol in (p.RC5, p.RC5SZ, *(RC6_KINDS if leader != "rc6" else ())):
            for _ in range(6):
                body = list(signal(some_code(protocol, source), toggle=source.randrange(2)).durations[:-1])
                body = body[2:] if protocol in RC6_KINDS else body          # without its own leader
                mixed = HEARD[heard]([*FOREIGN[leader], *body], source)
                assert [found.code for found in decode(mixed) if found.trusted] == [], (leader, p.PROTOCOLS[protocol], mixed)


@pytest.mark.parametrize("heard, least", [("clean", 1.0), ("sigma 30", 1.0), ("clipped", 1.0), ("worst", 0.95)])
def test_bi_phase_frames_behind_their_own_leader_or_none_are_read_as_before(heard, least):
    """As many as before foreign leaders were looked for (1030 of 1050 of the worst)."""
    source, right, sent = random.Random(f"own {heard}"), 0, 0
    for protocol in (p.RC5, p.RC5SZ, *RC6_KINDS):
        for _ in range(25):
            code = some_code(protocol, source)
            found = decode(HEARD[heard](list(signal(code, toggle=source.randrange(2)).durations), source))
            told = [frame.code for frame in found if frame.trusted]
            assert told in ([], [code])
            right, sent = right + len(told), sent + 1
    assert right >= least * sent


def octets_sent(*octets):
    """Return a 48-bit frame of these bytes (least significant bit first), T = 432 us (JP1 Remotes wiki)."""
    bits = [octet >> place & 1 for octet in octets for place in range(8)]
    return [3456, 1728] + [value for bit in bits for value in (432, 1296 if bit else 432)] + [432]


# Panasonic, Denon: the project's notes (Denon code sheet, JP1 Remotes wiki); JVC, Sharp: IrpProtocols.xml, "JVC-48", "SharpDVD"
@pytest.mark.parametrize("vendor, parity, protocol", [
    ((0x02, 0x20), 0x0, p.KASEIKYO), ((0x54, 0x32), 0x0, p.KASEIKYO), ((0x03, 0x01), 0x2, p.KASEIKYO), ((0xAA, 0x5A), 0xF, p.AEHA),
], ids=["panasonic", "denon", "jvc", "sharp"])
def test_a_maker_known_to_send_a_check_is_refused_when_it_fails(vendor, parity, protocol):
    source = random.Random(f"{vendor}")
    for _ in range(40):
        three, four, five = parity | source.getrandbits(4) << 4, source.getrandbits(8), source.getrandbits(8)
        if protocol == p.KASEIKYO:
            six = three ^ four ^ five
        else:
            low = source.getrandbits(4)
            six = low | (three >> 4 ^ four ^ four >> 4 ^ five ^ five >> 4 ^ low) % 16 << 4
        (found,) = decode(octets_sent(*vendor, three, four, five, six))
        assert found.trusted and found.code.protocol == protocol and found.code.address >> 12 == vendor[1] << 8 | vendor[0]
        damaged = octets_sent(*vendor, three, four, five, six ^ 1 << source.randrange(8))
        for sent in (damaged, disturbance.jittered(damaged, source, sigma=30)):
            assert not [frame for frame in decode(sent) if frame.trusted]


def test_a_maker_without_a_check_sends_any_bytes():
    """Fujitsu, vendor 0x14 0x63 (JP1 Remotes wiki): parity 0, no check."""
    (found,) = decode(octets_sent(0x14, 0x63, 0x10, 0x12, 0x34, 0x56))
    assert found.trusted and str(found.code) == "aeha 0x6314121:0x3456"
