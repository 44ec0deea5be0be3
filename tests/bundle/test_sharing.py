"""Two names are written alike only where nothing has both, and never one that somebody outside asks for."""

import ast
from array import array
from io import BufferedReader, IOBase, TextIOWrapper
from pathlib import Path

import pytest

from pattress.bundle import contents, sharing
from pattress.bundle.compiler import compile_modules
from pattress.bundle.contents import modules, names_on_board
from pattress.bundle.sharing import ANSWERED, HELD, shared
from pattress.controller.digest import core_files

from .names import names_in

BOARDS = Path(__file__).parents[2] / ".venv" / "boards"
TYPES = (str, bytes, bytearray, list, dict, set, tuple, int, float, memoryview, array, BaseException, IOBase, BufferedReader, TextIOWrapper)


def short(*texts, kept=(), held=()):
    return shared({f"module{number}": ast.parse(text) for number, text in enumerate(texts)}, kept, held)


def test_names_of_two_modules_and_of_two_classes_are_written_alike():
    assert short("def one():\n    pass\n", "def two():\n    pass\n") == {"one": "_a", "two": "_a"}
    found = short("class C:\n    def one(self):\n        self.two = 1\n", "class D:\n    def three(self):\n        self.four = 1\n")
    assert {found["one"], found["two"]} == {found["three"], found["four"]} == {"_a", "_b"}


@pytest.mark.parametrize("text, pair", [
    ("def one():\n    pass\ndef two():\n    pass\n", ("one", "two")),
    ("class C:\n    one = 1\n    def two(self):\n        pass\n", ("one", "two")),
    ("class C:\n    one = 1\nclass D(C):\n    two = 2\n", ("one", "two")),                       # an object of D has both
    ("class C:\n    one = 1\nclass D(C):\n    three = 3\nclass E(D):\n    two = 2\n", ("one", "two")),
    ("class C:\n    one = 1\nclass D:\n    two = 2\ndef f(x):\n    x.two = 3\n", ("one", "two")),  # x may be a C
    ("two = 1\nclass C:\n    one = 1\n    x = two\n", ("one", "two")),                          # in the body of a class its own come first
    ("class C:\n    one = 1\n    def f(self, x=two):\n        pass\ntwo = 1\n", ("one", "two")),
])
def test_names_that_one_thing_may_have_are_written_differently(text, pair):
    one, two = (short(text)[name] for name in pair)
    assert one != two


def test_a_short_name_that_stands_somewhere_is_not_taken():
    assert short("def one():\n    return _a\n", "def two(_b):\n    pass\n") == {"one": "_c", "two": "_c"}


def test_a_name_that_the_board_holds_anyway_is_taken_first_unless_somebody_asks_for_it():
    text = "def one():\n    return sort\ndef two():\n    return x.map\ndef three():\n    pass\n"
    assert short(text, kept=["zip"], held=["map", "round", "sort", "upper", "zip"]) == {"one": "round", "three": "upper", "two": "_a"}


def test_names_that_the_board_holds_anyway_have_a_number_in_compiled_modules(tmp_path):
    """So they take neither memory nor a place in its table: asked of the compiler, in whose table no text of theirs stands."""
    source = tmp_path / "m.py"
    source.write_text("".join(f"x.{name}\n" for name in (*HELD, "other")), "utf-8")
    (written,) = compile_modules({"m": source}, tmp_path)
    assert names_in(written.read_bytes()) == ["m", "other", "x"]


def test_no_object_of_any_class_of_the_board_has_two_attributes_of_one_name():
    """Counted in the modules themselves: every class with what it inherits, as many names before as after."""
    names = names_on_board(core_files())
    found = {node.name: node for path in modules(core_files()).values() for node in ast.walk(ast.parse(path.read_text("utf-8")))
             if isinstance(node, ast.ClassDef)}
    for node in found.values():
        line = [node] + [found[ast.unparse(base)] for base in node.bases if ast.unparse(base) in found]
        has = {inner.attr for one in line for inner in ast.walk(one) if isinstance(inner, ast.Attribute) and ast.unparse(inner.value) == "self"}
        has |= {inner.name for one in line for inner in one.body if hasattr(inner, "name")}
        assert len({names.get(name, name) for name in has}) == len(has), node.name
    assert len(found) > 40 and len(names) > 600 > 6 * len(set(names.values()))


def test_what_the_firmware_answers_to_is_known(monkeypatch):
    """By the stubs of every board and by the interpreter's own types, as CPython has them."""
    monkeypatch.setattr(sharing, "ANSWERED", frozenset())
    monkeypatch.setattr(contents, "_short_names", contents._short_names.__wrapped__)        # what it found before is no answer here
    ours = {name for name in names_on_board(core_files()) if name[0].islower()}         # nothing there begins with one underscore or a capital that we give
    theirs = {name for kind in TYPES for name in dir(kind)}
    for path in BOARDS.rglob("*.pyi"):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef, ast.ClassDef)):
                theirs.add(node.name)
            elif isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name):
                theirs.add(node.target.id)
    assert len(theirs) > 1000 and ours & theirs == ANSWERED
