"""A story as a regression test: a file for pytest, with the plan and the events beside it, and the picture."""

from collections.abc import Mapping

from pattress.rehearsal.retelling import Told
from pattress.rehearsal.storyline import story_picture

TEST = '''"""A story that once broke a property, written by `pattress prove --export`. Needs pytest and pattress.

The plan and every event lie in {story}. The story is lived again with the control program of
the pattress that is installed: the test fails while that program breaks the property, and
passes when it is mended.
"""

from pathlib import Path

import pytest

from pattress.rehearsal.retelling import read_story, retell

SAYS = {says}
FOUND = {found}


@pytest.fixture(scope="module")
def retold():
    return retell(read_story(Path(__file__).with_name("{story}")))


def test_the_property_holds_along_the_story(retold):
    assert not retold.failure, SAYS


def test_both_interpreters_answer_alike(retold):
    assert not retold.difference
'''


def regression(told: Told) -> Mapping[str, str]:
    """Return the files of a story by name: its JSON, its picture and the test."""
    name = "".join(letter if letter.isalnum() else "_" for letter in told.story.property_id)
    story = f"story_{name}.json"
    return {
        story: told.text(),
        f"story_{name}.svg": story_picture(told.story, told.table).svg(),
        f"test_story_{name}.py": TEST.format(story=story, says=repr(told.story.sentence), found=repr(told.story.found)),
    }
