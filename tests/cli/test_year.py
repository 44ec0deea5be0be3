"""A year of many households at the terminal: the figures, their sources, what an interrupt leaves."""

import json
import re
import signal
import subprocess
import sys

import pytest
from click.testing import CliRunner

from pattress.cli import main
from pattress.job import starter


def call(*words):
    return CliRunner().invoke(main, [str(word) for word in words])


@pytest.fixture(scope="module")
def job(tmp_path_factory):
    """Return the job file to start from: one lamp, so a year of it is quick."""
    file = tmp_path_factory.mktemp("year") / "job.toml"
    file.write_text(starter(), "utf-8")
    return file


@pytest.fixture(scope="module")
def said(job):
    result = call("rehearse", job, "--year", "--households", 2, "--workers", 2, "--days", 60)
    assert result.exit_code == 0, result.output
    return result.stdout


def test_the_year_is_told_with_endurance_energy_response_and_sources(said):
    assert re.search(r"^K1 +\S.* \d+ \(\d+ to \d+\) +\d+ ", said, re.M)
    for words in ("kWh a year", "closings when power returns", "wall switch to relay, 95 % within: ", "power came back: ",
                  "\n2 households, 60 days each, ", " 0 problems, seed 1", "SAIFI 1.348 a year, CAIDI 271.8 min",
                  "An operation is a cycle, on and off again, as the life of a relay is counted (IEC 61810-2:2011, scope, "):
        assert words in said
    assert "safe" not in said and "refuses a hand" not in said     # a job without rules


def test_as_json_nothing_else_is_on_stdout(job):
    result = call("rehearse", job, "--year", "--days", 60, "--json")
    facts = json.loads(result.stdout)
    assert facts["households"] == facts["asked"] == 1 and facts["days"] == 60
    assert facts["relays"][0]["closings"]["low"] is None            # of one household there is no interval
    assert facts["relays"][0]["years"]["mean"] == pytest.approx(facts["relays"][0]["endurance"] / facts["relays"][0]["closings"]["mean"])


RULES = """
[rule.evening]
says = "LAMP is on for 20 min"

[rule.wall]
says = "LAMP is put on at the wall only"
"""


def test_what_each_rule_did_is_told_by_its_name(tmp_path):
    file = tmp_path / "job.toml"
    lamp = re.search(r"^\[load\.(\w+)\]", starter(), re.M)[1]
    file.write_text(re.sub(r'^restore = "as it was"', 'restore = "off"', starter(), flags=re.M) + RULES.replace("LAMP", lamp), "utf-8")
    evening, wall = json.loads(call("rehearse", file, "--year", "--days", 30, "--json").stdout)["rules"]
    assert (evening["rule"], evening["says"]) == ("evening", f"{lamp} is on for 20 min")
    assert evening["put_off"]["mean"] > 100 and evening["put_on"]["mean"] == evening["refused"]["mean"] == evening["energy_kwh"]["mean"] == 0
    assert wall["refused"]["mean"] > 10
    said = call("rehearse", file, "--year", "--days", 30).stdout
    assert re.search(r"^rule +puts on a year +puts off +refuses a hand +hours on by it +kWh\n-[- ]+\nevening +0 +\d+ +0 +0 +0\nwall +0 +0 +\d", said, re.M)


def test_what_the_network_asks_of_a_thing_it_leaves_alone_counts_as_refused(tmp_path):
    file, lamp = tmp_path / "job.toml", re.search(r"^\[load\.(\w+)\]", starter(), re.M)[1]
    file.write_text(f'{starter()}\n[rule.alone]\nsays = "{lamp} is not switched over the network"\n', "utf-8")
    (alone,) = json.loads(call("rehearse", file, "--year", "--days", 30, "--json").stdout)["rules"]
    assert alone["rule"] == "alone" and alone["refused"]["mean"] > 10


@pytest.mark.parametrize("option, value", [("--households", 3), ("--workers", 2), ("--scheduler", "tcp://127.0.0.1:9")])
def test_options_of_the_year_are_refused_without_it(job, option, value):
    result = call("rehearse", job, option, value)
    assert result.exit_code == 2
    assert result.stderr == f"{option} was given without --year\n  allowed: pattress rehearse JOB --year {option}\n"


def test_a_folder_of_jobs_is_a_fleet_and_each_job_lives_as_it_does_alone(job, tmp_path):
    for place in ("one.toml", "two/job.toml"):
        (tmp_path / place).parent.mkdir(exist_ok=True)
        (tmp_path / place).write_text(starter(), "utf-8")
    result = call("rehearse", tmp_path, "--year", "--days", 20, "--json")
    fleet = json.loads(result.stdout)["jobs"]
    assert list(fleet) == [str(tmp_path / "one.toml"), str(tmp_path / "two/job.toml")]
    alone = json.loads(call("rehearse", job, "--year", "--days", 20, "--json").stdout)
    assert all(facts == alone for facts in fleet.values())
    assert call("rehearse", tmp_path, "--year", "--days", 2).stdout.count("SAIFI") == 1


def test_a_folder_without_a_job_is_bad_input(tmp_path):
    result = call("rehearse", tmp_path, "--year")
    assert result.exit_code == 2
    assert result.stderr == f"there is no job in {tmp_path}\n  allowed: FOLDER/NAME.toml or FOLDER/NAME/job.toml\n"


def test_a_scheduler_that_does_not_answer_is_bad_input(job, monkeypatch):
    monkeypatch.setattr("pattress.rehearsal.fleet.ANSWER_WAIT", 0.5)
    result = call("rehearse", job, "--year", "--scheduler", "tcp://127.0.0.1:9")
    assert result.exit_code == 2 and "no scheduler answers at 'tcp://127.0.0.1:9'" in result.stderr


def test_an_interrupt_prints_what_is_done(job):
    process = subprocess.Popen([sys.executable, "-c", "from pattress.cli import main; main()", "rehearse", job, "--year", "--households", "5000", "--days", "10"],
                               stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    try:
        for line in process.stderr:
            if re.fullmatch(r"households [2-9]/5000\n", line):
                break
        process.send_signal(signal.SIGINT)
        said, _ = process.communicate(timeout=60)
    finally:
        process.kill()
    done = int(re.search(r"\n(\d+) households of 5000 asked for, ", said)[1])
    assert process.returncode == 0 and 2 <= done < 5000
