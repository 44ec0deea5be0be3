"""Positions in a TOML text, checked against the parser itself: each noted value, read alone, is that value."""

from pathlib import Path
from tomllib import loads

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pattress.job.places import Places

# A busy machine must not fail a test: no time limits.
unhurried = settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])

EXAMPLES = sorted(Path("examples").glob("*/job.toml"))

EVERYTHING_IN_TOML = r'''
# a comment with = and [brackets]
a = 1
"quoted key" = "text # no comment" # a comment
'literal key' = 'C:\path'
b.c.d = [ 1, # one
  2,
  [ "x", { y = 1, z.w = [true, "}"] } ], # nested
]
many = """
text with \""" and "quotes" ""and = signs
[not.a.header]
"""""
raw = \'\'\'
don't [stop] \'\'\'\'\'
day = 1979-05-27
moment = 1979-05-27 07:32:00 # a space inside
number = -1_000.5e+3
table = { section = "1.5 mm2", "odd key" = { deep = [[], {}] } }
"\u00e9\n" = true

[ spaced . 'out' ]   # a header with spaces
k = inf

[[rows]]
n = 1
[rows.inner]
m = "first"
[[rows]]
n = 2
[[rows.under]]
o = [3]
[[rows.under]]
o = [4]
'''.replace("\\'", "'")


def leaves(value, path=()):
    """Yield every path and value in a document, tables and lists included."""
    if path:
        yield path, value
    for key, inner in value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ():
        yield from leaves(inner, (*path, key))


def assert_places(text):
    places, document = Places(text), loads(text)
    known = dict(leaves(document))
    assert places.twice == []
    for path, value in known.items():
        span = places.values.get(path)
        if span is not None and span != places.keys.get(path):       # a [header] is both key and value of its table
            assert loads(f"it = {text[span.start:span.end]}")["it"] == value, path
        else:
            assert isinstance(value, (dict, list)), f"{path} has no place"
        assert path in places.keys or path in places.values
    assert set(places.values) <= set(known) and set(places.keys) <= set(known)


@pytest.mark.parametrize("text", [EVERYTHING_IN_TOML, *(file.read_text("utf-8") for file in EXAMPLES)])
def test_every_value_stands_where_it_is_said_to(text):
    assert_places(text)


def test_the_examples_are_found():
    assert len(EXAMPLES) == 4


PLAIN = st.sampled_from(["a", "b", "c", "d-e", "f_1"])
KEY = PLAIN | st.sampled_from(['"a b"', "'#x'", '"="', '"\\u0041"'])
SCALAR = st.sampled_from(['"x"', "'y'", "1", "-2.5", "true", '"""\nmany "x" """', "'''[a]\n= # '''", "1979-05-27 07:32:00", '"a\\"b"', "[]", "{}"])
GAP = st.sampled_from([" ", "", "  ", "\t"])
NEWLINES = st.sampled_from(["", "\n", " # no ] here\n", "\n\n  "])


@st.composite
def value(draw, depth=2):
    kind = draw(st.sampled_from(["scalar", "list", "table"])) if depth else "scalar"
    if kind == "scalar":
        return draw(SCALAR)
    if kind == "list":
        items = draw(st.lists(value(depth=depth - 1), max_size=3))
        return "[" + ",".join(draw(NEWLINES) + item + draw(NEWLINES) for item in items) + draw(NEWLINES) + "]"
    keys = draw(st.lists(PLAIN, unique=True, max_size=3))
    return "{" + ",".join(f"{draw(GAP)}{key}{draw(GAP)}={draw(GAP)}{one_line(draw, depth)}{draw(GAP)}" for key in keys) + "}"


def one_line(draw, depth):
    return draw(value(depth=depth - 1).filter(lambda text: "\n" not in text))


@st.composite
def documents(draw):
    lines = []
    for _ in range(draw(st.integers(1, 6))):
        header = draw(st.sampled_from(["", "", "[{}]", "[[{}]]"]))
        if header:
            lines.append(header.format(draw(GAP) + ".".join(draw(st.lists(KEY, min_size=1, max_size=2)))) + draw(GAP))
        for key in draw(st.lists(KEY, max_size=3)):
            tail = "." + draw(PLAIN) if draw(st.booleans()) else ""
            lines.append(f"{draw(GAP)}{key}{tail}{draw(GAP)}={draw(GAP)}{draw(value())}{draw(st.sampled_from(['', ' # c']))}")
    return "\n".join(lines) + draw(st.sampled_from(["", "\n"]))


@unhurried
@given(documents())
def test_every_value_of_any_document_stands_where_it_is_said_to(text):
    try:
        loads(text)
    except ValueError:
        Places(text)        # what is no TOML is walked too, without a word
        return
    assert_places(text)


@unhurried
@given(st.text(max_size=200) | st.text('[]{}"\'=.#\n\\ab1, ', max_size=80))
def test_any_text_is_walked(text):
    places = Places(text)
    for path in [*places.keys, ("no", "such")]:
        line, column = places.of_value(path)
        assert 1 <= line <= text.count("\n") + 1 and column >= 1


def test_lines_and_columns_count_from_one():
    places = Places('a = 1\n[t]\n  é.x = [7, 8]\n')
    assert places.of_value(("a",)) == (1, 5) and places.of_key(("t",)) == (2, 2)
    assert Places('t."é" = [7, 8]\n').of_value(("t", "é", 1)) == (1, 13)


def test_what_is_not_there_stands_at_the_nearest_table_around_it():
    places = Places('[load.pendant]\nrun = { length = "3 m" }\n')
    assert places.of_value(("load", "pendant", "power")) == (1, 7)
    assert places.of_value(("load", "pendant", "run", "section")) == (2, 1)
    assert places.of_value(("load", "other")) == (1, 2) and places.of_value(("fan",)) == (1, 1)


def test_keys_given_twice_are_noted():
    places = Places("[a]\nb = 1\nb = 2\n[c]\n[a]\n")
    assert [(path, places.position(second.start)) for path, _, second in places.twice] == [(("a", "b"), (3, 1)), (("a",), (5, 2))]


def test_a_table_stands_at_its_own_header():
    places = Places("[a.b]\n[a]\n")
    assert places.of_key(("a",)) == places.of_value(("a",)) == (2, 2) and places.of_key(("a", "b")) == (1, 4)
