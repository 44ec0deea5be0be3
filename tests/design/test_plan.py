"""The plan table of a job: levels of a regulator, turns after a power cut, acts of switches."""

import pytest

from pattress.controller.core import VERBS, Plan
from pattress.design.plan import plan_table
from pattress.errors import UseError
from pattress.fan.drive import FanDrive
from tests.sizing.invented import fan_text, load_text, make_job

DRIVE = FanDrive("ceiling", (1e-6, 2e-6), (0, 1, 2, 3, 4), 0.5004, 4, 1, 2.0)


def table_of(*things, stagger=None, rest=""):
    job = make_job(*things, rest=rest)
    return plan_table(job, dict.fromkeys(job.fan, DRIVE), stagger or {}, {})


@pytest.mark.parametrize("positions, off, contacts, levels", [
    (4, "no contact", 4, [0, 1, 2, 3, 4]), (4, "own contact", 5, [0, 1, 2, 3, 4]), (4, "none", 4, [1, 2, 3, 4]),
    (3, "no contact", 3, [0, 2, 3, 4]), (1, "no contact", 1, [0, 4]),
])
def test_positions_of_a_regulator_spread_over_the_steps(positions, off, contacts, levels):
    rest = f'[regulator.wall]\nname = "Wall"\nfan = "ceiling"\npositions = {positions}\noff = "{off}"\n'
    row = table_of(fan_text(), rest=rest)["regulators"][0]
    assert (row["contacts"], row["levels"], row["off_is_open"]) == (contacts, levels, int(off == "no contact"))


def test_relays_are_numbered_through_loads_first():
    masks = [channel["masks"] for channel in table_of(load_text("a"), load_text("b"), fan_text())["channels"]]
    assert masks == [[0, 1], [0, 2], [0, 4, 8, 12, 16]]


def test_times_are_never_shorter_than_asked():
    fan = table_of(fan_text())["channels"][0]
    assert fan["dead_ms"] == 501 and fan["kick_ms"] == 2000


def test_feedback_stands_in_the_plan_where_there_is_some_and_nowhere_else():
    table = table_of(load_text("a"), load_text("b", feedback="mains"), fan_text(feedback="mains"))
    assert table["feedback"] == [dict(channel=1, settle_ms=1000), dict(channel=2, settle_ms=1000)]
    assert "feedback" not in table_of(load_text("a"), fan_text())
    assert Plan(table).cells == Plan(table_of(load_text("a"), load_text("b"), fan_text())).cells + 2 * 3


def test_a_turn_counts_from_the_end_of_the_minimum_off_time():
    compressor = dict(kind="compressor", minimum_off="3 min", restore="on")
    table = table_of(load_text("a", **compressor), load_text("b", **compressor), load_text("c"), stagger={"b": 0.4, "c": 0.4})
    assert [channel["restore_delay_ms"] for channel in table["channels"]] == [0, 180_400, 400]


def test_more_relays_than_the_program_can_name_are_refused_in_words():
    loads = [load_text(f"l{number}") for number in range(31)]
    assert Plan(table_of(*loads[:30])).channels == 30
    with pytest.raises(UseError, match=r"^the job takes 31 relays\n  allowed: at most 30 on one controller; share the job out over two$"):
        table_of(*loads)


def test_everything_means_every_channel():
    rest = '[switch.leaving]\nname = "Leaving"\nkind = "retractive"\ndoes = "off everything"\n'
    leaving = table_of(load_text("a"), load_text("b"), rest=rest)["switches"][0]
    assert leaving["everything"] == 1 and leaving["acts"] == [[0, VERBS.index("off"), 0], [1, VERBS.index("off"), 0]]


def test_presses_stand_in_the_plan_of_switches_that_tell_them_apart_and_nowhere_else():
    """800 and 400 ms are what the sheet of the defaults says, with its source; a time is 0 where nothing waits for it."""
    def switch(key, **more):
        return f'[switch.{key}]\nname = "{key}"\nkind = "retractive"\ndoes = "toggle a"\n' + "".join(f'{how} = "{does}"\n' for how, does in more.items())
    off, on = VERBS.index("off"), VERBS.index("on")
    rest = switch("door") + switch("bed", held="off everything") + switch("hall", twice="on a") + switch("both", held="off a", twice="on a")
    table = table_of(load_text("a"), load_text("b"), rest=rest)
    assert table["presses"] == [
        dict(switch=1, held=[[0, off, 0], [1, off, 0]], held_ms=800, twice=[], again_ms=0, held_everything=1),
        dict(switch=2, held=[], held_ms=0, twice=[[0, on, 0]], again_ms=400),
        dict(switch=3, held=[[0, off, 0]], held_ms=800, twice=[[0, on, 0]], again_ms=400)]
    assert "presses" not in table_of(load_text("a"), rest=switch("door"))
