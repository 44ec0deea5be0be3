"""Adopting a published job: what is asked anew is never kept, answers are checked, and what moves is said."""

import json
import re
import tomllib

import pytest
from click.testing import CliRunner

from pattress.cli import main
from pattress.job import JobError, load
from pattress.repeat.adopting import adopted, leave_out
from pattress.repeat.field_policy import value_at
from pattress.repeat.folder import read_folder
from pattress.repeat.interview import interview
from pattress.repeat.points import points_of
from pattress.repeat.writing import job_text

from .publishers import document_of

SWITCHES = 4            # of the sewing room


@pytest.fixture(scope="module")
def document(published):
    return read_folder(published).document


def adopt(document, answers):
    return adopted(document, job_text(answers), "answers.toml")[0]


def told(document, answers):
    with pytest.raises(JobError) as caught:
        adopt(document, answers)
    return str(caught.value)


def run(*arguments, typed=None):
    return CliRunner().invoke(main, ["adopt", *map(str, arguments)], input=typed)


def test_the_same_answers_as_the_original_give_the_published_job_back(document):
    same = {}
    for point in points_of(document):
        if point.anew and point.original is not None:
            table = same
            for part in point.path[:-1]:
                table = table.setdefault(part, {})
            table[point.path[-1]] = point.original
    defaults = {"supply": {"earth_electrode": "unknown"}, "site": {"country": "unknown", "altitude": "0 m"}, "feed": {key: {"other_current": "0 A", "cable": {"grouped": 1}} for key in document["feed"]}}
    defaults |= {kind: {key: {"run": {"method": "B2", "grouped": 1, "fuse": "none"}} for key in document[kind]} for kind in ("load", "fan")}
    answers = merged(defaults, same)
    assert read_text(adopt(document, answers)) == read_text(document)


def merged(one, other):
    return {key: merged(one[key], other[key]) if key in one and key in other and isinstance(one[key], dict) else other.get(key, one.get(key))
            for key in (*one, *other)}


def read_text(document):
    from pattress.job import read

    return read(job_text(document), "job.toml")[0]


def test_answers_stand_in_the_adopted_job_and_the_rest_is_the_original(document, answers):
    answers["load"]["pendant"] |= {"power": "7 W", "inrush": {"peak": "9 A", "duration": "100 us"}}
    job, before = read_text(adopt(document, answers)), read_text(document)
    assert (job.supply.earthing, job.feed["lights"].cable.length, job.load["pendant"].power) == ("TN-S", 12.0, 7.0)
    assert job.load["pendant"].inrush.peak == 9.0 and job.load["pendant"].count == before.load["pendant"].count
    assert job.fan["ceiling"].steps == before.fan["ceiling"].steps and job.switch == before.switch


def but(answers, *path):
    """Return answers without the one at a path; each cable is by itself."""
    table = answers = json.loads(json.dumps(answers))
    for part in path[:-1]:
        table = table[part]
    del table[path[-1]]
    return answers


@pytest.mark.parametrize("path", [
    ("supply", "tolerance"), ("feed", "lights", "device", "rating"), ("feed", "sockets", "residual_current_device", "rating"),
    ("feed", "lights", "cable", "length"), ("fan", "ceiling", "run", "section"),
    ("load", "ironing", "run", "grouped"), ("site", "altitude"), ("feed", "sockets", "other_current")])
def test_no_value_of_the_original_mains_is_kept_for_want_of_an_answer(document, answers, path):
    answers = but(answers, *path)
    words = told(document, answers)
    assert words.startswith(f"answers.toml: {'.'.join(path)} is missing; what the original had is never kept by itself\n  allowed: ")
    assert words.count("answers.toml") == 1


@pytest.mark.parametrize("path", [
    ("supply", "earthing"), ("supply", "fault_current"), ("supply", "loop_impedance"), ("supply", "earth_electrode"),
    ("feed", "lights", "device", "curve"), ("feed", "sockets", "residual_current_device", "type")])
def test_what_may_be_unknown_is_unknown_for_want_of_an_answer_and_that_is_told(document, answers, path):
    mine, unanswered = adopted(document, job_text(but(answers, *path)), "answers.toml")
    assert unanswered == (".".join(path),)
    assert value_at(mine, path) == "unknown"
    assert adopted(document, job_text(answers), "answers.toml")[1] == ()


def test_a_device_without_any_answer_is_unknown_as_a_whole(document, answers):
    mine, unanswered = adopted(document, job_text(but(answers, "feed", "sockets", "residual_current_device")), "answers.toml")
    assert (read_text(mine).feed["sockets"].residual_current_device, unanswered) == ("unknown", ("feed.sockets.residual_current_device",))


def test_answers_of_before_the_loop_was_asked_still_do(published, answers, tmp_path):
    older = but(but(answers, "supply", "loop_impedance"), "supply", "earth_electrode")
    (tmp_path / "answers.toml").write_text(job_text(older))
    result = run(published, "--answers", tmp_path / "answers.toml", "--into", tmp_path / "mine.toml")
    assert "Not answered, and so unknown: supply.loop_impedance, supply.earth_electrode\n" in result.output
    assert load(tmp_path / "mine.toml").supply.loop_impedance == "unknown"
    facts = json.loads(run(published, "--answers", tmp_path / "answers.toml", "--into", tmp_path / "again.toml", "--json").stdout)
    assert facts["not_answered"] == ["supply.loop_impedance", "supply.earth_electrode"]


def test_every_point_about_devices_cables_and_earthing_is_asked_anew(document):
    for point in points_of(document):
        about_mains = point.path[0] == "supply" or "run" in point.path or (point.path[0] == "feed" and "kind" != point.path[-1])
        assert not (about_mains and not point.anew and point.path[-1] != "kind"), point.key


def test_unknown_and_none_are_answers(document, answers):
    answers["feed"]["lights"]["residual_current_device"] = "none"
    answers["supply"]["earthing"] = "unknown"
    job = read_text(adopt(document, answers))
    assert (job.feed["lights"].residual_current_device, job.supply.earthing) == ("none", "unknown")


def test_what_cannot_be_taken_is_told_with_its_place_in_the_answers(document, answers):
    answers["supply"]["earthing"] = "TN-X"
    answers["lode"] = {"pendant": "none"}
    answers["feed"]["lights"]["cable"] = answers["feed"]["lights"]["cable"] | {"length": "12"}
    words = told(document, answers)
    assert "answers.toml:4:12: supply.earthing is 'TN-X'" in words
    assert "feed.lights.cable.length is '12'" in words
    assert "lode.pendant is no point of the published job" in words


def test_a_load_left_out_takes_along_what_spoke_of_it(document, answers):
    answers["load"]["pendant"] = answers["load"]["ironing"] = "none"
    answers["load"]["machine"] = "none"
    del answers["feed"]["sockets"]
    job = read_text(adopt(document, answers))
    assert set(job.load) == {"bench", "wall"} and set(job.feed) == {"lights"}
    assert "door" not in job.switch and len(job.switch) == SWITCHES - 1
    assert set(job.wish) == {"air"}
    assert "power" not in job.remote["drawer"].button
    assert [str(action) for action in job.remote["drawer"].button["sleep"].does] == ["off bench, wall", "set ceiling 1"]
    assert [str(action) for action in job.switch["bench"].does] == ["toggle bench"]


def test_what_a_held_and_a_second_press_do_goes_with_the_load(document):
    pressed = dict(document, switch=document["switch"] | {"bench": document["switch"]["bench"] | {
        "held": ["off pendant", "off bench"], "twice": "on pendant"}})
    assert [str(action) for action in read_text(pressed).switch["bench"].twice] == ["on pendant"]
    switch = read_text(leave_out(pressed, ("load", "pendant"))).switch["bench"]
    assert {how: list(map(str, acts)) for how, acts in switch.presses.items()} == {"does": ["toggle bench", "toggle machine"], "held": ["off bench"]}


def test_a_switch_that_latches_at_the_adopters_is_neither_held_nor_pressed_twice(document, answers):
    pressed = dict(document, switch=document["switch"] | {"bench": document["switch"]["bench"] | {"held": "off everything", "twice": "on pendant"}})
    assert set(read_text(adopt(pressed, answers)).switch["bench"].presses) == {"does", "held", "twice"}
    answers["switch"] = {"bench": {"kind": "latching"}}
    bench = read_text(adopt(pressed, answers)).switch["bench"]
    assert bench.kind == "latching" and set(bench.presses) == {"does"}


def test_a_fan_left_out_takes_its_regulator_along(document):
    job = read_text(leave_out(document, ("fan", "ceiling")))
    assert not job.fan and not job.regulator and "air" not in job.wish and "up" not in job.remote["drawer"].button


def test_a_wish_about_a_switch_that_is_left_out_goes_too(document):
    assert "light" in leave_out(document, ("switch", "leaving"))["wish"]
    assert "light" not in leave_out(leave_out(document, ("switch", "leaving")), ("switch", "door"))["wish"]


def test_a_set_up_switch_that_is_left_out_is_named_no_more(document):
    setting = document | {"network": {"wifi": True, "setup_switch": "leaving"}}
    assert read_text(leave_out(setting, ("switch", "door"))).network.setup_switch == "leaving"
    assert leave_out(setting, ("switch", "leaving"))["network"] == {"wifi": True}


def test_an_input_is_left_out_with_its_pin():
    workshop = document_of("garden-workshop")
    workshop["board"] = workshop["board"] | {"pins": {"input.bin": 14, "switch.door": 4}}
    job = read_text(leave_out(workshop, ("input", "bin")))
    assert not job.input and dict(job.board.pins) == {"switch.door": 4}


def test_the_last_load_cannot_be_left_out():
    workshop = {key: value for key, value in document_of("garden-workshop").items() if key not in ("switch",)}
    for key in ("extractor", "compressor", "battens"):
        workshop = leave_out(workshop, ("load", key))
    with pytest.raises(JobError, match="neither a load nor a fan"):
        leave_out(workshop, ("load", "vice"))


class Adopter:
    """Who keeps what may be kept and answers what is asked anew from a function of the point."""

    def __init__(self, document, anew):
        self.points, self.anew, self.shown = {point.key: point for point in points_of(document)}, anew, []

    def ask(self):
        point = self.points.get(self.shown[-1].strip().splitlines()[0])
        return self.anew(point) if point and point.anew else ""


def test_a_walk_with_typed_answers_gives_the_job_of_the_answers_file(document, answers):
    def typed(point):
        value = answers
        for part in point.path:
            value = value[part]
        return str(value)

    person = Adopter(document, typed)
    found = interview(document, {}, person.ask, person.shown.append)
    assert read_text(found) == read_text(adopt(document, answers))
    assert "supply.earthing\n  How is your supply earthed?\n  original: TN-C-S   (asked anew)\n  allowed:  TN-S, TN-C-S, TT, IT, unknown" in "\n".join(person.shown)


def test_enter_means_unknown_where_that_is_allowed(document):
    not_said = {"country": "unknown", "altitude": "0 m", "method": "B2", "grouped": "1", "other_current": "0 A"}
    person = Adopter(document, lambda point: "" if point.may_be_unknown else "=" if point.original is not None else not_said[point.path[-1]])
    job = read_text(interview(document, {}, person.ask, person.shown.append))
    assert (job.supply.earthing, job.supply.fault_current, job.feed["lights"].device.curve) == ("unknown", "unknown", "unknown")
    assert {feed.residual_current_device for feed in job.feed.values()} == {"unknown"}


def test_enter_never_keeps_what_is_asked_anew_and_a_slip_is_told(document):
    typed, shown = iter(["", "", "", "=", "12", "5 m"]), []
    with pytest.raises(StopIteration):
        interview(document, {}, lambda: next(typed), shown.append)
    assert "  The original's is never kept by itself. Type = if yours is the same." in shown
    assert any(words.startswith("  found '12'") and "allowed: a length" in words for words in shown)
    assert shown[-1].splitlines()[1] == "load.pendant.run.method"


def test_a_thing_is_left_out_or_changed_by_a_letter(document):
    typed, shown = iter(["My room", "x", "c", "My bench"]), []
    with pytest.raises(StopIteration):
        interview(document, {}, lambda: next(typed), shown.append)
    assert shown[2].startswith("\nload pendant: Pendant lamps, LED driver, 9 W, 4 of them")
    assert shown[-2].splitlines()[1] == "load.bench.name" and shown[-1].splitlines()[1] == "load.bench.spoken"


def test_the_command_writes_the_job_and_says_what_moves(published, answers, tmp_path):
    (tmp_path / "answers.toml").write_text(job_text(answers), "utf-8")
    into = tmp_path / "mine.toml"
    result = run(published, "--answers", tmp_path / "answers.toml", "--into", into)
    assert result.exit_code == 0, result.output
    assert load(into).supply.earthing == "TN-S"
    assert re.search(r"^0 verdicts move against the original; \d+ findings keep theirs", result.stdout, re.MULTILINE)
    assert f"\nAll of it: pattress compare {published / 'job.toml'} {into}\n" in result.stdout
    assert f"Written: {into}: " in result.stdout and "Mains can kill" in result.stdout
    again = run(published, "--answers", tmp_path / "answers.toml", "--into", into)
    assert (again.exit_code, again.stderr) == (2, f"{into} is there already; choose another name with --into\n")


def test_only_verdicts_that_move_are_told_and_a_failing_check_in_full(published, answers, tmp_path):
    answers["feed"]["lights"]["residual_current_device"], answers["supply"]["earthing"] = "none", "TT"
    (tmp_path / "answers.toml").write_text(job_text(answers), "utf-8")
    result = run(published, "--answers", tmp_path / "answers.toml", "--into", tmp_path / "mine.toml")
    assert result.exit_code == 1
    assert re.search(r"^worse .*\n? +\[residual\.lights\]\n +holds 30 mA, at most 30 mA -> fails$", result.stdout, re.MULTILINE)
    assert re.search(r"^fails .*\n? +\[residual\.lights\]\n.*\n +Change: a 30 mA", result.stdout, re.MULTILINE)
    assert not re.search("^(moved|gone)", result.stdout, re.MULTILINE)


# The same end as of a check of what was written: a name that fails counts.
def test_a_name_that_fails_is_told_and_ends_like_a_check(published, answers, tmp_path):
    answers["load"]["bench"]["name"] = "Pendent lamps"
    (tmp_path / "answers.toml").write_text(job_text(answers), "utf-8")
    into = tmp_path / "mine.toml"
    result = run(published, "--answers", tmp_path / "answers.toml", "--into", into, "--json")
    facts = json.loads(result.stdout)
    checked = CliRunner().invoke(main, ["check", str(into), "--json"])
    assert result.exit_code == checked.exit_code == 1 and facts["verdict"] == json.loads(checked.stdout)["verdict"] == "fails"
    assert facts["failing"] == [] and "fails" in {clash["verdict"] for clash in facts["names"]}


def test_worse_mains_make_worse_verdicts_and_an_exit_code(published, answers, tmp_path):
    answers["feed"]["sockets"]["cable"] = answers["feed"]["sockets"]["cable"] | {"length": "400 m"}
    (tmp_path / "answers.toml").write_text(job_text(answers), "utf-8")
    result = run(published, "--answers", tmp_path / "answers.toml", "--into", tmp_path / "mine.toml", "--json")
    facts = json.loads(result.stdout)
    assert result.exit_code == 1 and "drop.ironing" in {finding["id"] for finding in facts["failing"]}
    assert {move["id"]: move["direction"] for move in facts["moves"]}["drop.ironing"] == "worse"


@pytest.mark.parametrize("typed", ["", "\n\n\n=\n"])
def test_a_walk_that_stops_writes_nothing(published, tmp_path, typed):
    result = run(published, "--into", tmp_path / "mine.toml", typed=typed)
    assert result.exit_code == 2 and "nothing is written" in result.stderr and not list(tmp_path.iterdir())


def test_the_list_is_an_answers_file_once_its_lines_are_filled_in(published, document, answers, tmp_path):
    listed = run(published, "--list").stdout
    assert tomllib.loads(listed) == {}
    filled = []
    for line in listed.splitlines():
        if line.endswith("# ANEW"):
            key = line.removeprefix("# ").partition(" = ")[0]
            value = answers
            for part in key.split("."):
                value = value[part]
            line = f"{key} = {json.dumps(value)}"
        elif re.match(r"# [a-z]+\.[\w.]+ = .", line):
            line = line.removeprefix("# ")
        filled.append(line)
    assert read_text(adopted(document, "\n".join(filled), "list.toml")[0]) == read_text(adopt(document, answers))


def test_a_folder_that_is_none_and_answers_that_are_not_there(tmp_path):
    result = run(tmp_path, "--list")
    assert (result.exit_code, result.stderr.splitlines()[0]) == (2, f"{tmp_path} is no published job: it holds no points.toml")


def test_answers_that_cannot_be_read_and_json_without_answers(published, tmp_path):
    assert f"{tmp_path / 'none.toml'}: it is not there\n  allowed: the path of an answers file; `pattress adopt FOLDER --list` prints one to fill in" in run(published, "--answers", tmp_path / "none.toml").stderr
    assert run(published, "--json", "--into", tmp_path / "x").stderr.startswith("--json was given without --answers")
