"""The findings of the circuit's rules: one for each rule, like those of all other questions."""

from pattress.circuit.model import Circuit
from pattress.circuit.rules import RULES, Facts, Rule, faults
from pattress.finding import Assumption, Figure, Finding, Input, Sense, Verdict
from pattress.job.model import UNKNOWN, Job
from pattress.stock.boards import Board
from pattress.stock.credible import End, assumed

SHOWN = 5                    # faults told in a finding


def findings(job: Job, board: Board, circuit: Circuit) -> tuple[Finding, ...]:
    """Return whether each rule holds of the circuit of a job."""
    bears = board.taken("input_most", End.LEAST)
    box = job.site.enclosure
    facts = Facts(input_most=bears.value, metal=box == UNKNOWN or box.material != "plastic")
    found = faults(circuit, facts)
    return tuple(_finding(rule, found.get(rule.name, ()), circuit, (bears.input,) if rule.name == "levels" else (),
                          assumed(bears) if rule.name == "levels" else ()) for rule in RULES)


def _finding(rule: Rule, found: tuple[str, ...], circuit: Circuit, inputs: tuple[Input, ...], assumptions: tuple[Assumption, ...]) -> Finding:
    more = f" And {len(found) - SHOWN} more." if len(found) > SHOWN else ""
    return Finding(
        id=f"circuit_{rule.name}.controller", question=rule.question, subject="board", verdict=Verdict.FAILS if found else Verdict.HOLDS,
        value=Figure(len(found), ""), limit=Figure(0, ""), sense=Sense.AT_MOST, nominal=Figure(len(found), ""), corner="every net and pin of the netlist",
        formula=(rule.find.__doc__ or "").strip(), inputs=(Input("components", Figure(len(circuit.components), ""), "netlist"), Input("nets", Figure(len(circuit.nets), ""), "netlist"), *inputs),
        sources=(rule.source,), assumptions=assumptions, change=found[:SHOWN], detail=("; ".join(found[:SHOWN]) + "." + more) if found else "",
        covers_not="whether it was built as drawn: the tests on the bench tell", safety=rule.safety)
