"""Learning a button from several noisy presses."""

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pattress.controller.infrared import protocols as p
from pattress.controller.infrared.decoder import TRUSTED
from pattress.controller.infrared.fallback import Fallback
from pattress.infrared.decoding import board_decoder, decode
from pattress.infrared.encoding import ENCODED, signal
from pattress.infrared.learning import Learned, learn
from pattress.job.code import Code
from tests.benchmarks.infrared import everything, some_code
from tests.infrared import disturbance
from tests.infrared.invented_remotes import REMOTES, as_heard

NEC = Code(p.NEC, 0x04, 0x08)


def presses(code, count, change, seed=1, **options):
    source = random.Random(seed)
    return [change(list(signal(code, **options).durations), source) for _ in range(count)]


@pytest.mark.parametrize("protocol", ENCODED, ids=lambda number: p.PROTOCOLS[number])
def test_five_bad_presses_give_the_code_and_say_they_are_sure(protocol):
    source = random.Random(protocol)
    code = some_code(protocol, source)
    learned = learn([everything(signal(code).durations, source) for _ in range(5)])
    assert learned.code == code and learned.agreeing == learned.presses == 5 and learned.others == ()
    assert learned.sureness >= 80 and learned.advice == ()


def test_clock_stretch_and_jitter_come_back_as_they_were_put_in():
    learned = learn(presses(NEC, 5, lambda sent, source: disturbance.jittered(
        disturbance.stretched(disturbance.clocked(sent, error=-0.05), stretch=85), source, sigma=40)))
    assert learned.clock == pytest.approx(0.95, abs=0.003)
    assert learned.stretch == pytest.approx(85, abs=8) and learned.jitter == pytest.approx(40, abs=6)
    assert [(cluster.kind, cluster.count) for cluster in learned.clusters] == [
        ("mark", 5 * 33), ("mark", 5), ("space", 5 * 16), ("space", 5 * 16), ("space", 5)]


def test_presses_none_of_which_can_be_read_are_read_together():
    hopeless = presses(NEC, 15, lambda sent, source: disturbance.jittered(sent, source, sigma=230), seed=4)
    alone = [learn([press]).code for press in hopeless]
    assert alone.count(NEC) == 0
    learned = learn(hopeless)
    assert learned.code == NEC and learned.agreeing == 0 and learned.sureness <= 60
    assert learned.advice[0].startswith("no press could be read by itself")


def test_another_button_among_the_presses_lowers_the_sureness_and_is_named():
    same = presses(NEC, 4, lambda sent, source: sent)
    learned = learn([*same, signal(Code(p.NEC, 0x04, 0x09)).durations])
    assert learned.code == NEC and learned.sureness < learn(same).sureness
    assert learned.advice == (
        "other codes were heard too: nec 0x04:0x09 (1); was another button pressed, or is there another remote?",)


def test_few_presses_ask_for_more():
    assert learn([signal(NEC).durations]).advice == ("1 press heard: press the same button at least 3 times",)


def test_an_unknown_remote_is_named_alike_by_every_press():
    """An invented 20-bit code of pulse distance with its own timings."""
    bits = (1, 0, 0, 1, 1, 1, 0, 1, 0, 0, 0, 1, 0, 1, 1, 0, 1, 0, 0, 1)
    frame = [3000, 2000] + [value for bit in bits for value in (300, 1400 if bit else 600)] + [300, 40000]
    for error, stretch, sigma in ((0, 0, 0), (0.06, 60, 20), (-0.06, -40, 25)):
        source = random.Random(sigma)
        heard = [disturbance.jittered(disturbance.stretched(disturbance.clocked(frame, error=error), stretch=stretch),
                                      source, sigma=sigma) for _ in range(3)]
        learned = learn(heard)
        assert learned.code == learn([frame] * 3).code and learned.code.protocol == p.HASH
        assert "cannot be imitated" in learned.advice[0]
    other = [*frame[:20], 300, 1400 if frame[21] == 600 else 600, *frame[22:]]
    assert learn([other] * 3).code != learn([frame] * 3).code


@pytest.mark.parametrize("kind", REMOTES)
def test_what_is_learnt_of_an_unknown_remote_the_board_acts_on_and_on_nothing_else_of_it(kind):
    source = random.Random(kind)
    button, other = REMOTES[kind](0x2B5E6), REMOTES[kind](0x2B5D6)
    learned = learn([as_heard(button, source) for _ in range(3)])
    assert learned.code.protocol == p.HASH and learned.agreeing == 3 and learned.lacking == "" and learned.ready == (learned.code,)
    board = board_decoder([learned.code, NEC])
    for _ in range(50):
        (heard,) = decode(as_heard(button, source), decoder=board)
        assert heard.code == learned.code and TRUSTED <= heard.confidence <= learned.sureness
        assert not [frame for frame in decode(as_heard(other, source), decoder=board) if frame.trusted]
        assert not [frame for frame in decode(as_heard(button, source)) if frame.trusted]       # not learnt: as weak as noise


@pytest.mark.parametrize("kind", REMOTES)
def test_buttons_of_an_unknown_remote_have_patterns_of_their_own(kind):
    """All commands of eight bits followed by their inverse, as many remotes send, and some that are any bits."""
    source, board = random.Random(kind), Fallback(208)
    seen = {}
    for number in {*(command << 8 | command ^ 0xFF for command in range(256)), *(source.getrandbits(16) for _ in range(4000))}:
        press = REMOTES[kind](number)
        frame = tuple(press[: len(press) - 1 + len(press) % 2])
        if board.name(frame, len(frame)):
            assert seen.setdefault((board.address, board.command), frame) == frame
    assert len(seen) > 3500


def test_noise_is_named_but_hits_no_learnt_pattern():
    source = random.Random("noise")
    board = board_decoder([learn([REMOTES[kind](0x2B5E6)] * 3).code for kind in REMOTES])
    named = [frame for _ in range(1500) for frame in decode(_hum(source), decoder=board)]
    assert len(named) > 300 and not [frame for frame in named if frame.trusted]


def _hum(source):
    """Marks alike and spaces of two sizes in any order: what is named as if a remote had sent it."""
    return [300, 600, *(value for _ in range(source.randint(10, 30)) for value in (300, source.choice((600, 1400)))), 300]


def test_one_stray_code_does_not_outvote_an_unknown_remote():
    source = random.Random(9)
    heard = [as_heard(REMOTES["pulse distance"](0x12345), source) for _ in range(4)]
    stray = [*heard[0], *signal(NEC).durations]
    learned = learn([stray, *heard[1:]])
    assert learned.code.protocol == p.HASH and learned.agreeing == 4 and learned.others == ((NEC, 1),) and learned.lacking == ""


@pytest.mark.parametrize("heard, words", [
    ([], "3 presses that agree are needed, and no code was found in 0 presses"),
    ([[300, 5000, 200]] * 3, "3 presses that agree are needed, and no code was found in 3 presses"),
    ([signal(NEC).durations], "3 presses that agree are needed, and 1 was heard: press the same button at least 3 times into one file, "
                              "with a pause after each press"),
    ([signal(NEC).durations] * 2 + [[300, 5000, 200]] * 2, "3 presses that agree are needed, and 2 of 4 say nec 0x04:0x08: "
                                                           "hold the remote closer, away from lamps, and press again"),
    ([signal(NEC).durations] * 3 + [signal(Code(p.NEC, 4, 9)).durations] * 3,
     "nec 0x04:0x09 was heard as often as nec 0x04:0x08: press one button of one remote only"),
])
def test_what_is_lacking_is_told(heard, words):
    assert learn(heard).lacking == words


def test_what_the_board_would_not_act_on_is_lacking_too():
    weak = Learned(NEC, TRUSTED - 1, 3, 3, (), 1.0, 0, None, (), (), ())
    assert weak.lacking == "the board acts from 50 of 100, and this is 49: hold the remote closer, away from lamps, and press again"


def test_each_code_of_three_presses_may_be_given():
    both = [signal(NEC).durations] * 3 + [signal(Code(p.NEC, 4, 9)).durations] * 4 + [signal(Code(p.NEC, 4, 10)).durations] * 2
    assert learn(both).ready == (Code(p.NEC, 4, 9), NEC)


def test_nothing_to_go_by():
    learned = learn([])
    assert learned.code is None and learned.sureness == 0 and learned.frame == ()
    assert learn([[300, 5000, 200]] * 3).advice == (
        "nothing could be read: hold the remote closer, away from lamps, and press again",)


@given(st.lists(st.lists(st.integers(-10, 20000), max_size=80), max_size=4))
@settings(max_examples=80, deadline=None)
def test_any_presses_are_taken(heard):
    learned = learn(heard)
    assert 0 <= learned.sureness <= 99 and learned.presses == len(heard)
