"""Long texts within functions lie in one; each is said as before, and nothing else in a module changes."""

import ast

import pytest

from pattress.bundle.compiler import SELDOM
from pattress.bundle.contents import modules
from pattress.bundle.gathering import gathered
from pattress.controller.digest import core_files


def test_a_long_text_is_cut_from_one_that_stands_behind_the_last_line():
    text = 'def f():\n    return "no more than this", b"bytes of some length"\n'
    assert gathered(text) == (
        "def f():\n    return _texts[20:37].decode(), _texts[0:20]\n\n_texts = b'bytes of some lengthno more than this'\n")


def test_a_text_over_lines_leaves_as_many_and_one_within_another_is_there_once():
    text = 'def f(x):\n    g("one text over "\n      "two lines")\n    x.y("the end is two lines"[0], "two lines long", "over two lines")\n'
    assert gathered(text) == (
        "def f(x):\n    g(_texts[0:23].decode()\n)\n    x.y(_texts[23:43].decode()[0], _texts[43:57].decode(), _texts[9:23].decode())\n"
        "\n_texts = b'one text over two linesthe end is two linestwo lines long'\n")


def test_a_letter_beyond_ascii_counts_as_its_bytes():
    namespace = {}
    exec(gathered("def f():\n    return 'at 20 °C and more', 'more than enough'\n"), namespace)
    assert namespace["f"]() == ("at 20 °C and more", "more than enough")


@pytest.mark.parametrize("text", [
    'def f():\n    """A docstring is none of its texts."""\n    return 1\n',
    'TEXT = "once, as the module is loaded"\n',
    'class C:\n    text = "once, as the module is loaded"\n',
    'def f(x="once, as the module is loaded"):\n    return x\n',
    'def f():\n    return "ten lette", b"ten letters"[0:0]\n'.replace("ten letters", "ten"),
    'def f(x):\n    return f"a text with a field {x}"\n',
    "this is no Python",
])
def test_what_is_no_text_of_a_function_or_a_short_one_is_left_alone(text):
    assert gathered(text) == text


class _Cuts(ast.NodeTransformer):
    """Puts the texts back."""

    def __init__(self, whole):
        self.whole = whole

    def visit_Subscript(self, node):
        if ast.unparse(node.value) == "_texts":
            return ast.Constant(eval(ast.unparse(node), {"_texts": self.whole}))
        return self.generic_visit(node)

    def visit_Call(self, node):
        node = self.generic_visit(node)
        is_cut = isinstance(node.func, ast.Attribute) and node.func.attr == "decode" and isinstance(node.func.value, ast.Constant)
        return ast.Constant(node.func.value.value.decode()) if is_cut else node


def test_every_module_of_the_network_says_the_same_as_before():
    count = 0
    for name, path in modules(core_files()).items():
        if name.startswith(SELDOM):
            text = path.read_text("utf-8")
            tree = ast.parse(gathered(text))
            if ast.unparse(tree) != ast.unparse(ast.parse(text)):
                last = tree.body.pop()
                assert isinstance(last, ast.Assign) and ast.unparse(last.targets[0]) == "_texts"
                before, after = text.count("\n"), gathered(text).rstrip("\n").count("\n")
                assert after == before + 1
                count += len([node for node in ast.walk(tree) if isinstance(node, ast.Name) and node.id == "_texts"])
                tree = _Cuts(ast.literal_eval(last.value)).visit(tree)
            assert ast.dump(tree) == ast.dump(ast.parse(text))
    assert count > 100
