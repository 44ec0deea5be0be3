"""Modules that belong together become one: it does what they did, and each line can be told from its number."""

import ast
import types

import pytest

from pattress.bundle.contents import modules
from pattress.bundle.folding import folded
from pattress.bundle.joining import PART, TOGETHER, joined
from pattress.controller.digest import core_files


def lines(text):
    """Return the lines of a text that say something, by their number."""
    return {number: line for number, line in enumerate(text.split("\n"), 1) if line.strip() not in ("", "pass")}


def host(*members, last="", beside="", together=None):
    """Return the host "p/host" of the members "p/m0", "p/m1", ..., joined; and what stands beside, "p/beside"."""
    sources = {f"p/m{number}": text for number, text in enumerate(members)} | {"p/host": last, "p/beside": beside, "p/__init__": ""}
    found = joined(sources, {"p/host": tuple(f"p/m{number}" for number in range(len(members)))})
    assert set(found) == {"p/host", "p/beside", "p/__init__"}
    return found["p/host"], found["p/beside"]


def test_each_part_begins_a_number_of_lines_after_the_one_before():
    text, _ = host("# first\nONE = 1", "\nTWO = 2\n", last="THREE = 3\n")
    assert lines(text) == {1: "# first", 2: "ONE = 1", PART + 2: "TWO = 2", 2 * PART + 1: "THREE = 3"}
    with pytest.raises(ValueError, match=f"more than {PART} lines: {PART + 1}"):
        host("pass\n" * (PART + 1))


def test_what_is_taken_from_a_member_is_there_within_and_is_taken_from_the_host_elsewhere():
    text, beside = host(
        "def one(x):\n    return x\n", "from .m0 import one\ndef two():\n    return one(2)\n", last="from .m1 import two\nfrom . import m0\nprint(two(), m0.one)\n",
        beside="import os\ndef f():\n    from .m0 import one as other\n    from ..p import m1 as m\n    from .p import q\n    return other(m.two, q)\n")
    assert list(lines(text).values()) == ["def one(x):", "    return x", "def two():", "    return one(2)", "print(two(), one)"]
    assert list(lines(beside).values()) == [
        "import os", "def f():", "    from .host import one as other", "    from ..p import host", "    from .p import q", "    return other(host.two, q)"]


def test_the_package_itself_may_be_the_host():
    sources = {"p/__init__": "from .m import one\n", "p/m": "def one():\n    pass\n", "p/beside": "from .m import one\n", "q": "from .p.m import one\n"}
    found = joined(sources, {"p/__init__": ("p/m",)})
    assert found["p/beside"] == "from . import one\n" and found["q"] == "from .p import one\n" and set(found) == {"p/__init__", "p/beside", "q"}


def test_names_that_two_parts_give_are_told_apart_and_what_the_host_passes_on_keeps_its_name():
    text, beside = host(
        "def add(x):\n    return x\n", "def add(x, total=1):\n    return add(x.add)\n", last="from . import m0\nfrom .m1 import add\nprint(add, m0.add)\n",
        beside="from .m0 import add\nprint(add)\n")
    assert list(lines(text).values()) == [
        "def add_of_m0(x):", "    return x", "def add(x, total=1):", "    return add(x.add)", "print(add, add_of_m0)"]
    assert beside == "from .host import add_of_m0\nprint(add_of_m0)\n"


def test_a_name_that_means_something_built_in_to_another_part_is_told_apart():
    text, _ = host("def len(x):\n    return x\n", "print(len('two'))\n")
    assert list(lines(text).values()) == ["def len_of_m0(x):", "    return x", "print(len('two'))"]


def test_a_name_of_a_function_of_another_part_stays():
    text, _ = host("def one():\n    return 1\n", "def f(one):\n    return [one for one in one]\n")
    assert list(lines(text).values())[:2] == ["def one():", "    return 1"]


def test_what_two_parts_import_is_imported_once():
    text, _ = host("from array import array\nimport os\n", "from array import array, more\ndef f():\n    import os\n")
    assert list(lines(text).values()) == ["from array import array", "import os", "from array import more", "def f():"]


@pytest.mark.parametrize("beside, wrong", [
    ("from . import m0\nprint(m0)\n", "p/beside hands on the module p/m0, which is a part of another"),
    ("from .m0 import add as other\n", "p/beside takes add of p/m0 under another name"),
])
def test_what_would_not_be_found_in_the_host_is_an_error(beside, wrong):
    with pytest.raises(ValueError, match=f"^{wrong}$"):
        host("def add():\n    pass\n", "def add():\n    pass\n", beside=beside)


def test_a_part_of_a_package_cannot_be_taken_as_a_module():
    with pytest.raises(ValueError, match="^q takes the module p/m, which is a part of its package$"):
        joined({"p/__init__": "", "p/m": "", "q": "from .p import m\n"}, {"p/__init__": ("p/m",)})


@pytest.mark.parametrize("sources", [{"p/host": "one = 1\n"}, {"p/host": "one = 1\n", "p/m0": "this is no Python"}])
def test_a_group_that_is_not_whole_stays_apart(sources):
    assert joined(sources, {"p/host": ("p/m0",)}) == sources


def test_no_member_is_in_two_groups_and_all_are_in_the_folder_of_their_host():
    members = [name for row in TOGETHER.values() for name in row]
    assert len(set(members)) == len(members) and not set(members) & set(TOGETHER)
    assert all(name.rpartition("/")[0] == host.rpartition("/")[0] for host, row in TOGETHER.items() for name in row)
    assert set(members) | set(TOGETHER) <= set(modules(core_files()))


def test_no_part_takes_anything_from_one_after_it_as_it_is_loaded():
    """And nothing outside a group takes what it has not: every name that a module of the board asks another for is given there."""
    texts = joined(folded({name: path.read_text("utf-8") for name, path in modules(core_files()).items()}))
    loaded = types.ModuleType("core")
    exec(compile(texts["core/__init__"], "core", "exec"), vars(loaded))         # needs nothing but `array`
    assert loaded.step and loaded.Plan and loaded.relays
    for name, text in texts.items():
        compile(text, name, "exec")
        for node in ast.walk(ast.parse(text)):
            if isinstance(node, ast.ImportFrom) and node.level:
                above = name.split("/")[:-node.level]
                place = "/".join([*above, *(node.module or "").split(".")]).strip("/")
                source = texts.get(place, texts.get(f"{place}/__init__", ""))
                given = {inner.name for inner in ast.walk(ast.parse(source)) if isinstance(inner, (ast.FunctionDef, ast.ClassDef, ast.AsyncFunctionDef, ast.alias))}
                given |= {inner.id for inner in ast.walk(ast.parse(source)) if isinstance(inner, ast.Name)}
                for one in node.names:
                    assert one.name in given or f"{place}/{one.name}".strip("/") in texts or f"{place}/{one.name}/__init__".strip("/") in texts, (name, one.name)
