"""CPython and MicroPython live the same days, one after the other with one state, under thirty rules: two with every test run, a year in `make soak`."""

from random import Random

import pytest

from pattress.controller.core.cells import RULED
from pattress.controller.digest import CORE, canonical
from pattress.controller.replay import set_line
from pattress.interpreter import ask
from pattress.rehearsal.board import Board
from pattress.rehearsal.day import DAY, Names
from pattress.rehearsal.habits import Habits, day_of
from pattress.rehearsal.surroundings import usual_surroundings
from pattress.rehearsal.year import _Home, patient

from .ruled_plans import thirty_rules

KINDS = "window", "leak", "switch", "float"
TABLE = patient(thirty_rules())


def lived(days, batch):
    """Live so many days; compare all answers every `batch` days. Return how many were compared, and the rules that acted."""
    rng, around = Random("alike/household"), Random("alike/surroundings")
    habits = Habits.drawn(TABLE, [6.0] * 7, rng)
    home = _Home(TABLE, Names.of(TABLE), "alike/world", days * DAY)
    home.board = Board(home.plan)
    first, compared, causes = [], 0, set()
    for day in range(days):
        home.live_day(day * DAY, [*day_of(TABLE, habits, rng), *usual_surroundings(TABLE, KINDS, around)])
        if (day + 1) % batch and day + 1 < days:
            continue
        entries = [entry for entry in home.board.log if entry.kind != "cut"]
        there = ask([*first, *(entry.question() for entry in entries)], folder=CORE.parent, table=canonical(TABLE).decode())[len(first):]
        assert len(there) == len(entries)
        for entry, answer in zip(entries, there, strict=True):
            assert entry.answer() == answer, entry.question()
        compared += len(entries)
        causes |= {one[2] - RULED for entry in entries for one in entry.told or () if one[2] >= RULED}
        home.board.log.clear()
        first = [set_line(list(enumerate(home.board.state)))]
    assert [str(problem) for problem in home.oracle.problems] == []
    return compared, causes


def test_two_days_under_thirty_rules_are_answered_alike():
    compared, causes = lived(2, 1)
    assert compared > 2_000 and len(causes) > 10


@pytest.mark.soak
def test_a_year_under_thirty_rules_is_answered_alike():
    compared, causes = lived(365, 20)
    print(compared, len(causes))
    assert compared > 365_000 and len(causes) > 25
