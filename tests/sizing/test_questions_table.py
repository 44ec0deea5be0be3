import re
from pathlib import Path

from .questions_table import questions, sources, table

DOCUMENT = Path(__file__).parents[2] / "docs/questions.md"


def test_the_table_in_the_docs_is_what_the_questions_say():
    assert DOCUMENT.read_text("utf-8") == table()


def test_every_question_has_formula_source_and_limits():
    for name, finding in questions().items():
        assert finding.formula and sources(finding) and finding.covers_not, name


def test_every_number_leads_to_the_source_that_the_question_names():
    text = DOCUMENT.read_text("utf-8")
    listed = dict(re.findall(r"^(\d+)\. (.+)$", text, re.MULTILINE))
    for name, finding in questions().items():
        numbers = re.search(rf"^\| `{name}` \|.*\| ([\d, ]+) \| [^|]*\|$", text, re.MULTILINE)[1].split(", ")
        assert [listed[number] for number in numbers] == sources(finding), name
