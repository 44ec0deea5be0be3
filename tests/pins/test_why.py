"""Why a wire sits where it sits: the sentences, against the rules and prices themselves."""

from pathlib import Path

import pytest

from pattress.job import load
from pattress.pins.assign import assign
from pattress.pins.best import price
from pattress.pins.demands import CONTACT, LAMP, RELAY, WARNING, Demand, demands
from pattress.pins.rules import objections
from pattress.pins.why import Standing, choices, standing_wires
from pattress.stock.boards import load_boards

LANDING = Path(__file__).parents[2] / "examples" / "landing" / "job.toml"
BOARDS = load_boards()
LAMP_RELAY, DOOR, STATUS = Demand("relay.lamp", RELAY, "relays"), Demand("switch.door", CONTACT, "switches", 2.2e3), Demand("status", LAMP, "status")
WARNED = Demand("power_fail", WARNING, "power_fail")
WANTED = (LAMP_RELAY, DOOR, STATUS, WARNED)


def told(wire, board="esp32", fixed=None):
    found = choices(wire, BOARDS[board], assign(WANTED, BOARDS[board], fixed or {}).pins)
    return {choice.pin.gpio: choice for choice in found}


def warned_at(found):
    return next(gpio for gpio, choice in found.items() if choice.standing is Standing.HERE)


def test_the_words_of_each_standing():
    relay = told(LAMP_RELAY, fixed={"switch.door": 25})
    assert str(relay[32].words) == (
        "GPIO32 (D32) can set the line, is left to the pull-down while the board starts; no assignment costs less (proven)")
    assert (relay[34].standing, relay[34].words) == (Standing.CANNOT, "is an input only")
    assert (relay[25].standing, relay[25].words) == (Standing.TAKEN, "holds switch.door, which [board.pins] keeps there")
    assert relay[1].standing is Standing.REFUSED and "is driven high while the board starts" in relay[1].words
    assert relay[26].words == "would do as well; wires of a kind are kept side by side, earlier ones further up"
    door = told(DOOR, fixed={"switch.door": 25})
    assert door[25].words == "GPIO25 (D25) is held up by 2.2 kohm to 3.3 V; kept, because [board.pins] names it"
    assert (door[35].standing, door[35].words) == (Standing.FREE, "would do as well; wires of a kind are kept side by side, earlier ones further up")
    warned = told(WARNED)
    assert warned[warned_at(warned)].words.startswith(f"GPIO{warned_at(warned)} ") and "has a pull-up" in warned[warned_at(warned)].words
    assert (warned[34].standing, warned[34].words) == (Standing.PRICE, "has no pull-up of its own")
    assert told(STATUS)[26].words == "would do, but: a lamp must be fitted"


@pytest.mark.parametrize("board", BOARDS)
@pytest.mark.parametrize("wire", WANTED, ids=lambda wire: wire.name)
def test_every_pin_of_the_edge_is_told_and_follows_the_rules(wire, board):
    found = told(wire, board)
    assert set(found) == {pin.gpio for pin in BOARDS[board].pins if pin.edge}
    assert [choice.standing for choice in found.values()].count(Standing.HERE) == 1
    here = next(choice.pin for choice in found.values() if choice.standing is Standing.HERE)
    for choice in found.values():
        against = objections(wire.need, choice.pin)
        assert bool(against) == (choice.standing in (Standing.PRICE, Standing.REFUSED, Standing.CANNOT))
        for words in against.values():
            assert words in choice.words
        if choice.standing is Standing.FREE:        # chosen was the dearer one only for the company it keeps
            assert ("would do, but" in choice.words) == (price(wire.need, choice.pin) > price(wire.need, here))


def test_in_a_conflict_only_soldered_wires_stand():
    job = load(LANDING)
    board = BOARDS[job.board.type]
    wanted = demands(job, {"bedroom": 3, "study": 3})
    fixed = {"relay.stairs": 32, "switch.hall": 34}
    result = assign(wanted, board, fixed)
    placed = standing_wires(result)
    assert {one.demand.name: (one.pin.gpio, one.reason) for one in placed} == {
        "relay.stairs": (32, "GPIO32 (D32) is named in [board.pins]"), "switch.hall": (34, "GPIO34 (D34) is named in [board.pins]")}
    free = {choice.pin.gpio: choice.words for choice in choices(wanted[1], board, placed)}
    assert free[33] == "would do" and free[32] == "holds relay.stairs, which [board.pins] keeps there"
