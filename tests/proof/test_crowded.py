"""A job of twelve channels and thirty rules of all kinds: proven, and soon."""

from time import process_time

from pattress.job.rule import parse_rule
from pattress.proof import prove

from .crowded import RULES, crowded

SECONDS = 60.0          # of one core; some 42 where this was written


def test_the_rules_are_of_all_kinds():
    kinds = {parse_rule(says).kind for says in RULES}
    assert kinds >= {"limit", "stay", "wall", "hold", "lock", "only", "latch", "rest", "when"} and len(set(RULES)) == len(RULES) == 30


def test_twelve_channels_with_thirty_rules_are_proven_in_a_minute():
    table = crowded(len(RULES))
    assert len(table["channels"]) == 12 and sum(len(row["masks"]) > 2 for row in table["channels"]) == 2
    start = process_time()
    proof = prove(table)
    assert process_time() - start < SECONDS
    assert proof.holds and proof.notes == () and proof.transitions > 100_000
