"""Questions and answers as text: exact, and telling all that a step brought about."""

from pattress.controller import core
from pattress.controller.core.cells import APPLIED, SHARED, WANTED
from pattress.controller.replay import answer_line, answers, begin_line, set_line, step_line

LAMP = dict(
    channels=[dict(name="Lamp", masks=[0, 1], on_level=1, dead_ms=0, minimum_off_ms=0, restore=2, restore_delay_ms=0,
                   kick_level=0, kick_top=0, kick_ms=0)],
    switches=[dict(latching=1, settle_ms=20, acts=[[0, 2, 0]])],
    regulators=[], buttons=[], held_ms=250, save_ms=1000)


def test_questions_read_as_they_are_described():
    assert begin_line(None, [0, 1], []) == "begin - 0,1 -"
    assert begin_line(b"\x01\xff", [], [4]) == "begin 01ff - 4"
    assert step_line((1, 0, 1, 0, 0), True, False) == "step 1 0 1 0 0 1 0"
    assert answer_line(3, -1, 5, 99, [(0, 1, 1), (2, 0, 4)], b"\x01") == "3 -1 5 99 0:1:1;2:0:4 01"


def test_a_lamp_is_switched_told_and_saved():
    asked = [
        begin_line(None, [0], []), step_line((core.TIME, 0, 0, 0, 0), True, True),
        step_line((core.CONTACT, 0, 1, 0, 0), True, True), step_line((core.TIME, 20, 0, 0, 0), True, True),
        step_line((core.TIME, 1000, 0, 0, 0), True, True), "", step_line((core.COMMAND, 7, 0, 0, 0), True, True),
    ]
    found = [answer.split() for answer in answers(core, core.Plan(LAMP), asked)]
    without_checksum = [" ".join(words[:3] + words[4:]) for words in found]
    assert without_checksum == [
        "0 -1 0 - -",           # every relay open
        "2 -1 0 0:0:5 -",       # told: off, by restore
        "0 20 0 - -",           # the contact is not believed yet
        "2 1000 1 0:1:1 -",     # closed, told: on, by switch; a snapshot is due
        "1 -1 1 - 0101",        # saved: on, last level 1
        "4 -1 1 - -",           # refused
    ]
    assert found[-1][3] == found[-2][3]     # and nothing in the state has changed


def test_numbers_put_into_the_state_and_news_fetched_without_a_step():
    assert set_line([(3, 1), (4, 0)]) == "set 3 1 4 0"
    asked = [begin_line(None, [0], []), set_line([(SHARED + WANTED, 1), (SHARED + APPLIED, 1)]), "tell", "tell"]
    found = [answer.split() for answer in answers(core, core.Plan(LAMP), asked)]
    assert [" ".join(words[:3] + words[4:]) for words in found] == ["0 -1 0 - -", "0 -1 1 - -", "0 -1 1 0:1:5 -", "0 -1 1 - -"]
