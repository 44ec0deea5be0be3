"""docs/sources.md holds every worked case that a test or a comment cites, and each case in it is cited where its figures are."""

import re
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
PAGE = "docs/sources.md"
OBTAINED = {"read", "read (second-hand)", "from memory", "common practice", "computed"}
SERIES = {"E12", "E24", "E48", "E96", "E192"}         # of preferred values; E12 and E24 are cases, too, where the page is named
CASE = r"\b[EFIP]\d{2,3}\b"


@cache
def cases():
    """Return the cells of each case of the page by its number, each row once."""
    rows = [[cell.strip() for cell in line.strip("|").split("|")] for line in (ROOT / PAGE).read_text("utf-8").splitlines() if re.match(rf"\| {CASE} \|", line)]
    assert len({row[0] for row in rows}) == len(rows), "a case stands twice"
    return {row[0]: row[1:] for row in rows}


def cited(text):
    """Return the cases that a text cites behind the name of the page, to the end of the line; `E01 to E04` is four of them."""
    found = set()
    for line in re.findall(rf"{re.escape(PAGE)}, (.*)", text):
        found |= set(re.findall(CASE, line))
        for kind, first, last in re.findall(r"\b([EFIP])(\d{2,3}) to \1(\d{2,3})\b", line):
            found |= {f"{kind}{number:02}" for number in range(int(first), int(last) + 1)}
    return found


def digits(text):
    """Return the significant digits of every number in a text: those of 0.1749, 174.9e-6 and 1749 are one."""
    return {number.replace(".", "").strip("0") for number in re.findall(r"\d+(?:\.\d+)?", text)}


def bare(text):
    """Return the lines of comments and docstrings that cite a case, or a book outside of the clone, without the page."""
    return [line.strip() for line in text.splitlines() if PAGE not in line and "noqa" not in line and (
        re.search(r"\b(of the|our|own|project's) reference\b", line, re.IGNORECASE)
        or line.lstrip().startswith("#") and set(re.findall(CASE, line)) - SERIES)]


@cache
def texts():
    """Return the text of every module that may cite a case, by its path."""
    return {file.relative_to(ROOT).as_posix(): file.read_text("utf-8") for folder in ("src", "tests")
            for file in sorted((ROOT / folder).rglob("*.py")) if file != Path(__file__)}


def test_every_case_that_is_cited_stands_on_the_page():
    assert {path: missing for path, text in texts().items() if (missing := cited(text) - set(cases()))} == {}


@pytest.mark.parametrize("case", cases())
def test_every_case_of_the_page_is_cited_where_its_figures_are(case):
    places = [text for text in texts().values() if case in cited(text)]
    figures = digits(" ".join(re.findall(r"(?<![\w.])\d+(?:\.\d+)?", cases()[case][2])))
    assert places and figures <= set().union(*map(digits, places)), figures


@pytest.mark.parametrize("case", cases())
def test_every_case_says_where_it_comes_from(case):
    worked, inputs, result, source, obtained = cases()[case]
    assert worked and inputs and result and source and obtained in OBTAINED


def test_no_case_is_cited_without_the_page():
    assert {path: found for path, text in texts().items() if (found := bare(text))} == {}


def test_citations_are_read():
    assert cited("# docs/sources.md, E62 and E63 past a contact, E89 to earth.\n# E90\n") == {"E62", "E63", "E89"}
    assert cited('"""docs/sources.md, E45 to E47: widths."""') == {"E45", "E46", "E47"}
    assert bare("# E90: varistors\n# docs/sources.md, E91\n# from E12 and E24\n# case 7 of the reference\n") == ["# E90: varistors", "# case 7 of the reference"]
    assert digits("0.1749 and 174.9e-6") == {"1749", "6"}
