"""The table of all claims and the counts of faults in docs/proof.md, made from what the tests use.

Print them anew with ``python -m tests.proof.claims_table``.
"""

from pattress.proof import CLAIMS

from .generated import number_of_changes
from .test_durations import COUNTS, places
from .test_generated_faults import CORE, FILES, THE_SAME
from .test_influence import COUPLINGS, OF_CONDITIONS
from .test_seeded_faults import FAULTS


def claims_table():
    """Return the table of claims as it stands in the document."""
    rows = [f"| `{claim.id}` | {claim.kind} | {claim.sentence} |" for claim in CLAIMS.values()]
    return "\n".join(["| Claim | Kind | What it says |", "|---|---|---|", *rows])


def fault_table():
    """Return the table of how many faults of which kind must be caught."""
    generated = sum(number_of_changes((CORE / file).read_text("utf-8")) for file in FILES)
    rows = [
        ("written by hand, each with the claim that must catch it", len(FAULTS), "`test_seeded_faults.py`"),
        ("one millisecond more or less where a duration is taken or counted", 2 * (len(places()) + len(COUNTS)), "`test_durations.py`"),
        ("couplings between parts that must be independent", len(COUPLINGS) + len(OF_CONDITIONS), "`test_influence.py`"),
        ("every small change of an operator, constant, condition or statement", generated, "`test_generated_faults.py`, by `make soak`"),
        ("of these, kinds of change argued one by one to change nothing", len(THE_SAME), "the same"),
    ]
    return "\n".join(["| Faults of the control program | How many | Where |", "|---|---|---|",
                      *(f"| {words} | {number} | {where} |" for words, number, where in rows)])


if __name__ == "__main__":
    print(claims_table(), fault_table(), sep="\n\n")
