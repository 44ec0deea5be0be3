"""The table of all questions in docs/questions.md, made from what the questions themselves say.

Write it anew with ``python -m tests.sizing.questions_table > docs/questions.md``.
"""

from collections.abc import Mapping

from pattress.circuit.rules import RULES
from pattress.finding import Finding
from pattress.sizing.questions import answers

from .invented import BOARDS, PARTS, drives, fan_text, load_text, make_job

HEAD = """# Every sizing question

Made from the questions themselves by `tests/sizing/questions_table.py`; a test compares. Each is a
module of `src/pattress/sizing` whose docstring says more. "Sources" are numbers of the list below the table;
"(from memory)" marks a source that was not read while it was written. The worst corner is exact: each
question is monotonic in every tolerance, and `tests/sizing/test_corners.py` looks for draws beyond it.

| Finding | Question | Formula | Sources | Leaves out |
|---|---|---|---|---|
"""
RULES_HEAD = """
## Rules of the circuit

Read from the netlist alone, by `src/pattress/circuit/rules.py`.

| Finding | Question | What must hold | Source |
|---|---|---|---|
"""
REST = """
[switch.door]
name = "a switch"
kind = "latching"
does = "toggle lamp"

[input.well]
name = "a contact"
kind = "float"

[sensor.room]
name = "a sensor"
kind = "22 class"

[sensor.yard]
name = "another"
kind = "22 class"

[rule.damp]
says = "lamp is on while room is damper than yard by 3 g/m3, until 1.5 g/m3"
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
    found = sorted(questions().items())
    numbers = {source: number for number, source in enumerate(dict.fromkeys(source for _, finding in found for source in sources(finding)), 1)}
    rows = "".join(_row(name, finding, numbers) for name, finding in found)
    return HEAD + rows + "\n## Sources\n\n" + "".join(f"{number}. {source}\n" for source, number in numbers.items()) + RULES_HEAD + "".join(
        f"| `circuit_{rule.name}` | {rule.question} | {(rule.find.__doc__ or '').strip()} | {rule.source} |\n" for rule in RULES)


def sources(finding: Finding) -> list[str]:
    """Return the sources of a finding and of what was put into it, each once."""
    return list(dict.fromkeys(str(source) for source in (*finding.sources, *(i.source for i in finding.inputs)) if source))


def _row(name: str, finding: Finding, numbers: Mapping[str, int]) -> str:
    cells = (f"`{name}`", finding.question, finding.formula, ", ".join(str(numbers[source]) for source in sources(finding)), finding.covers_not)
    return "| " + " | ".join(cell.replace("|", "/").replace("\n", " ") for cell in cells) + " |\n"


if __name__ == "__main__":
    print(table(), end="")
