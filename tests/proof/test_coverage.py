"""What a proof never went through is found, named, and explained by what the job lacks, or not at all."""

import pytest

from pattress.controller import core as shipped
from pattress.controller.digest import CORE
from pattress.design import design_of
from pattress.proof import prove
from pattress.proof.instrumented.coverage import cover
from pattress.proof.instrumented.loading import Condition, Notes, instrumented

from .mutants import forget, mutant
from .plans import CONDITIONED, GROUPS, LAMP_SENSED, PRESSED, SMALL, TIMED, TINY, TWO_FANS

EXAMPLES = ("examples/sewing-room/job.toml", "examples/garden-workshop/job.toml")
AT_ONCE = "no remote button that counts as let go at once"      # nobody plans that; the program bears it all the same


@pytest.fixture(scope="module")
def examples():
    return [cover(design_of(job).plan) for job in EXAMPLES]


def test_an_instrumented_copy_gives_the_proof_of_the_source():
    plain, instrumented_too = prove(TINY), cover(TINY).proof
    assert (plain.properties, plain.parts, plain.digest) == (instrumented_too.properties, instrumented_too.parts, instrumented_too.digest)


def test_all_that_an_example_never_goes_through_is_explained(examples):
    for covered in examples:
        assert covered.proof.holds and covered.ways > 200
        assert covered.unexplained == (), "\n".join(map(str, covered.unexplained))


def test_examples_together_go_everywhere_but_where_each_rest_is_argued(examples):
    """A regulator with a contact for each position is in no example, no stay and no rule with a condition; such plans are proven in test_proof."""
    never = set.intersection(*({((one.condition, one.truth), one.because) for one in covered.never} for covered in examples))
    assert {because for _, because in never} == {
        "no regulator with a contact for each position", AT_ONCE, "no feedback of a channel with steps",
        "no stay", "no stay that is warned of", "no fan that starts at a low step", "nothing that is never on together", "no plan without rules", "nothing that the network leaves alone", "no stay that an asking renews",
        "no rule that holds something on", "no rule that keeps something off", "no rule that keeps something off for longer", "no rule of a moment",
        "no rule that lets others rest", "no rule that is latched", "no rule by a reading", "no rule that keeps something off by a reading",
        "no rule by a channel that is on", "no rule by a channel that is off", "nothing that one rule holds on and another lets rest",
        "nothing that one rule holds on and another keeps off", "no wall switch that is held", "no wall switch that is pressed twice"}




@pytest.mark.parametrize("table", [TINY, LAMP_SENSED, TIMED, CONDITIONED, PRESSED, TWO_FANS], ids=lambda table: table["title"])
def test_nothing_is_left_unexplained(table):
    assert cover(table).unexplained == ()


def test_dead_branch_is_listed_and_nothing_explains_it(tmp_path):
    core = mutant(tmp_path, "channels.py", "    if applied:\n        return\n",
                  "    if applied:\n        return\n    if wanted > 200:\n        state[at + REST] = 0\n")
    try:
        dead = [str(one) for one in cover(SMALL, core).unexplained]
        line = (CORE / "channels.py").read_text("utf-8").split("    if applied:\n        return\n")[0].count("\n") + 3
        assert dead == [f"channels.py:{line}  wanted > 200  is never true"]
    finally:
        forget(core)


def test_what_the_job_lacks_is_named():
    because = {one.condition.text: one.because for one in cover(GROUPS).never}
    assert because["for regulator in range(plan.regulators)"] == "no regulator"
    assert because["wanted <= plan.kick_top[channel]"] == "no start kick"


def test_conditions_are_watched_one_by_one(tmp_path):
    (tmp_path / "__init__.py").write_text(
        "def between(low, value, high):\n    return low <= value() < high\n\n"
        "def walk(rows, wanted):\n    for row in rows:\n        if row == wanted and not row < 0:\n            return row\n    return None\n", "utf-8")
    notes, calls = Notes(), []
    with instrumented(tmp_path, notes) as package:
        assert package.between(1, lambda: calls.append(1) or 5, 5) is False
        assert calls == [1]         # what stands between two comparisons is worked out once
        assert package.walk([1, 2], 2) == 2
    assert {(way[0].text, way[1]) for way, met in notes.ways().items() if met} == {
        ("low <= value()", True), ("value() < high", False),
        ("for row in rows", True), ("row == wanted", False), ("row == wanted", True), ("row < 0", False)}
    assert Condition("__init__.py", 2, "low <= value()") in notes.conditions


def test_shipped_core_stays_as_it_is():
    before = shipped.step
    cover(TINY)
    assert shipped.step is before and not hasattr(shipped.program, "_seen")
