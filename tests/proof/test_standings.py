"""How everything stands after each step of a story: relays, levels and contacts of one and the same state."""

from pattress.controller.core import TOGGLE, Plan
from pattress.job.wish import parse_wish
from pattress.proof import prove, standings
from pattress.rehearsal.monitor import level_of
from tests.proof.replayed import replay

from .plans import load, plan, switch

# Invented: two lamps of which only one shall burn, each with a switch that cares for no other.
TABLE = plan("two lamps", [load("left", 0), load("right", 1)], [switch("one", (0, TOGGLE, 0)), switch("other", (1, TOGGLE, 0))])
WISH = {"apart": parse_wish("left is never on while right is on")}


def test_levels_relays_and_contacts_agree_after_every_step():
    story = next(prop.story for prop in prove(TABLE, wishes=WISH).properties if prop.id == "wish.apart")
    table, stood = Plan(TABLE), standings(story, TABLE)
    assert tuple(one.relays for one in stood) == replay(story, TABLE) == tuple(step.relays for step in story.steps)
    for one in stood:
        assert one.levels == tuple(level_of(table, channel, one.relays) for channel in range(table.channels))
        assert len(one.contacts) == 2 and one.positions == ()
    assert stood[-1].levels == (1, 1) == stood[-1].wanted
