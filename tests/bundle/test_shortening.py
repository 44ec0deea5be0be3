"""Names that nobody outside a bundle asks for become short in it; nothing else in its modules changes."""

import dis
from types import CodeType

import pytest

from pattress.bundle.contents import modules, names_on_board
from pattress.bundle.folding import folded
from pattress.bundle.joining import joined
from pattress.bundle.shortening import short_of, shortened
from pattress.controller.digest import core_files


def short(text, **beside):
    """Return the text with short parameters."""
    return shortened({"module": text, **beside}, {})["module"]


def given(text, **beside):
    """Return the text with short names of what it gives."""
    sources = {"module": text, **beside}
    return shortened(sources, short_of(sources))["module"]


def test_parameters_become_short_within_their_function_and_lines_stay():
    text = 'def volts(current, length):     # a comment says "current"\n    """Of the current."""\n    return current * length\n'
    assert short(text) == 'def volts(a, b):     # a comment says "current"\n    """Of the current."""\n    return a * b\n'


def test_a_short_name_that_the_function_knows_already_is_not_taken():
    assert short("def f(one, two):\n    a = one\n    return a + two\n") == "def f(b, c):\n    a = b\n    return a + c\n"


def test_the_parameter_of_an_inner_function_is_one_with_the_outer_one_of_its_name():
    text = "def f(one):\n    def g(two, one):\n        return lambda: one + two\n    return g(one, one)\n"
    assert short(text) == "def f(a):\n    def g(b, a):\n        return lambda: a + b\n    return g(a, a)\n"


def test_what_a_module_gives_becomes_short_wherever_it_is_named():
    text = "class C:\n    def add(self):\n        self.whole = LIST\n\nLIST = C().add()\n"
    assert given(text) == "class _b:\n    def _a(self):\n        self._b = _c\n\n_c = _b()._a()\n"


def test_an_import_within_a_function_and_a_global_of_it_become_short_too():
    text = "total = 0\ndef add(x):\n    global total\n    from .other import more\n    total = more(total, x.rest)\n"
    assert given(text, other="class C:\n    def __init__(self):\n        self.rest = 1\ndef more():\n    pass\n") == (
        "_c = 0\ndef _b(a):\n    global _c\n    from .other import _a\n    _c = _a(_c, a._a)\n")


def test_a_functions_own_name_is_left_alone_though_the_module_gives_one_like_it():
    text = "def f():\n    rows = 1\n    return [rows for rows in rows]\ndef g():\n    return [rows for rows in rows]\nrows = 2\n"
    assert given(text) == (
        "def _a():\n    rows = 1\n    return [rows for rows in rows]\ndef _b():\n    return [rows for rows in _c]\n_c = 2\n")


def test_letters_beyond_ascii_before_a_name_do_not_move_it():
    assert given("def f():\n    return 'µΩ°', f, x.f\n") == "def _a():\n    return 'µΩ°', _a, x._a\n"


@pytest.mark.parametrize("text", [
    "import machine\ndef Pin():\n    return machine.Pin\n",                       # somebody else's, too
    "from time import sleep\nclass C:\n    def sleep(self):\n        pass\n".replace("C", "sleep"),
    "class BadPacket(Exception):\n    pass\n",                                   # a person is told its name
    "class BadPacket(Exception):\n    pass\nclass Worse(BadPacket):\n    pass\n",
    "def find():\n    return 'text'.find\n",                                     # objects of the firmware answer to it
    "def __getattr__():\n    pass\n",
    "def module():\n    pass\n",                                                # what a module is called
    "thing.part = 1\n",                                                        # nothing here gives it
    "def f():\n    pass\nFunction = 'f'\n".replace("Function", "f"),
])
def test_what_others_know_keeps_its_name(text):
    assert given(text) == text


def test_what_somebody_names_who_asks_from_outside_keeps_its_name():
    sources = {"module": "def f():\n    pass\ndef g():\n    pass\n"}
    assert short_of(sources, ["module.f()"]) == {"g": "_a"}


@pytest.mark.parametrize("text, beside", [
    ("def f(one):\n    return one\n", "f(one=1)\n"),                       # passed by name
    ("def f(one):\n    return one\n", "getattr(x, 'one')\n"),              # said in a text
    ("def f(one):\n    return f'{one}'\n", ""),                            # said in a text's field
    ("one = 1\ndef f(one=one):\n    return one\n", ""),                    # the default means the module's
    ("from x import one\ndef f(one):\n    return one\n", ""),
    ("def f(one):\n    import one\n", ""),
    ("def f(self, len):\n    return len\n", ""),
    ("this is no Python", ""),
])
def test_what_others_may_see_keeps_its_name(text, beside):
    assert short(text, beside=beside) == text


def test_an_attribute_named_like_a_parameter_keeps_its_name():
    assert short("def f(one):\n    return one.one\n") == "def f(a):\n    return a.one\n"


CLOSURES = ("MAKE_CELL", "LOAD_CLOSURE")      # CPython sorts these by name; the cells' uses are compared


def instructions(code: CodeType, function: str = ""):
    """Give every instruction of a module and all within it: (operation, outermost function, its own name or None, any other name, anything else)."""
    for one in dis.get_instructions(code):
        value = one.argval
        if one.opname in CLOSURES:
            continue
        if isinstance(value, CodeType):
            yield one.opname, function, None, value.co_name, value.co_argcount
            is_class = "__module__" in value.co_names
            yield from instructions(value, function or ("" if is_class else f"{value.co_name}:{value.co_firstlineno}"))
        elif one.opcode in (*dis.haslocal, *dis.hasfree):
            yield one.opname, function, value, None, None
        elif one.opcode in dis.hasname:
            yield one.opname, function, None, value, None
        elif isinstance(value, tuple) and all(isinstance(part, str) for part in value):     # what is imported, and texts
            for part in value:
                yield one.opname, function, None, part, None
        else:
            yield one.opname, function, None, None, value


@pytest.fixture(scope="module")
def both():
    """Return all modules of the board before and after, and which names became which."""
    before = joined(folded({name: path.read_text("utf-8") for name, path in modules(core_files()).items()}))
    names = names_on_board(core_files())
    return before, shortened(before, names), names


def test_all_modules_do_the_same_as_before_under_other_names(both):
    """Compared as CPython compiles them: operation by operation; in no function and no module does one name stand for two, or two for one."""
    before, after, names = both
    count = 0
    for name, text in before.items():
        assert text.count("\n") == after[name].count("\n")
        own, others = set(), set()
        function = {}
        for (did, was_in, was, other, about), (does, is_in, is_, another, now) in zip(
                instructions(compile(text, name, "exec")), instructions(compile(after[name], name, "exec")), strict=True):
            assert (did, was is None) == (does, is_ is None)
            assert about == now or isinstance(about, str) and names.get(about) == now       # the name that a function or class has of itself
            assert function.setdefault(was_in, is_in) == is_in
            own.add((was_in, was, is_))
            others.add((other, another))
        for where in function:
            pairs = [(was, is_) for place, was, is_ in own if place == where]
            assert len(dict(pairs)) == len({is_ for _, is_ in pairs}) == len(pairs)
        assert all(names.get(other, other) == another or other.rpartition(".")[2] in ("<listcomp>", "<genexpr>", "<lambda>") or other == another
                   for other, another in others if other)
        count += len([was for _, was, is_ in own if was != is_]) + len([other for other, another in others if other != another])
    assert count > 1500


def test_a_name_that_two_would_share_is_found_out():
    """The comparison above, of a text in which two parameters became one."""
    old, new = (list(instructions(compile(f"def f({given}):\n    return {used}\n", "x", "exec"))) for given, used in (("a, b", "a - b"), ("a, c", "a - a")))
    pairs = {(was, is_) for (_, _, was, _, _), (_, _, is_, _, _) in zip(old, new, strict=True)}
    assert len({is_ for _, is_ in pairs}) < len(pairs)
