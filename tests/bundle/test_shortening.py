"""Names that one place alone sees become short there; nothing else in the bundle's modules changes."""

import dis
from types import CodeType

import pytest

from pattress.bundle.contents import modules
from pattress.bundle.folding import folded
from pattress.bundle.shortening import shortened
from pattress.controller.digest import core_files


def short(text, **beside):
    return shortened({"module": text, **beside})["module"]


def test_parameters_become_short_within_their_function_and_lines_stay():
    text = 'def volts(current, length):     # a comment says "current"\n    """Of the current."""\n    return current * length\n'
    assert short(text) == 'def volts(a, b):     # a comment says "current"\n    """Of the current."""\n    return a * b\n'


def test_a_short_name_that_the_function_knows_already_is_not_taken():
    assert short("def f(one, two):\n    a = one\n    return a + two\n") == "def f(b, c):\n    a = b\n    return a + c\n"


def test_the_parameter_of_an_inner_function_is_one_with_the_outer_one_of_its_name():
    text = "def f(one):\n    def g(two, one):\n        return lambda: one + two\n    return g(one, one)\n"
    assert short(text) == "def f(a):\n    def g(b, a):\n        return lambda: a + b\n    return g(a, a)\n"


def test_what_only_one_module_names_becomes_short_throughout_it():
    text = "class C:\n    def _add(self):\n        self._sum = _LIST\n\n_LIST = C()._add()\n"
    assert short(text) == "class C:\n    def _a(self):\n        self._b = _c\n\n_c = C()._a()\n"


@pytest.mark.parametrize("text, beside", [
    ("def f(one):\n    return one\n", "f(one=1)\n"),                       # passed by name
    ("def f(one):\n    return one\n", "getattr(x, 'one')\n"),              # said in a text
    ("def f(one):\n    return f'{one}'\n", ""),                            # said in a text's field
    ("one = 1\ndef f(one=one):\n    return one\n", ""),                    # the default means the module's
    ("from x import one\ndef f(one):\n    return one\n", ""),
    ("def f(one):\n    import one\n", ""),
    ("def f(self, len):\n    return len\n", ""),
    ("class C:\n    _sum = 1\n", "import module\nmodule.C._sum\n"),          # another module names it, too
    ("class C:\n    def __init__(self):\n        self.total = 0\n", ""),
    ("this is no Python", ""),
])
def test_what_others_may_see_keeps_its_name(text, beside):
    assert short(text, beside=beside) == text


def test_an_attribute_named_like_a_parameter_keeps_its_name():
    assert short("def f(one):\n    return one.one\n") == "def f(a):\n    return a.one\n"


CLOSURES = ("MAKE_CELL", "LOAD_CLOSURE")      # CPython sorts these by name; the cells' uses are compared


def instructions(code: CodeType, function: str = ""):
    """Give every instruction of a module and all within it: (operation, outermost function, name or None, anything else it is about)."""
    for one in dis.get_instructions(code):
        value = one.argval
        if one.opname in CLOSURES:
            continue
        if isinstance(value, CodeType):
            yield one.opname, function, value.co_name, value.co_argcount
            is_class = "__module__" in value.co_names
            yield from instructions(value, function or ("" if is_class else f"{value.co_name}:{value.co_firstlineno}"))
        elif one.opcode in (*dis.hasname, *dis.haslocal, *dis.hasfree):
            is_attribute = one.opname.endswith(("ATTR", "METHOD"))      # these never meet variables
            yield one.opname, function, f".{value}" if is_attribute else value, None
        else:
            yield one.opname, function, None, value


def test_all_modules_do_the_same_as_before_under_other_names():
    """Compared as CPython compiles them: operation by operation; and in no function does one name stand for two, or two for one."""
    before = folded({name: path.read_text("utf-8") for name, path in modules(core_files()).items()})
    after = shortened(before)
    count = 0
    for name, text in before.items():
        assert text.count("\n") == after[name].count("\n")
        renamed = set()
        old, new = compile(text, name, "exec"), compile(after[name], name, "exec")
        for (did, where, was, about), (does, _, is_, now) in zip(instructions(old), instructions(new), strict=True):
            assert (did, about, was is None) == (does, now, is_ is None)
            renamed.add((where, was, is_))
        for where in {where for where, _, _ in renamed}:
            pairs = [(was, is_) for place, was, is_ in renamed if place == where]
            assert len(dict(pairs)) == len({is_ for _, is_ in pairs}) == len(pairs)
        count += len([was for _, was, is_ in renamed if was != is_])
    assert count > 500


def test_a_name_that_two_would_share_is_found_out():
    """The comparison above, of a text in which two parameters became one."""
    old, new = (list(instructions(compile(f"def f({given}):\n    return {used}\n", "x", "exec"))) for given, used in (("a, b", "a - b"), ("a, c", "a - a")))
    pairs = {(was, is_) for (_, _, was, _), (_, _, is_, _) in zip(old, new, strict=True)}
    assert len({is_ for _, is_ in pairs}) < len(pairs)
