"""`pattress circuit`: all of a job's circuit, one part, one net, and files; what it cannot find is told."""

import csv
import json
from pathlib import Path

from click.testing import CliRunner

from pattress.cli import main

JOB = str(Path(__file__).parents[2] / "examples" / "sewing-room" / "job.toml")


def run(*words):
    return CliRunner().invoke(main, ["circuit", *map(str, words)])


def test_all_of_it_fits_a_terminal_and_names_every_block():
    found = run(JOB)
    assert found.exit_code == 0 and found.stdout.startswith("145 components, 72 nets.\n")
    assert max(map(len, found.stdout.splitlines())) <= 80
    assert {"feed lights", "terminals", "mains inlet", "supply", "board", "channel pendant", "fan ceiling", "switch.door", "regulator.wall", "infrared",
            "sensor.room", "status lamp"} <= set(found.stdout.splitlines())


def test_one_part_says_what_lies_on_each_pin_and_which_checks_answer_for_it():
    lines = run(JOB, "R53").stdout.splitlines()
    assert lines[0] == "R53: resistor, 33 ohm, snubber (0.5 W, pulse-proof); in the box, block channel machine"
    assert lines[1:] == ["  1    L.sockets            F2:2, X1:4, K4:11, K5:11", "  2    snub.machine         C51:1", "  checks: contacts.machine, drive.machine, suppression.machine"]


def test_one_net_says_what_lies_on_it():
    assert run(JOB, "line.machine").stdout.splitlines() == [
        "line.machine: switched line of feed sockets, at most 253 V and 0.805 A", "  X2:14     terminal 5.08 mm, 2.5 mm2", "  K5:14     RT314005", "  C51:2     100 nF, snubber",
        "  E5:L      motor, Sewing-machine socket"]


def test_what_there_is_not_is_told_with_the_nearest():
    found = run(JOB, "K55")
    assert found.exit_code == 2 and found.stderr == (
        "there is no part and no net 'K55' in this circuit\n  allowed: a designator such as K1, or a net such as +5 V\n  nearest: K5\n")


def test_netlist_and_decks_are_written(tmp_path):
    found = run(JOB, "--out", tmp_path, "--json")
    facts = json.loads(found.stdout)
    rows = list(csv.DictReader((tmp_path / "netlist.csv").open(encoding="utf-8-sig")))
    assert {row["net"] for row in rows} == {net["name"] for net in facts["nets"]} and facts["failing"] == []
    assert len(rows) == sum(len(component["pins"]) for block in facts["blocks"] for component in block["components"])
    names = facts["record_names"].values()
    assert len(set(names)) == len(names) and all(len(name) <= 14 and name.replace("_", "").isalnum() and name.isupper() for name in names)
    assert ".subckt" in (tmp_path / "decks" / "channel-pendant.cir").read_text() and len(facts["files"]) > 15
