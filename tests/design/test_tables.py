"""Whole tables come and go; every other line of the file stays as it was."""

from difflib import ndiff
from pathlib import Path
from tomllib import loads

import pytest

from pattress.design.tables import with_table, without_table

EXAMPLES = Path(__file__).parents[2] / "examples"
TEXTS = {name: (EXAMPLES / name / "job.toml").read_text("utf-8") for name in ("sewing-room", "landing", "garden-workshop")}
LAMP = {"name": "Shelf lamp", "kind": "LED driver", "power": "5 W", "feed": "lights", "run": {"section": "1.5 mm2", "length": "3 m"}}


def changed_lines(before, after):
    return [line for line in ndiff(before.split("\n"), after.split("\n")) if line[0] in "+-"]


@pytest.mark.parametrize("name", TEXTS)
def test_a_table_that_came_and_went_leaves_the_file_as_it_was(name):
    text = TEXTS[name]
    more = with_table(text, ("load", "shelf"), LAMP)
    assert loads(more) == loads(text) | {"load": {**loads(text)["load"], "shelf": LAMP}}
    assert [line[0] for line in changed_lines(text, more)] == ["+"] * 7
    assert without_table(more, ("load", "shelf"), "job.toml") == text


def test_a_new_table_stands_after_the_last_of_its_section():
    more = with_table(TEXTS["sewing-room"], ("load", "shelf"), LAMP)
    assert more.index("[load.machine]") < more.index("[load.shelf]") < more.index("# ---- The fan")
    assert 'run = { section = "1.5 mm2", length = "3 m" }\n\n# ---- The fan' in more


@pytest.mark.parametrize("name, path", [(name, (section, key)) for name, text in TEXTS.items()
                                        for section in ("load", "feed", "switch", "remote", "fan", "wish", "sensor")
                                        for key in loads(text).get(section, ())])
def test_taking_a_table_away_takes_only_its_own_lines(name, path):
    text = TEXTS[name]
    less = without_table(text, path, "job.toml")
    wanted = loads(text)
    del wanted[path[0]][path[1]]
    found = loads(less)
    found.setdefault(path[0], {})
    assert found == wanted
    gone = changed_lines(text, less)
    assert all(line[0] == "-" for line in gone)
    banners = [line for line in text.split("\n") if line.startswith("# ----")]
    assert [line for line in less.split("\n") if line.startswith("# ----")] == banners


def test_the_comment_right_above_a_header_goes_with_it_and_undo_is_for_the_rest():
    less = without_table(TEXTS["sewing-room"], ("load", "bench"), "job.toml")
    assert "A linear driver" not in less and "Four lamps on one channel" in less and "A cold tungsten filament" in less


def test_windows_line_ends_and_byte_order_mark_are_kept():
    text = "\ufeff" + TEXTS["sewing-room"].replace("\n", "\r\n")
    more = with_table(text, ("load", "shelf"), LAMP)
    assert more.startswith("\ufeff") and "\n" not in more.replace("\r\n", "")
    assert without_table(more, ("load", "shelf"), "job.toml") == text


def test_a_button_on_one_line_is_taken_out_of_its_table():
    less = without_table(TEXTS["sewing-room"], ("remote", "drawer", "button", "green"), "job.toml")
    assert len(changed_lines(TEXTS["sewing-room"], less)) == 1 and "0x71" not in less
