"""A live room: what a hand does is what the real control program answers, and a session can be lived again."""

import pytest

from pattress.controller.core import channels
from pattress.errors import UseError
from pattress.rehearsal.action_line import ActionLine, action_line
from pattress.rehearsal.live_run import LiveRun

from .ruled_plans import ruled_room
from .test_rehearse import put_instead


def lived_through(table, stimuli):
    """Return the room after all these stimuli, from its first moment."""
    live = LiveRun(table)
    for stimulus in stimuli:
        live.do(stimulus)
    return live.scene()


def lamp(scene, key):
    return next(lamp for lamp in scene.lamps if lamp.key == key)


def words(scene, what):
    return [happening.words for happening in scene.happenings if happening.what == what]


def test_a_switch_acts_when_time_has_passed_and_says_who_asked(room):
    live = LiveRun(room)
    live.do("throw door")
    assert lamp(live.scene(), "pendant").level == 0             # its contact has not settled
    live.do("wait 100")
    scene = live.scene()
    assert (lamp(scene, "pendant").level, lamp(scene, "pendant").cause, scene.relays) == (1, "switch", (0,))
    assert words(scene, "relay") == ["Pendant: on, asked by switch"]
    assert [line for line in words(scene, "done") if line.startswith("switch Door: acted after 2")]
    assert next(one for one in scene.controls if one.key == "door").position == 1


def test_a_retractive_switch_acts_once_however_long_it_is_held(room):
    scene = lived_through(room, ["press bed", "wait 5000", "release bed", "wait 1000"])
    assert lamp(scene, "pendant").level == lamp(scene, "wall_lights").level == 1
    assert len(words(scene, "relay")) == 2 and not words(scene, "fault")


def test_a_touch_is_told_as_too_short_and_moves_nothing(room):
    scene = lived_through(room, ["press bed", "wait 8", "release bed", "wait 1000"])
    assert words(scene, "done") == ["switch Bed side: too short"]
    assert scene.relays == () and not words(scene, "fault")


def test_a_fan_shows_kick_dead_time_and_step(room):
    live = LiveRun(room)
    for line in ("turn fan_dial 1", "wait 500"):
        live.do(line)
    fan = lamp(live.scene(), "ceiling_fan")
    assert (fan.level, fan.wanted) == (4, 1) and fan.waits[0][0] == "start kick" and 1_000 < fan.waits[0][1] < 1_500
    live.do("wait 3000")
    scene = live.scene()
    assert lamp(scene, "ceiling_fan").level == 1
    assert words(scene, "relay") == [
        "Ceiling fan: start kick, step 4, asked by regulator", "Ceiling fan: off, asked by regulator",
        "Ceiling fan: step 1, asked by regulator"]


def test_what_waits_says_for_how_long(room):
    live = LiveRun(room)
    for line in ("wait 200000", "ask fridge on", "wait 100", "ask fridge off", "wait 100", "ask fridge on", "wait 1000"):
        live.do(line)
    (reason, left), = lamp(live.scene(), "fridge").waits
    assert reason == "minimum off time" and 178_000 < left < 180_000
    at_start, again = words(live.scene(), "waits")
    assert at_start == "Fridge: shall be on, waits: minimum off time 180000 ms, its turn after the power cut 1500 ms"
    assert again.startswith("Fridge: shall be on, waits: minimum off time 179")
    live.do("wait 180000")
    assert lamp(live.scene(), "fridge").level == 1


def test_power_cut_and_network_loss_last_until_they_are_mended(room):
    live = LiveRun(room)
    for line in ("wait 6000", "throw door", "wait 6000", "cut power", "wait 100000"):
        live.do(line)
    dark = live.scene()
    assert not (dark.has_power or dark.is_running or dark.relays) and dark.wakes_at is None
    for line in ("throw iron", "restore power", "wait 2000"):
        live.do(line)
    scene = live.scene()
    assert lamp(scene, "pendant").level == 1 and lamp(scene, "pendant").cause == "restore"
    assert "switch Ironing board: no power" in words(scene, "done") and lamp(scene, "ironing_socket").level == 0
    assert words(scene, "relay")[-1] == "Pendant: on, asked by restore" and not scene.is_linked
    for line in ("wait 6000", "drop network", "ask pendant off", "wait 100"):
        live.do(line)
    assert "network: off Pendant: no network" in words(live.scene(), "done") and lamp(live.scene(), "pendant").level == 1
    for line in ("throw door", "wait 100", "find network"):
        live.do(line)
    assert lamp(live.scene(), "pendant").told == 0         # what piled up is told when the network is back
    assert not words(live.scene(), "fault")


def test_the_same_session_gives_the_same_scene_and_time_may_be_cut_up_anyhow(room):
    session = ["throw door", "wait 300", "button hand.faster 900", "wait 4000", "cut power", "wait 50", "restore power", "wait 9000"]
    assert lived_through(room, session) == lived_through(room, session)
    finer = [part for line in session for part in ((line,) if not line.startswith("wait") else ("wait 25",) * (int(line[5:]) // 25))]
    whole, cut_up = lived_through(room, session), lived_through(room, finer)
    assert [str(one) for one in whole.happenings] == [str(one) for one in cut_up.happenings]
    assert whole.lamps == cut_up.lamps


def test_happenings_are_bounded(room):
    scene = lived_through(room, ["throw door", "wait 100"] * 600)
    assert len(scene.happenings) <= 400 and scene.at == 60_000


def test_a_seeded_fault_of_the_program_is_seen_in_the_room(room, monkeypatch):
    put_instead(monkeypatch, channels.act, lambda plan, state, acts, cause: None)
    scene = lived_through(room, ["throw door", "wait 1000"])
    assert words(scene, "fault") == ["Door: what was asked for did not come about"]


@pytest.mark.parametrize("line, expected", [
    ("throw door", ActionLine("throw", 0)), ("release bed", ActionLine("release", 1)), ("turn fan_dial 3", ActionLine("turn", 0, 3)),
    ("button hand.light", ActionLine("button", 0)), ("button old.machine 900", ActionLine("button", 3, 900)),
    ("ask ceiling_fan set 2", ActionLine("ask", 6, 2, 3)), ("ask fridge off", ActionLine("ask", 5, None, 0)),
    ("cut power", ActionLine("cut")), ("find network", ActionLine("find")), ("wait 0", ActionLine("wait", number=0))])
def test_a_line_is_read(room, line, expected):
    assert action_line(room, line) == expected


@pytest.mark.parametrize("line, said", [
    ("", "'' is not a stimulus\n  allowed: throw, press, release, turn, button, open, close, ask, cut, restore, drop, find, wait"),
    ("throw dor", "'dor' is not a switch to throw\n  allowed: door, iron\n  nearest: door"),
    ("press door", "'door' is not a switch to press\n  allowed: bed, leaving"),
    ("turn fan_dial 9", "turn fan_dial must be 0 to 4, found 9"),
    ("turn fan_dial", "'turn fan_dial': one whole number, zero or more must follow, found nothing"),
    ("wait -5", "'wait -5': one whole number, zero or more must follow, found -5"),
    ("ask fridge set 2", "ask fridge must be 0 to 1, found 2"),
    ("ask fridge on 1", "'ask fridge on 1': nothing must follow, found 1"),
    ("cut network", "'network' is not what can be cut\n  allowed: power"),
    ("throw", "throw needs the switch\n  found: 'throw'")])
def test_a_line_that_means_nothing_is_refused_in_words(room, line, said):
    with pytest.raises(UseError) as caught:
        action_line(room, line)
    assert str(caught.value) == said


def test_a_wait_has_an_end(room):
    with pytest.raises(UseError, match="^wait must be 0 to 2678400000 ms, found 2678400001$"):
        LiveRun(room).do("wait 2678400001")


def test_a_contact_that_sticks_is_told_on_its_lamp(room):
    live = LiveRun(room | {"feedback": [dict(channel=0, settle_ms=500)]})
    live.do("wait 3000")
    live._world._stick(3000, 0, 1, 60_000)
    live.do("wait 2000")
    assert (lamp(live.scene(), "pendant").level, lamp(live.scene(), "pendant").cause) == (0, "stuck closed")
    assert "network told: Pendant off, stuck closed" in words(live.scene(), "told")


def test_an_input_is_opened_and_closed_and_rules_act_by_it():
    live = LiveRun(ruled_room())
    for line in ("close window", "wait 1000"):
        live.do(line)
    scene = live.scene()
    assert [(one.key, one.kind, one.position) for one in scene.inputs] == [("window", "input", 1), ("leak", "input", 0), ("reset", "input", 0), ("float", "input", 0)]
    assert (lamp(scene, "wall_lights").level, lamp(scene, "wall_lights").cause) == (1, "rule open")
    for line in ("open window", "wait 70000", "ask ironing_socket on", "wait 100", "close window", "close window"):
        live.do(line)
    scene = live.scene()
    assert words(scene, "done") == ["input Window: closes", "input Window: opens", "network: on Ironing socket: refused", "input Window: closes"]
    assert lamp(scene, "ironing_socket").level == 0 and not words(scene, "fault")


def test_what_a_job_lacks_cannot_be_opened(room):
    with pytest.raises(UseError, match="^'window' is not an input to open\n  allowed: none in this job$"):
        action_line(room, "open window")
