"""Assignment and conflict: a board done by hand, then every small board against brute force."""

from itertools import chain, combinations, permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pattress.errors import UseError
from pattress.pins.assign import assign
from pattress.pins.best import RUN, Assignment, best, price
from pattress.pins.conflict import Conflict, conflict
from pattress.pins.demands import CONTACT, LAMP, RECEIVER, RELAY, SENSOR, Demand
from pattress.pins.problem import problem
from pattress.stock.boards import load_boards
from tests.pins.boards import board, pin, pulse, strap

BOARDS = load_boards()


def relays(count):
    return [Demand(f"relay.{number}", RELAY, "relays") for number in range(1, count + 1)]


def contacts(count):
    return [Demand(f"switch.{number}", CONTACT, "switches") for number in range(1, count + 1)]


REST = [Demand("infrared", RECEIVER, "infrared"), Demand("sensor.room", SENSOR, "sensors"), Demand("status", LAMP, "status")]

# Seven pins in a row: 0 is driven high at start, 1 and 2 are plain, 3 is the console's, 4 is an input
# only, 5 must be low at reset, 6 is plain. By hand: two relays want a run of two: 1 and 2 (0 moves at
# start, 3 is the console's). The contact has 0 and 6 left (4 has no pull-up, 5 must not be pulled up);
# nothing tells them apart but the order along the edge: 0. One run of relays costs 4, the rest nothing.
BY_HAND = board(
    pin(0, reset="driven high"), pin(1), pin(2), pin(3, console="talks"),
    pin(4, output=False, pull_up=False, pull_down=False), pin(5, strap=strap("low")), pin(6),
)


def test_a_board_done_by_hand():
    found = assign([*relays(2), *contacts(1)], BY_HAND)
    assert found.by_name() == {"relay.1": 1, "relay.2": 2, "switch.1": 0}
    assert found.cost == 4


def test_a_third_relay_takes_the_plain_pin_before_the_strapping_pin():
    # 6 costs a second run (4); 5 costs its strap (12) and a second run as well.
    found = assign([*relays(3), *contacts(1)], BY_HAND)
    assert found.by_name() == {"relay.1": 1, "relay.2": 2, "relay.3": 6, "switch.1": 0}
    assert found.cost == 8


def test_a_conflict_done_by_hand():
    # Five relays: pins 1, 2, 5, 6 are left. The rules that take 0, 3 and 4 away are all needed.
    why = assign(relays(5), BY_HAND)
    assert isinstance(why, Conflict)
    assert [wire.name for wire in why.demands] == ["relay.1", "relay.2", "relay.3", "relay.4", "relay.5"]
    assert [rule.name for rule in why.rules] == ["input only", "start", "console"]
    assert why.words == (
        "5 wires need a pin each, and the rules leave 4: GPIO1 (P1), GPIO2 (P2), GPIO5 (P5), GPIO6 (P6).\n"
        "  the 5 relay outputs relay.1, relay.2, relay.3, relay.4, relay.5\n"
        "  rule: an input-only pin cannot set a line: GPIO4 (P4) is an input only\n"
        "  rule: a relay must not move while the board starts: GPIO0 (P0) is driven high while the board starts\n"
        "  rule: the console keeps its pins: GPIO3 (P3) is the console's: talks\n"
        "  Take away any one of these wires or rules and the conflict is gone; no smaller set conflicts (proven)."
    )


# --- every small board against brute force

PINS = st.builds(
    dict,
    output=st.booleans(), pull_up=st.booleans(), edge=st.sampled_from(["left", "left", "right", ""]),
    reset=st.sampled_from(["floating", "weak low", "weak high", "driven high"]),
    pulses=st.sampled_from([(), (), (pulse("high", 50e-6),), (pulse("high", None),), (pulse("low", None),), (pulse("high", 2e-3),)]),
    strap=st.sampled_from([None, None, strap("any"), strap("high"), strap("low")]),
    reserved=st.sampled_from(["", "", "", "memory"]), console=st.sampled_from(["", "", "", "talks"]),
    driven=st.sampled_from(["", "", "", "a bridge"]),
    carries=st.sampled_from(["", "a lamp"]), interrupt=st.sampled_from(["", "misfires"]),
)
SMALL_BOARDS = st.lists(PINS, min_size=2, max_size=6).map(
    lambda facts: board(*(pin(gpio, **entry) for gpio, entry in enumerate(facts)))
)
WIRES = st.tuples(st.integers(0, 3), st.integers(0, 2), st.sets(st.sampled_from(range(3)))).map(
    lambda counts: [*relays(counts[0]), *contacts(counts[1]), *(REST[number] for number in sorted(counts[2]))][:5]
).filter(bool)


@st.composite
def problems(draw):
    wanted, offered = draw(WIRES), draw(SMALL_BOARDS)
    soldered = draw(st.dictionaries(st.sampled_from([wire.name for wire in wanted]), st.integers(0, 6), max_size=2))
    return problem(wanted, offered, soldered)


def allowed(asked, waived=frozenset()):
    """Return by wire the places in `asked.pins` that the rules leave it; `waived` rules do not count."""
    return {wire.name: {at for at, one in enumerate(asked.pins) if bank.fixed in (None, one.gpio)
                        and not set(asked.against(bank, one)) - waived}
            for bank in asked.banks for wire in bank.members}


def fits(places):
    """Return whether wires with these allowed places can all have one of their own (augmenting paths)."""
    holder = {}

    def place(wire, tried):
        for at in places[wire] - tried:
            tried.add(at)
            if at not in holder or place(holder[at], tried):
                holder[at] = wire
                return True
        return False

    return all(place(wire, set()) for wire in places)


def cost_of(asked, held):
    """Return the cost of any assignment, by wire and GPIO number: what `best` makes least, added up without it."""
    total = 0
    for bank in asked.banks:
        taken = {held[demand.name] for demand in bank.members}
        places = [at for at, pin in enumerate(asked.pins) if pin.gpio in taken]
        total += sum(price(bank.need, asked.pins[at]) for at in places)
        if len(bank.members) > 1:
            starts = [at for at in places if at - 1 not in places or asked.pins[at - 1].edge != asked.pins[at].edge]
            total += RUN * len(starts)
    return total


def by_brute_force(asked):
    """Return the least cost over every possible assignment, None when there is none."""
    places, names = allowed(asked), [wire.name for wire in asked.wanted]
    costs = [
        cost_of(asked, {name: asked.pins[at].gpio for name, at in zip(names, chosen, strict=True)})
        for chosen in permutations(range(len(asked.pins)), len(names))
        if all(at in places[name] for name, at in zip(names, chosen, strict=True))
    ]
    return min(costs, default=None)


@settings(max_examples=120, deadline=None)
@given(problems())
def test_the_best_assignment_costs_what_brute_force_finds(asked):
    found = best(asked)
    assert (found.cost if found else None) == by_brute_force(asked)
    assert (found is None) == (conflict(asked) is not None)
    if found:
        places, gpios = allowed(asked), [one.gpio for one in asked.pins]
        assert all(gpios.index(gpio) in places[name] for name, gpio in found.by_name().items())
        assert len(set(found.by_name().values())) == len(asked.wanted)


@settings(max_examples=60, deadline=None)
@given(problems())
def test_a_board_that_is_short_of_pins_by_count_has_no_assignment(asked):
    if asked.is_short():
        assert best(asked) is None


def test_as_many_pins_as_wires_are_enough():
    full, one_less = board(pin(0), pin(1), pin(2)), board(pin(0), pin(1))
    assert set(assign([*relays(2), *contacts(1)], full).by_name().values()) == {0, 1, 2}
    assert isinstance(assign([*relays(2), *contacts(1)], one_less), Conflict)
    assert not problem([*relays(2), *contacts(1)], full).is_short() and problem([*relays(2), *contacts(1)], one_less).is_short()


def subsets(things):
    return chain.from_iterable(combinations(things, size) for size in range(len(things) + 1))


@settings(max_examples=100, deadline=None)
@given(problems())
def test_a_conflict_is_irreducible_and_none_is_smaller(asked):
    why = conflict(asked)
    rules = {name for bank in asked.banks for one in asked.pins for name in asked.against(bank, one)}
    if why is None:
        assert fits(allowed(asked))
        return
    wires, held = {wire.name for wire in why.demands}, {rule.name for rule in why.rules}

    def part_fits(some_wires, some_rules):
        places = allowed(asked, frozenset(rules - set(some_rules)))
        return fits({name: places[name] for name in some_wires})

    assert not part_fits(wires, held)
    assert all(part_fits(wires - {wire}, held) for wire in wires)
    assert all(part_fits(wires, held - {rule}) for rule in held)
    smallest = min(len(some) + len(those) for those in subsets(sorted(rules))
                   for some in subsets([wire.name for wire in asked.wanted]) if not part_fits(some, those))
    assert len(wires) + len(held) == smallest
    assert len(why.left) == len(wires) - 1


@settings(max_examples=40, deadline=None)
@given(problems())
def test_every_way_out_is_feasible_when_solved_anew(asked):
    fixed = {bank.members[0].name: bank.fixed for bank in asked.banks if bank.fixed is not None}
    result = assign(asked.wanted, asked.board, fixed, [BY_HAND])
    if isinstance(result, Assignment):
        return
    for offer in result.relaxations:
        again = problem(offer.wanted, offer.board, offer.fixed)
        assert fits(allowed(again, offer.waived))
        assert offer.assignment.by_name().keys() == {wire.name for wire in offer.wanted}
    prices = [offer.price for offer in result.relaxations if offer.kinds != ("board",)]
    assert prices == sorted(prices)


# --- boards of the stock

SEWING_ROOM = [*relays(9), *contacts(4), *(Demand(f"regulator.wall.{n}", CONTACT, "regulator.wall") for n in range(1, 5)), *REST]


@pytest.mark.parametrize("name", ["esp32", "esp32-s3", "rp2040-wifi", "rp2350-wifi"])
def test_twenty_wires_fit_four_boards_and_break_no_rule(name):
    found = assign(SEWING_ROOM, BOARDS[name])
    assert not any(placed.broken for placed in found.pins)
    assert len({placed.pin.gpio for placed in found.pins}) == len(SEWING_ROOM)


def test_on_the_board_without_straps_wires_sit_side_by_side():
    pins = assign(SEWING_ROOM, BOARDS["rp2040-wifi"]).by_name()
    assert [pins[f"relay.{n}"] for n in range(1, 10)] == list(range(9))
    regulator = [pins[f"regulator.wall.{n}"] for n in range(1, 5)]
    assert regulator == list(range(regulator[0], regulator[0] + 4))


def test_a_soldered_wire_stays_where_it_is_unless_it_cannot():
    found = assign(SEWING_ROOM, BOARDS["rp2040-wifi"], {"relay.3": 28, "status": 0})
    assert found.by_name()["relay.3"] == 28 and found.by_name()["status"] == 0
    assert [placed.demand.name for placed in found.pins if placed.fixed] == ["relay.3", "status"]


IMPOSSIBLE = [
    ({"relay.1": 34}, "1 wire needs a pin, and the rules leave none:\n  relay.1, a relay output, soldered to GPIO34\n"
     "  rule: an input-only pin cannot set a line: GPIO34 (D34) is an input only\n"),
    ({"relay.1": 20}, "1 wire needs a pin, and the rules leave none:\n  relay.1, a relay output, soldered to GPIO20\n"
     "  rule: a wire needs a pin that is brought out: GPIO20 does not exist on this board\n"),
    ({"relay.1": 0}, "1 wire needs a pin, and the rules leave none:\n  relay.1, a relay output, soldered to GPIO0\n"
     "  rule: a wire needs a pin that is brought out: GPIO0 is not brought out to the edge\n"),
    ({"relay.1": 4, "status": 4}, "2 wires need a pin each, and the rules leave 1: GPIO4 (D4).\n"
     "  relay.1, a relay output, soldered to GPIO4\n  status, a status lamp, soldered to GPIO4\n"),
]


@pytest.mark.parametrize("fixed, words", IMPOSSIBLE)
def test_what_cannot_be_soldered_so(fixed, words):
    why = assign(SEWING_ROOM, BOARDS["esp32"], fixed)
    assert why.words == words + "  Take away any one of these wires or rules and the conflict is gone; no smaller set conflicts (proven)."
    assert ("resolder",) in [offer.kinds for offer in why.relaxations]


def test_a_soldered_wire_nobody_asks_for():
    with pytest.raises(UseError) as caught:
        assign([*relays(1), *REST], BOARDS["esp32"], {"realy.1": 4})
    assert str(caught.value) == (
        "board.pins holds 'realy.1', which this job does not ask for\n"
        "  allowed: relay.1, infrared, sensor.room, status\n  nearest: relay.1"
    )
