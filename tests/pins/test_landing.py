"""The landing example asks a classic board for more than it has: what is said, and that each way out works."""

from pathlib import Path

import pytest

from pattress.job import load
from pattress.pins.assign import assign
from pattress.pins.best import Assignment
from pattress.pins.conflict import Conflict
from pattress.pins.demands import demands
from pattress.stock.boards import load_boards

EXAMPLE = Path(__file__).parents[2] / "examples" / "landing" / "job.toml"
BOARDS = load_boards()
FAN_RELAYS = {"bedroom": 3, "study": 3}       # two capacitors and straight through each, as the file says
JOB = load(EXAMPLE)
WANTED = demands(JOB, FAN_RELAYS)
WHY = assign(WANTED, BOARDS[JOB.board.type], JOB.board.pins, BOARDS.values())


def test_it_cannot_be_met_as_written():
    assert isinstance(WHY, Conflict)
    assert len(WANTED) == 29


def test_the_conflict_in_words():
    assert WHY.words == (
        "24 wires need a pin each, and the rules leave 23: GPIO36 (VP), GPIO39 (VN), GPIO34 (D34), GPIO35 (D35), GPIO32 (D32), GPIO33 (D33), GPIO25 (D25), GPIO26 (D26), "
        "GPIO27 (D27), GPIO14 (D14), GPIO12 (D12), GPIO13 (D13), GPIO23 (D23), GPIO22 (D22), GPIO21 (D21), GPIO19 (D19), "
        "GPIO18 (D18), GPIO5 (D5), GPIO17 (TX2), GPIO16 (RX2), GPIO4 (D4), GPIO2 (D2), GPIO15 (D15).\n"
        "  the 16 relay outputs relay.stairs, relay.landing, relay.picture, relay.hall, relay.porch, relay.attic, "
        "relay.cupboard, relay.towel_rail, relay.floor, relay.extract, relay.bedroom.1, relay.bedroom.2, relay.bedroom.3, "
        "relay.study.1, relay.study.2, relay.study.3\n"
        "  the 4 contacts to ground switch.stairs_top, switch.stairs_foot, switch.landing, switch.hall\n"
        "  the 3 contacts to ground regulator.bedroom.1, regulator.bedroom.2, regulator.bedroom.3\n"
        "  a status lamp status\n"
        "  rule: the console keeps its pins: GPIO1 (TX0) is the console's: the console sends on it, and the boot log before; "
        "GPIO3 (RX0) is the console's: the console receives on it\n"
        "  Take away any one of these wires or rules and the conflict is gone; no smaller set conflicts (proven)."
    )


def test_at_least_two_ways_out_are_offered_cheapest_first():
    kinds = [offer.kinds for offer in WHY.relaxations]
    assert len(kinds) >= 2
    assert kinds[0] == ("lamp", "expander")
    assert ("register",) in kinds
    assert kinds[-1] == ("board",) and WHY.relaxations[-1].board.type == "esp32-s3"


@pytest.mark.parametrize("offer", WHY.relaxations, ids=lambda offer: "+".join(offer.kinds))
def test_each_way_out_applied_is_feasible(offer):
    # Applied as a person would: the changed wires, soldered where the offer puts them, checked like any soldered board.
    applied = assign(offer.wanted, offer.board, offer.assignment.by_name())
    assert isinstance(applied, Assignment)
    broken = {rule for placed in applied.pins for rule in placed.broken}
    assert broken <= offer.waived
    assert len({placed.pin.gpio for placed in applied.pins}) == len(offer.wanted)


def test_the_other_board_is_enough_by_itself():
    board = WHY.relaxations[-1].board
    changed = JOB.model_copy(update={"board": JOB.board.model_copy(update={"type": board.type})})
    assert isinstance(assign(demands(changed, FAN_RELAYS), BOARDS[changed.board.type]), Assignment)
