"""Whatever happens to a job file, its reader gets words with a line, never a traceback."""

import re
from pathlib import Path
from tomllib import loads

import jsonschema
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pattress.job import JobError, job_schema, load, read, starter

TEXTS = [*(file.read_text("utf-8") for file in sorted(Path("examples").glob("*/job.toml"))), starter()]
LINES = sorted({line for text in TEXTS for line in text.splitlines() if line.strip()})
VALUES = sorted({match[1] for line in LINES if (match := re.match(r"[\w.]+\s*=\s*([^#]+?)\s*(?:#|$)", line))})
KEYS = sorted({match[0] for line in LINES if (match := re.match(r"[\w.]+(?=\s*=)", line))})
HEADERS = [line for line in LINES if line.startswith("[")]
UNITS = ["W", "V", "mm2", "m2", "kg", "min", "%", "", "uF", "µF", "²", "A A", "W/m", "degC", "1e9"]
ODD = [
    "nan", "-inf", "1e400", "9" * 4400, "-1", "0", "true", "1979-05-27", "1979-05-27 07:32:00Z", '""', '"unknown"', '"none"',
    "[]", "{}", "[[]]", "{ a = { b = {} } }", '["toggle pendant", 5]', '"toggle "', '"set ceiling 99999999999"', "'''x'''",
    '"' + "x" * 300 + '"', "[" * 40, "{a=" * 30, '"\\u0000"', '"\\ud800"', '"é\\n"', "W", "75 W", "0x10", '"1,500 W"', '"1e999 W"',
    "[0.1, 0.2, 1.0]", '{ "" = 1 }', "'\x00'", '"nec 0x04:0x08"', '"off everything"', "07", "1__0", "\N{GRINNING FACE}", "\t",
]


def changed(draw, text):
    """Return a text after one change of the kind a slip, an editor or malice makes."""
    lines = text.split("\n")
    place = draw(st.integers(0, len(lines) - 1))
    kind = draw(st.sampled_from((
        "delete", "double", "move", "value", "value", "other value", "key", "unit", "header", "line", "type", "cut", "insert",
    )))
    line = lines[place]
    if kind == "delete":
        del lines[place : place + draw(st.integers(1, 4))]
    elif kind == "double":
        lines.insert(draw(st.integers(0, len(lines))), line)
    elif kind == "move":
        lines.insert(draw(st.integers(0, len(lines) - 1)), lines.pop(place))
    elif kind == "value":
        lines[place] = re.sub(r"=.*", lambda _: "= " + draw(st.sampled_from(ODD)), line, count=1)
    elif kind == "other value":
        lines[place] = re.sub(r"=.*", lambda _: "= " + draw(st.sampled_from(VALUES)), line, count=1)
    elif kind == "key":
        lines[place] = re.sub(r"[\w.]+(?=\s*=)", lambda _: draw(st.sampled_from(KEYS)), line, count=1)
    elif kind == "unit":
        lines[place] = re.sub(r'(?<=[0-9] )[^"]+(?=")', lambda _: draw(st.sampled_from(UNITS)), line, count=1)
    elif kind == "header":
        lines.insert(place, draw(st.sampled_from(HEADERS)))
    elif kind == "line":
        lines[place] = draw(st.sampled_from(LINES))
    elif kind == "type":
        lines[place] = draw(st.sampled_from((line.replace('"', ""), line.replace("=", "= [") + "]", line + ",", "[" + line + "]")))
    elif kind == "cut":
        return text[: draw(st.integers(0, len(text)))]
    else:
        at = draw(st.integers(0, len(text)))
        return text[:at] + draw(st.text("\"'[]{}=.#\\\n\r\t,x5é\x00 ", min_size=1, max_size=4)) + text[at:]
    return "\n".join(lines)


@st.composite
def mutated(draw):
    text = draw(st.sampled_from(TEXTS))
    for _ in range(draw(st.integers(1, 4))):
        text = changed(draw, text)
    return text


SCHEMA = jsonschema.Draft202012Validator(job_schema())
NEVER_SAID = re.compile(r"pydantic|Traceback|Error\b|ctx|<class|object at 0x|ValidationError|\bNone\b|str_type|literal")


def assert_words_or_job(text):
    try:
        job, _ = read(text, "flat.toml")
    except JobError as error:
        last = text.replace("\r\n", "\n").count("\n") + 1
        assert error.problems
        for problem in error.problems:
            words = str(problem)
            assert 1 <= problem.line <= last and problem.column >= 1, words
            assert words.startswith(f"flat.toml:{problem.line}:{problem.column}: ") and "\n  allowed: " in words
            assert not NEVER_SAID.search(words.split(": ", 1)[1].replace(text[:0] or "\0", "")), words
        return
    assert job == read(text, "other.toml")[0]
    problems = [problem.message for problem in SCHEMA.iter_errors(loads(text)) if list(problem.path)[:1] != ["accept"]]
    assert not problems, "what the reader takes, the schema for editors must take too"


few = settings(max_examples=2000, deadline=None, suppress_health_check=list(HealthCheck))
many = settings(max_examples=10_000, deadline=None, suppress_health_check=list(HealthCheck))


@few
@given(mutated())
def test_a_changed_file_gives_a_job_or_words_with_a_line(text):
    assert_words_or_job(text)


@pytest.mark.soak
@many
@given(mutated())
def test_ten_thousand_changed_files_give_a_job_or_words_with_a_line(text):
    assert_words_or_job(text)


@settings(max_examples=300, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.sampled_from(TEXTS), st.lists(st.tuples(st.integers(0, 9000), st.binary(max_size=3), st.integers(0, 5)), min_size=1, max_size=4))
def test_changed_bytes_give_a_job_or_words_with_a_line(tmp_path_factory, text, changes):
    content = text.encode()
    for at, new, length in changes:
        at %= len(content) + 1
        content = content[:at] + new + content[at + length :]
    file = tmp_path_factory.getbasetemp() / "changed.toml"
    file.write_bytes(content)
    try:
        load(file)
    except JobError as error:
        lines = content.count(b"\n") + 1
        assert error.problems and all(1 <= problem.line <= lines and problem.column >= 1 for problem in error.problems)


def test_the_mutations_do_what_they_should():
    """Most break the file, some leave a job: a mutator that changes nothing would prove nothing."""
    taken = {True: 0, False: 0}

    @settings(max_examples=200, deadline=None, database=None, derandomize=True)
    @given(mutated())
    def count(text):
        try:
            read(text, "flat.toml")
            taken[True] += 1
        except JobError:
            taken[False] += 1

    count()
    assert taken[False] >= 100 and taken[True] >= 10, taken
