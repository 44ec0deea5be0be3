"""Named numbers are put where they are used; the lines, the meaning and what others ask for stay."""

import pytest

from pattress.bundle.folding import folded

CELLS = '''"""Places."""
FIRST, SECOND = range(2)
SIZE = 3        # of a row
WIDE = 4 * SIZE
LOW = -1
WORDS = ("one", "two")
TABLE = (FIRST, SIZE)
'''


def both(text, cells=CELLS, name="core/use"):
    """Return `text` folded beside CELLS, and CELLS folded."""
    found = folded({"core/__init__": "from .cells import SECOND, TABLE\n", "core/cells": cells, name: text}, ["core.SECOND\n"])
    return found[name], found["core/cells"]


def test_a_number_takes_the_place_of_its_name_and_its_import_goes():
    text, cells = both("from .cells import SIZE, LOW, TABLE\n\ndef f(a):\n    return a * SIZE - LOW, TABLE\n")
    assert text == "from .cells import TABLE\n\ndef f(a):\n    return a * 3 - (-1), TABLE\n"
    assert cells == '"""Places."""\nSECOND = 1\npass        # of a row\npass\npass\npass\nTABLE = (0, 3)\n'


def test_a_short_text_takes_the_place_of_its_name_and_a_long_one_stays():
    cells = f"{CELLS}WORD, ENDING = 'report', b'.z'\nLONG = 'of more than sixteen letters'\n"
    text, cells = both("from .cells import LONG, WORD\n\ndef f(a):\n    return a + WORD, LONG\n", cells)
    assert text == "from .cells import LONG\n\ndef f(a):\n    return a + 'report', LONG\n"
    assert cells.endswith("pass\nLONG = 'of more than sixteen letters'\n") and "ENDING" not in cells


def test_an_import_of_nothing_but_numbers_leaves_no_import_and_as_many_lines():
    text, _ = both("from .cells import (\n    SIZE,\n    WIDE,\n)\n\nx = [SIZE, WIDE]\n")
    assert text == "pass\n\n\n\n\nx = [3, 12]\n"


@pytest.mark.parametrize("text, expected", [
    ("from . import cells as c\nx = c.WIDE + c.TABLE[0]\n", "from . import cells as c\nx = 12 + c.TABLE[0]\n"),
    ("from .core import cells\nfrom . import core\nx = core.SECOND + cells.SIZE\n",
     "from .core import cells\nfrom . import core\nx = 1 + 3\n"),
])
def test_a_number_reached_through_its_module_or_package_is_folded_too(text, expected):
    assert both(text, name="core/use" if "cells as" in text else "use")[0] == expected


@pytest.mark.parametrize("text", [
    "SIZE = 1\nSIZE = 2\nx = SIZE\n",                       # given twice
    "def f(SIZE):\n    return SIZE\n",                      # another thing of that name
    "SIZE = True\nx = SIZE\n",                              # no number
    "SIZE = make()\nx = SIZE\n",
    "from machine import SIZE\nx = SIZE\n",                 # not ours
    "size = 3\nx = size\n",                                 # may change
])
def test_what_is_no_fixed_number_is_left_alone(text):
    assert both(text)[0] == text


def test_what_somebody_reaches_in_a_way_of_his_own_stays():
    _, cells = both("def f(core):\n    return core.SIZE, core.WORDS\n")
    assert "SIZE = 3" in cells and "WORDS" in cells and "WIDE" not in cells


def test_a_package_exports_what_a_module_or_a_reader_asks_for_and_nothing_else():
    package = {"core/__init__": "from .cells import FIRST, SECOND, TABLE, WORDS\n", "core/cells": CELLS}
    assert folded(package)["core/__init__"] == "pass\n"
    assert folded(package, ["core.SECOND + core.WORDS\n"])["core/__init__"] == "from .cells import SECOND, WORDS\n"
    found = folded(package | {"use": "def f(core):\n    return core.TABLE\n"})
    assert found["core/__init__"] == "from .cells import TABLE\n"


def test_a_module_that_is_no_python_is_left_to_the_compiler():
    assert folded({"a": "def broken(:\n"}) == {"a": "def broken(:\n"}


def test_the_whole_program_keeps_its_lines():
    from pattress.bundle.contents import modules
    from pattress.controller.digest import core_files

    sources = {name: path.read_text("utf-8") for name, path in modules(core_files()).items()}
    result = folded(sources)
    assert {name: text.count("\n") for name, text in result.items()} == {name: text.count("\n") for name, text in sources.items()}
    assert sum(map(len, result.values())) < sum(map(len, sources.values())) - 5000
