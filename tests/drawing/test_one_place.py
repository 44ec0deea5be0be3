"""Only the kit writes SVG: read from the syntax trees of all modules, and from all templates."""

import ast
import re
from pathlib import Path

import pytest

SOURCE = Path(__file__).parents[2] / "src" / "pattress"
KIT = SOURCE / "drawing"
ELEMENT = re.compile(r"</?(svg|text|tspan|rect|circle|ellipse|line|polyline|polygon|path|g|defs|pattern|desc)\b(?!\.)", re.I)


def written(source: str) -> list[str]:
    """Return every element of SVG that a module writes: within its strings, doc strings left out."""
    if not ELEMENT.search(source):
        return []
    tree = ast.parse(source)
    doc = {id(node.body[0].value) for node in ast.walk(tree) if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef)
           and node.body and isinstance(node.body[0], ast.Expr)}
    return [found[0] for node in ast.walk(tree) if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in doc
            for found in ELEMENT.finditer(node.value)]


def test_no_other_module_writes_svg():
    modules = [file for file in SOURCE.rglob("*.py") if KIT not in file.parents]
    assert len(modules) > 200
    assert {str(file.relative_to(SOURCE)): found for file in modules if (found := written(file.read_text("utf-8")))} == {}


def test_no_template_and_no_script_writes_svg():
    files = [file for ending in ("html", "js", "typ") for file in SOURCE.rglob(f"*.{ending}")]
    assert len(files) > 20
    assert {file.name: found[0] for file in files if (found := re.search(r"<(svg|rect|polyline|path)\b", file.read_text("utf-8")))} == {}


def test_the_kit_does():
    assert {"<svg", "<text", "<rect", "<circle", "<path", "<polyline", "<pattern"} <= {found for file in KIT.glob("*.py") for found in written(file.read_text("utf-8"))}


def test_the_kit_stands_below_all_that_draws():
    taken = {name for file in KIT.glob("*.py") for name in re.findall(r"^from (pattress\.\w+)", file.read_text("utf-8"), re.M)}
    assert taken == {"pattress.drawing", "pattress.quantity"}


@pytest.mark.parametrize("source", ["x = '<svg>'", "def f(y):\n    'Words.'\n    return f'<text y=\"{y}\">{y}</text>'", "x = ('a', '<rect/>')", "y = b + '<g>' % 1"])
def test_a_module_that_would_is_seen(source):
    assert written(source)


@pytest.mark.parametrize("source", ['"""Draws a <rect>."""', "x = '<a href>'", "x = 1 < 2", "x = 'text < g'"])
def test_one_that_does_not_is_not(source):
    assert written(source) == []
