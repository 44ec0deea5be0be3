"""The code of a job and design: whatever changes a sheet changes it, and nothing else does."""

from pathlib import Path

import pytest

from pattress.design import build
from pattress.job import read
from pattress.stock.boards import load_boards
from pattress.stock.parts import load_parts

TEXT = (Path(__file__).parents[2] / "examples" / "sewing-room" / "job.toml").read_text("utf-8")


def identity(text):
    return build(read(text, "job.toml")[0], load_parts(), load_boards()).identity


@pytest.fixture(scope="module")
def plain():
    return identity(TEXT)


@pytest.mark.parametrize("old, new", [
    ('title = "Sewing room"', 'title = "Sewing rooms"'), ('Invented example. Five', 'Invented example: five'), ('tolerance = "10 %"', 'tolerance = "9 %"'), ('earthing = "TN-C-S"', 'earthing = "TN-S"'),
    ('curve = "B", rating = "10 A"', 'curve = "C", rating = "10 A"'), ('section = "1.5 mm2", length = "18 m"', 'section = "2.5 mm2", length = "18 m"'),
    ('length = "18 m", method = "B2"', 'length = "18.5 m", method = "B2"'), ('name = "Pendant lamps"', 'name = "Pendant lamp"'), ('spoken = ["iron"]', 'spoken = ["the iron"]'),
    ('restore = "on" ', 'restore = "off" '), ('at = { wall = "bench", along = "1.3 m"', 'at = { wall = "bench", along = "1.31 m"'), ('steps = 4 ', 'steps = 3 '),
    ('does = "off everything"', 'does = "off pendant"'), ('code = "nec 0x04:0x71"', 'code = "nec 0x04:0x72"'), ('kind = "22 class"', 'kind = "11 class"'),
    ('says = "after a power cut ironing stays off"', 'says = "ironing is never on while ceiling is on"'), ('material = "plastic"', 'material = "aluminium"'),
    ('broker = "192.168.1.10"', 'broker = "192.168.1.11"'), ('ambient = "35 degC"', 'ambient = "36 degC"'), ('type = "rp2040-wifi"', 'type = "rp2350-wifi"'),
    ('[load.pendant]\n', '[load.pendant]\nrelay = "RTS3T005"\n'),
])
def test_what_changes_a_sheet_changes_it(plain, old, new):
    assert TEXT.count(old) >= 1
    text = TEXT.replace(old, new, 1)
    if old.startswith("steps"):
        text = text.replace("positions = 4", "positions = 3")
    assert identity(text) != plain


@pytest.mark.parametrize("change", [
    lambda text: "# a comment\n" + text, lambda text: text.replace("# A cold tungsten filament takes many times its running current.\n", ""),
    lambda text: text.replace('"9 W" ', '"9.0 W" '), lambda text: text.replace('power = "54 W"\npower_factor = 0.95\n', 'power_factor = 0.95\npower = "54 W"\n'),
    lambda text: text.replace('"2u5"', '"2.5 uF"'), lambda text: text[text.index("[board]"):] + "\n" + text[:text.index("[board]")],
])
def test_what_changes_no_sheet_does_not(plain, change):
    changed = change(TEXT)
    assert changed != TEXT and identity(changed) == plain


def test_rules_count_and_their_order_does_not(plain):
    one, other = '[rule.a]\nsays = "bench is on for at most 30 min"\n\n', '[rule.b]\nsays = "wall is on for 3 min"\n\n'
    ruled = identity(one + other + TEXT)
    assert ruled == identity(other + one + TEXT) and len({plain, ruled, identity(one + TEXT), identity(one.replace("30", "31") + other + TEXT)}) == 4


def test_the_order_of_channels_numbers_relays_and_so_counts(plain):
    start, end = TEXT.index("[load.wall]"), TEXT.index("# 2.2 kW through")
    moved = TEXT[:TEXT.index("[load.pendant]")] + TEXT[start:end] + TEXT[TEXT.index("[load.pendant]"):start] + TEXT[end:]
    assert identity(moved) != plain


def test_it_is_the_same_on_every_run(plain):
    assert len(plain) == 12 and plain == identity(TEXT)
