"""What moves between two designs."""

from pattress.design.comparison import Direction, compare
from pattress.finding import Verdict
from tests.design import seeded

GARDEN = "garden-workshop"


def test_a_design_beside_itself_moves_nothing():
    design = seeded.design(example=GARDEN)
    again = compare(design, seeded.design(example=GARDEN))
    assert (again.moves, again.parts, again.plan) == ((), (), ())


def test_a_weaker_relay_makes_its_own_findings_worse_and_nothing_else_comes_first():
    found = compare(seeded.design(example=GARDEN), seeded.design(seeded.WEAK, example=GARDEN))
    worse = [move for move in found.moves if move.direction is Direction.WORSE]
    assert found.moves[: len(worse)] == tuple(worse)
    assert {"contacts.extractor", "making.extractor"} <= {move.id for move in worse}
    assert all(move.after.verdict.severity > move.before.verdict.severity for move in worse)
    assert found.moves[0].after.verdict is Verdict.FAILS
    assert [(part.what, part.before, part.after) for part in found.parts] == [("relay of extractor", "RTS3L005", "G5LE-1A DC5")]
    assert found.plan == ()


def test_turned_round_every_move_turns_round():
    turned = {Direction.WORSE: Direction.BETTER, Direction.BETTER: Direction.WORSE, Direction.NEW: Direction.GONE,
              Direction.GONE: Direction.NEW, Direction.MOVED: Direction.MOVED}
    one, other = seeded.design(example=GARDEN), seeded.design(seeded.WEAK, seeded.LATE, example=GARDEN)
    there, back = compare(one, other), compare(other, one)
    assert {move.id: turned[move.direction] for move in there.moves} == {move.id: move.direction for move in back.moves}
    assert there.moves


def test_a_load_more_brings_findings_parts_and_a_channel():
    lamp = ("[load.vice]\n", '[load.spare]\nname = "Spare"\nkind = "LED driver"\npower = "9 W"\nfeed = "lights"\n'
                             'run = { section = "1.5 mm2", length = "3 m" }\n\n[load.vice]\n')
    found = compare(seeded.design(example=GARDEN), seeded.design(lamp, example=GARDEN))
    assert {move.id for move in found.moves if move.direction is Direction.NEW} >= {"contacts.spare", "making.spare", "run.spare"}
    assert "relay of spare" in {part.what for part in found.parts}
    assert "channels.spare.name" in {place.what for place in found.plan}
    assert not any(place.what.startswith("channels.extractor.") for place in found.plan)
