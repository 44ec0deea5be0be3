"""Assertions test the code: none compares plain arithmetic, and each expected refusal is checked by its words.

An assertion is plain arithmetic when every name in it stands for literals, a calculation with them, or a case given to
the test. An error of our own that is expected is checked by `match`, or by a look at what was caught.
"""

import ast
import builtins
from pathlib import Path

import pytest

TESTS = Path(__file__).parent
ARITHMETIC = {"abs", "all", "any", "approx", "bool", "dict", "divmod", "enumerate", "float", "int", "len", "list", "max", "min", "pow", "pytest", "range",
              "round", "set", "sorted", "str", "sum", "tuple", "zip", "acos", "asin", "atan", "atan2", "ceil", "cos", "exp", "floor", "hypot", "inf",
              "isclose", "isfinite", "log", "log10", "math", "np", "numpy", "pi", "prod", "sin", "sqrt", "tan", "True", "False", "None"}
NEVER_FILLED = (ast.Constant, ast.BinOp, ast.UnaryOp, ast.Compare, ast.Tuple)
FUNCTION = (ast.FunctionDef, ast.AsyncFunctionDef)
BUILT_IN = {name for name, kind in vars(builtins).items() if isinstance(kind, type) and issubclass(kind, BaseException)}


def names_in(node):
    return {part.id for part in ast.walk(node) if isinstance(part, ast.Name) and isinstance(part.ctx, ast.Load)}


def targets_in(node):
    return {part.id for part in ast.walk(node) if isinstance(part, ast.Name) and isinstance(part.ctx, ast.Store)}


def is_raises(node):
    return isinstance(node, ast.Call) and ast.unparse(node.func) in ("pytest.raises", "raises")


def bindings(body):
    """Yield (names, expression) of each assignment, loop and comprehension within, in order of the text."""
    for node in body:
        for part in ast.walk(node):
            if isinstance(part, ast.Assign):
                for target in part.targets:
                    pairs = [(target, part.value)]
                    if isinstance(target, ast.Tuple) and isinstance(part.value, ast.Tuple) and len(target.elts) == len(part.value.elts):
                        pairs = zip(target.elts, part.value.elts)
                    yield from ((targets_in(name), value) for name, value in pairs)
            elif isinstance(part, (ast.AnnAssign, ast.NamedExpr)) and part.value is not None:
                yield targets_in(part.target), part.value
            elif isinstance(part, (ast.For, ast.AsyncFor, ast.comprehension)):
                yield targets_in(part.target), part.iter


def handed_over(body):
    """Return the names that a call may fill: those it is asked of, and those it is given."""
    for node in body:
        for part in ast.walk(node):
            if isinstance(part, ast.Call):
                if isinstance(part.func, ast.Attribute) and isinstance(part.func.value, ast.Name):
                    yield part.func.value.id
                if not (isinstance(part.func, ast.Name) and part.func.id in ARITHMETIC):
                    yield from names_in(ast.Tuple([*part.args, *(one.value for one in part.keywords)]))


def filled(body):
    """Return the names whose value the code chose: stored into, counted up, or left behind by a loop that ends early."""
    for node in body:
        for part in ast.walk(node):
            if isinstance(part, ast.With) and any(is_raises(item.context_expr) for item in part.items):
                yield from (name for inner in ast.walk(part) if isinstance(inner, ast.For) for name in targets_in(inner.target))
            if isinstance(part, ast.Subscript) and isinstance(part.ctx, ast.Store):
                yield from names_in(part.value)
            elif isinstance(part, ast.AugAssign):
                yield from targets_in(part.target)
            elif isinstance(part, (ast.For, ast.While)) and any(isinstance(inner, (ast.Break, ast.Return)) for inner in ast.walk(part)):
                yield from targets_in(part)
            elif isinstance(part, FUNCTION):
                yield from (name for inner in ast.walk(part) if isinstance(inner, ast.Nonlocal) for name in inner.names)


def given(function):
    """Return the parameters that hold the cases of a decorator of literals, such as those of `parametrize`."""
    found = set()
    for one in function.decorator_list:
        if isinstance(one, ast.Call) and isinstance(one.func, ast.Attribute) and one.func.attr == "parametrize":
            names = ast.literal_eval(one.args[0]) if not names_in(one.args[0]) else ""
            listed = names.replace(",", " ").split() if isinstance(names, str) else list(names)
            found |= {name for name in listed if names_in(one.args[1]) <= ARITHMETIC}
    return found


def arithmetic(body, known):
    """Return the names that stand for arithmetic alone: bound and changed by nothing else anywhere in the body."""
    bound, changed = {}, set(filled(body)) - ARITHMETIC
    for names, value in bindings(body):
        for name in names:
            bound.setdefault(name, []).append(value)
    changed |= {name for name in handed_over(body) if not all(isinstance(value, NEVER_FILLED) for value in bound.get(name, ()))}
    plain = known - set(bound) - changed
    while more := {name for name, values in bound.items() if name not in plain | changed and all(names_in(value) <= plain for value in values)}:
        plain |= more
    return plain


def plain_assertions(text):
    """Return the line of each assertion that cannot fail because of the code."""
    tree = ast.parse(text)
    top = arithmetic([node for node in tree.body if not isinstance(node, (*FUNCTION, ast.ClassDef))], ARITHMETIC)
    for function in (node for node in ast.walk(tree) if isinstance(node, FUNCTION)):
        arguments = {one.arg for one in ast.walk(function.args) if isinstance(one, ast.arg)}
        plain = arithmetic(function.body, (top - arguments) | given(function) | ARITHMETIC)
        for part in ast.walk(function):
            if isinstance(part, ast.Assert) and names_in(part.test) <= plain:
                yield part.lineno


def wordless(text):
    """Return line and text of each expected error of our own that nobody reads: no `match`, no look at what was caught."""
    tree = ast.parse(text)
    for function in (node for node in ast.walk(tree) if isinstance(node, FUNCTION)):
        read = {part.value.id for part in ast.walk(function) if isinstance(part, ast.Attribute) and part.attr == "value" and isinstance(part.value, ast.Name)}
        for part in ast.walk(function):
            for item in part.items if isinstance(part, (ast.With, ast.AsyncWith)) else ():
                call = item.context_expr
                if not is_raises(call) or any(one.arg == "match" for one in call.keywords):
                    continue
                kinds = names_in(call.args[0])
                is_foreign = bool(kinds) and kinds <= BUILT_IN - {"ValueError", "KeyError", "TypeError"}
                if not is_foreign and not (isinstance(item.optional_vars, ast.Name) and item.optional_vars.id in read):
                    yield part.lineno, ast.unparse(call)


def in_tests(search):
    found = {file.relative_to(TESTS).as_posix(): list(search(file.read_text("utf-8"))) for file in sorted(TESTS.rglob("*.py"))}
    return {path: lines for path, lines in found.items() if lines}


def test_no_assertion_is_plain_arithmetic():
    assert in_tests(plain_assertions) == {}


def test_every_expected_error_of_our_own_is_read():
    assert in_tests(wordless) == {}


@pytest.mark.parametrize("body, lines", [
    ("    assert 65 / 0.86 == pytest.approx(75.58)\n", [2]),
    ("    ratio = 65 / 0.86\n    assert ratio == 75.58\n", [3]),
    ("    ratio = ours(65, 0.86)\n    assert ratio == 75.58\n", []),
    ("    for one in (1, 2):\n        assert one < 3\n", [3]),
    ("    assert sqrt(2) * LIMIT == pytest.approx(325.3)\n", [2]),
    ("    assert fixture == 3\n", []),
    ("    total = 0\n    total = ours(total)\n    assert total == 3\n", []),
])
def test_an_assertion_of_plain_arithmetic_would_be_found(body, lines):
    assert list(plain_assertions("def test_it(fixture):\n" + body + "\n\nLIMIT = 230.0\n")) == lines


def test_the_cases_of_a_test_are_no_code():
    text = '@pytest.mark.parametrize("one, other", [(1.0, 2.0)])\ndef test_it(one, other):\n    assert 2 * one == other\n'
    assert list(plain_assertions(text)) == [3]
    assert list(plain_assertions(text.replace("(1.0, 2.0)", "(ours(1), 2.0)"))) == []


@pytest.mark.parametrize("body, is_found", [
    ("    with pytest.raises(OurError):\n        act()\n", True),
    ("    with pytest.raises(OurError) as caught:\n        act()\n", True),
    ("    with pytest.raises(OurError) as caught:\n        act()\n    assert str(caught.value) == 'words'\n", False),
    ("    with pytest.raises(OurError, match='words'):\n        act()\n", False),
    ("    with pytest.raises(KeyboardInterrupt):\n        act()\n", False),
    ("    with pytest.raises(ValueError):\n        act()\n", True),
])
def test_an_error_that_nobody_reads_would_be_found(body, is_found):
    assert bool(list(wordless("def test_it():\n" + body))) == is_found
