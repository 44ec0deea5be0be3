"""What the test sheet asks for, and what it says to expect."""

from functools import cache

from pattress.design import build
from pattress.handover.commissioning import bench, functions
from pattress.handover.context import _mains
from pattress.handover.household import household
from pattress.handover.single_line import single_line
from pattress.handover.site_tests import live
from pattress.handover.wiring import wiring_of
from pattress.job import load
from pattress.job.model import Ruled
from pattress.stock.boards import load_boards
from pattress.stock.parts import load_parts
from tests.design.seeded import design_of_text

from .designs import EXAMPLES, example


def rows(name):
    design = example(name)
    return {row[0]: row[1:3] for section in live(design, wiring_of(design)) for table in section.tables for row in table.rows}


# B10: 0.8 x 0.95 x 230 V / 50 A = 3.496 ohm.
def test_a_loop_is_asked_in_ohms_on_cold_conductors():
    assert rows("sewing-room")["Loop impedance at Pendant lamps"] == (
        "loop tester, line to neutral and line to protective conductor, conductors cold",
        "at most 3.5 ohm, so that at least 50 A flow when they are warm")


# C10: 0.8 x 0.95 x 230 V / 100 A = 1.748 ohm. The earth of a TT home lets no such current flow: its electrode is asked for by itself.
def test_of_a_tt_home_the_earth_is_asked_for_by_itself():
    found = rows("landing")
    assert found["Loop impedance at Stairs"][0] == "loop tester, line to neutral, conductors cold"
    assert found["Loop impedance at Stairs"][1].startswith("at most 1.75 ohm, ")
    asked = {test: words for test, words in found.items() if test.startswith("Earth electrode")}
    assert len(asked) == 2 and {words[1] for words in asked.values()} == {"at most 200 ohm; up to 1.67 kohm where it is measured in the driest month"}
    assert not any(test.startswith("Earth electrode") for test in rows("sewing-room"))


# Where nobody knows the earthing it may be TT: its electrode has a row of its own, and 3.5 ohm are asked line to neutral, and to earth only of a TN home.
def test_a_home_of_unknown_earthing_is_tested_as_one_that_may_be_tt():
    design = design_of_text((EXAMPLES / "sewing-room" / "job.toml").read_text("utf-8").replace('earthing = "TN-C-S"', 'earthing = "unknown"'))
    found = {row[0]: row[1:3] for section in live(design, wiring_of(design)) for table in section.tables for row in table.rows}
    assert found["Loop impedance at Pendant lamps"][0] == (
        "loop tester, line to neutral; line to protective conductor, too, where the earthing turns out to be TN, conductors cold")
    assert [words[1] for test, words in found.items() if test.startswith("Where the earthing is TT: earth electrode")] == [
        "at most 200 ohm; up to 1.67 kohm where it is measured in the driest month"] * 2
    assert "earth electrode unknown" in dict(_mains(design.job).rows)["Faults, where the devices sit"]
    assert [label.words for drawing in single_line(design, wiring_of(design), ()) for label in drawing.labels if label.words == "electrode"]


def test_the_page_says_what_the_job_says_of_faults():
    assert dict(_mains(example("landing").job).rows)["Faults, where the devices sit"] == (
        "largest current 1.5 kA, largest loop 250 mohm; earth electrode 80 ohm")
    assert dict(_mains(example("sewing-room").job).rows)["Faults, where the devices sit"] == "largest current unknown, largest loop unknown"


def ways(design):
    return [row[:3] for table in functions(design).tables for row in table.rows]


def test_what_only_the_network_switches_on_is_tested_over_the_network():
    found = [row for row in ways(by_network_only()) if row[1] in ("Ironing socket", "Bench light") and ("network" in row[0] or "phone" in row[0])]
    assert found == [
        ("phone, hub or voice: on, then off", "Bench light", "on, then off"),
        ("network gone", "Bench light", "as before: At the bench"),
        ("phone, hub or voice: on, then off", "Ironing socket", "on, then off; no other way switches it on"),
        ("network gone, while on", "Ironing socket", "stays as it is; nothing else switches it on: say so to the household"),
    ]


def test_without_a_network_it_is_not_tested_over_it_and_what_nothing_switches_on_is_named():
    assert not any("network" in way or "phone" in way or "nothing" in way for way, *_ in ways(example("landing")))
    assert ("nothing in this job", "Attic", "cannot be switched on: give it a control, or say on this sheet why it has none") in ways(without_attic())


def test_the_household_is_told_what_only_the_network_and_what_nothing_switches_on():
    told = household(by_network_only())[1].words
    assert "Only by phone or voice: Ironing socket. No switch here and no button switches it on." in told
    assert "Nothing here switches on: Attic, Cupboard." in household(without_attic())[1].words
    assert not any("switches" in words for words in household(example("landing"))[1].words)


@cache
def by_network_only():
    """Return the sewing room with neither a switch for the iron nor a rule."""
    job = load(EXAMPLES / "sewing-room" / "job.toml")
    switches = {key: switch for key, switch in job.switch.items() if key != "ironing"}
    return build(job.model_copy(update={"switch": switches, "rule": {}}), load_parts(), load_boards())


@cache
def without_attic():
    """Return the landing with a bedside remote without the button for attic and cupboard."""
    job = load(EXAMPLES / "landing" / "job.toml")
    bedside = job.remote["bedside"]
    buttons = {key: button for key, button in bedside.button.items() if key != "stores"}
    return build(job.model_copy(update={"remote": {"bedside": bedside.model_copy(update={"button": buttons})}}), load_parts(), load_boards())


@cache
def ruled():
    """Return the sewing room with a rule of each form."""
    job = load(EXAMPLES / "sewing-room" / "job.toml")
    says = {"iron": "ironing is on for at most 30 min", "wall": "wall is on for 10 min", "bench": "bench is on for 90 s, anew at each asking",
            "door": "bench is put on at the wall only"}
    return build(job.model_copy(update={"rule": {key: Ruled.model_validate({"says": one}) for key, one in says.items()}}), load_parts(), load_boards())


@cache
def pressed():
    """Return the sewing room with a switch at the bench that is held and pressed twice."""
    text = (EXAMPLES / "sewing-room" / "job.toml").read_text("utf-8")
    return design_of_text(text.replace('does = ["toggle bench", "toggle machine"]', 'does = "toggle bench"\nheld = "off everything"\ntwice = ["on bench", "set ceiling 1"]'))


def test_each_press_that_a_switch_tells_apart_is_tested():
    rows = [row for row in ways(pressed()) if row[0].startswith("switch At the bench")]
    assert rows[0] == ("switch At the bench", "Bench light", "on or off, in turn")
    assert ("switch At the bench, held for 0.8 s", "Ceiling fan", "off") in rows
    assert rows[-2:] == [("switch At the bench, pressed twice", "Bench light", "on"), ("switch At the bench, pressed twice", "Ceiling fan", "step 1")]


def test_the_household_is_told_what_each_press_does_and_which_switch_answers_late():
    section = household(pressed())[0]
    assert ("At the bench", "wall switch", "Bench light: on or off, in turn; held: everything: off; twice: Bench light: on; Ceiling fan: step 1") in section.tables[0].rows
    assert section.words == (
        "Held means for 0.8 s or longer: At the bench.",
        "Twice means again within 0.4 s: At the bench. A single press acts 0.4 s later there, when no second one has come.")
    assert household(example("sewing-room"))[0].words == ()


def test_an_input_is_operated_and_seen_and_held_where_it_is_believed_late():
    text = (EXAMPLES / "garden-workshop" / "job.toml").read_text("utf-8")
    design = design_of_text(text + '\n[input.tank]\nname = "Rain tank"\nkind = "float"\n')
    shown = "its test point reads closed, and open; then whatever rule waits for it acts"
    assert [row for row in ways(design) if "contact" in row[0]] == [
        ("door contact Lid of the dust bin: operated both ways", "-", shown),
        ("float contact Rain tank: operated both ways, held each way for 5 s", "-", shown)]
    measured = [row[:3] for table in bench(design, wiring_of(design)).tables for row in table.rows if row[0] in ("Lid of the dust bin", "Inside the door")]
    assert len(measured) == 2 and measured[0][1:] == measured[1][1:]         # as at a wall switch


def test_what_something_does_by_itself_is_tested_and_who_may_put_it_on():
    wall = ruled().job.load["wall"].name
    assert ways(ruled())[-7:] == [
        ("on, then left alone for 90 s", "Bench light", "off by itself after 90 s"),
        ("asked for on again meanwhile", "Bench light", "off by itself 90 s after the last asking"),
        ("phone, hub or voice: on, while off", "Bench light", "stays off; whoever asked is told why"),
        ("phone, hub or voice: off, while on", "Bench light", "off at once"),
        ("on, then left alone for 10 min", wall, "off by itself after 10 min"),
        ("on, then left alone for 30 min", "Ironing socket", "off by itself after 30 min"),
        ("asked for on again meanwhile", "Ironing socket", "off by itself at the same moment, 30 min after it came on"),
    ]
    assert not any("phone" in way and "then off" in way for way, name, _ in ways(ruled()) if name == "Bench light")


def test_the_household_is_told_what_happens_by_itself():
    table = household(ruled())[1].tables[0]
    assert table.head[3] == "By itself"
    assert {row[0]: row[3] for row in table.rows if row[3] != "-"} == {
        "Bench light": "off 90 s after it was last asked to be on; phone and voice can only put it off",
        ruled().job.load["wall"].name: "off 10 min after it came on", "Ironing socket": "off after at most 30 min"}
    assert household(by_network_only())[1].tables[0].head == ("Name", "Said as", "When power comes back")


def test_the_plan_has_what_the_rules_say():
    names = [channel["key"] for channel in ruled().plan["channels"]]
    rows = [{name: value for name, value in row.items() if name not in ("limit_rule", "stay_rule")} for row in ruled().plan["rules"]]
    assert {names[row.pop("channel")]: row for row in rows} == {
        "ironing": dict(limit_ms=1_800_000, stay_ms=0, renews=0, wall_only=0), "wall": dict(limit_ms=0, stay_ms=600_000, renews=0, wall_only=0),
        "bench": dict(limit_ms=0, stay_ms=90_000, renews=1, wall_only=1)}
    assert "rules" not in by_network_only().plan
