"""docs/security.md: every provision of the baseline once, with a test that is there, or a word why there is none."""

import re
from pathlib import Path

ROOT = Path(__file__).parents[1]
# Provisions of ETSI EN 303 645 V2.1.1 by clause, and how many each has; from memory.
PROVISIONS = {"5.1": 5, "5.2": 3, "5.3": 16, "5.4": 4, "5.5": 8, "5.6": 9, "5.7": 2, "5.8": 3, "5.9": 3, "5.10": 1, "5.11": 4, "5.12": 3, "5.13": 1, "6": 5}
HERE = ("met", "partly", "not met", "not applicable")


def rows():
    return [tuple(cell.strip() for cell in line.strip("|").split("|")) for line in (ROOT / "docs/security.md").read_text("utf-8").splitlines() if re.match(r"\| [56][.\d]*-\d+ \|", line)]


def test_every_provision_is_there_once_with_a_verdict():
    assert [row[0] for row in rows()] == [f"{clause}-{number}" for clause, count in PROVISIONS.items() for number in range(1, count + 1)]
    assert all(row[2].startswith(HERE) for row in rows())


def test_every_test_that_is_named_is_there_and_nothing_is_met_without_one_but_by_a_document():
    named = {name for path in (ROOT / "tests").rglob("test_*.py") for name in re.findall(r"^def (test_\w+)", path.read_text("utf-8"), re.MULTILINE)}
    for number, _, here, shown in rows():
        found = re.findall(r"`(test_\w+)`", shown)
        assert set(found) <= named, number
        assert found or shown.startswith("no test: "), number
        assert found or not here.startswith("met") or shown in ("no test: a document", "no test: there is none"), number
