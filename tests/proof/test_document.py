"""docs/proof.md says what the proof does today: its claims and its counts are those of the code."""

from pathlib import Path

from .claims_table import claims_table, fault_table

DOCUMENT = Path(__file__).parents[2] / "docs/proof.md"


def test_claims_and_counts_are_those_of_the_code():
    text = DOCUMENT.read_text("utf-8")
    for table in (claims_table(), fault_table()):
        assert table in text, "print it anew: python -m tests.proof.claims_table"
