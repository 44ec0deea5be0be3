"""The table of all questions in docs/questions.md, made from what the questions themselves say.

Write it anew with ``python -m tests.sizing.questions_table > docs/questions.md``.
"""

from pattress.finding import Finding
from pattress.sizing.questions import answers

from .invented import BOARDS, PARTS, drives, fan_text, load_text, make_job

HEAD = """# Every question of the sizing

Made from the questions themselves by `tests/sizing/questions_table.py`; a test compares. Each is a
module of `src/pattress/sizing`; its docstring says more. "(from memory)" marks what was not read in a
source while it was written. The worst corner is exact for all of them: each is monotonic in every
tolerance, and `tests/sizing/test_corners.py` looks for draws that go beyond it.

| Finding | Question | Formula | Source | Leaves out |
|---|---|---|---|---|
"""
REST = """
[switch.door]
name = "a switch"
kind = "latching"
does = "toggle lamp"

[sensor.room]
name = "a sensor"
kind = "22 class"
"""


def questions() -> dict[str, Finding]:
    """Return one finding of every question, by the question's short name."""
    job = make_job(
        load_text("lamp").replace("Lamp", "a load"), load_text("pump", kind="motor", power="200 W", feedback="mains").replace("Pump", "a motor"),
        fan_text().replace("Ceiling", "a fan"), rest=REST, board="esp32", earthing="unknown",
    )
    found: dict[str, Finding] = {}
    for finding in answers(job, PARTS, BOARDS["esp32"], drives(job)):
        found.setdefault(finding.id.partition(".")[0], finding)
    return found


def table() -> str:
    """Return the document."""
    return HEAD + "".join(_row(name, finding) for name, finding in sorted(questions().items()))


def _row(name: str, finding: Finding) -> str:
    sources = dict.fromkeys(str(source) for source in (*finding.sources, *(i.source for i in finding.inputs)) if source)
    cells = (f"`{name}`", finding.question, finding.formula, "; ".join(sources), finding.covers_not)
    return "| " + " | ".join(cell.replace("|", "/").replace("\n", " ") for cell in cells) + " |\n"


if __name__ == "__main__":
    print(table(), end="")
