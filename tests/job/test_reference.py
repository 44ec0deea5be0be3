"""The reference of the job file is what the models say, and leaves out no key."""

import re
from pathlib import Path
from typing import get_args

from pattress.job.model import Job
from pattress.job.translation import allowed_at
from pattress.quantity import parse
from pattress.quantity.units import SPELLINGS

from .job_file_table import document

WRITTEN = Path(__file__).parents[2] / "docs" / "job-file.md"


def test_the_reference_is_made_from_the_models():
    assert WRITTEN.read_text("utf-8") == document(), "write it anew: python -m tests.job.job_file_table > docs/job-file.md"


def test_every_section_and_every_record_within_is_told_once():
    text = document()
    for section in Job.model_fields:
        assert text.count(f"## `[{section}]`\n") + text.count(f"## `[{section}.NAME]`\n") == 1
    for heading in ("### Cable", "### Protective device", "### Fan reading", "### Button", "### Inrush"):
        assert text.count(f"{heading}\n") == 1


def test_every_key_of_every_record_is_in_its_chapter():
    """In its table, or in the sentence that refers to the table of another chapter, which then has it."""
    chapters = {chapter.partition("\n")[0].strip("`# "): chapter for chapter in re.split(r"\n(?=#{2,3} )", document())}
    checked = 0
    for section, field in Job.model_fields.items():
        title = next(title for title in (f"[{section}]", f"[{section}.NAME]") if title in chapters)
        model = next((one for one in (field.annotation, *get_args(field.annotation)) if hasattr(one, "model_fields")), None)
        for key in model.model_fields if model else ():
            referred = re.search(r"Also (.+) as in \[`?(.+?)`?\]\(", chapters[title])
            told = chapters[referred[2]] if referred and f"`{key}`" in referred[1] else chapters[title]
            assert f"\n| `{key}` |" in told, (section, key)
            checked += 1
    assert checked > 60


def test_a_key_that_may_be_missing_says_what_it_takes():
    assert allowed_at(("network", "setup_switch")) == "text in quotes, 1 to 60 characters on one line"
    assert allowed_at(("load", "lamp", "at")) == "a table with wall, along, height"


def test_what_may_be_written_is_within_what_is_allowed():
    rows = re.findall(r'such as "([^"]+)"(?:, (?:above|at least) [^,|]+)?, at most ([^,|"]+?) *[,|]', WRITTEN.read_text("utf-8"))
    assert ("30 mA", "1 A") in rows and len(rows) > 30
    for example, most in rows:
        unit = SPELLINGS[most.split()[1].replace("²", "2")].base
        assert parse(example, unit) <= parse(most, unit), (example, most)
