from pathlib import Path

from .questions_table import questions, table

DOCUMENT = Path(__file__).parents[2] / "docs/questions.md"


def test_the_table_in_the_docs_is_what_the_questions_say():
    assert DOCUMENT.read_text("utf-8") == table()


def test_every_question_has_formula_source_and_limits():
    for name, finding in questions().items():
        sources = [*finding.sources, *(i.source for i in finding.inputs if i.source)]
        assert finding.formula and sources and finding.covers_not, name
