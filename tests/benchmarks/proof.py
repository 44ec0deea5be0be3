"""How large proofs are and how fast they go: an example, twelve channels, more and more rules, channels explored together on one core and on all."""

import time
from os import cpu_count, getloadavg
from pathlib import Path

from pattress.controller.core import TIME, Plan, begin, new_state, step
from pattress.design import design_of
from pattress.proof import prove
from pattress.proof.instrumented.influence import influences
from pattress.proof.parts import GroupPart
from pattress.proof.product.search import search
from pattress.proof.subject import Subject
from tests.proof.crowded import RULES, crowded
from tests.proof.plans import GROUPS, SMALL, TWELVE

JOB = Path("examples/sewing-room/job.toml")
STEPS = 50_000


def main() -> None:
    """Print states, transitions and times; processor time beside the clock's, for other programs may be running."""
    print(f"Proofs, on {cpu_count()} cores at a load of {getloadavg()[0]:.1f}")
    for title, table in (("sewing room", design_of(JOB).plan), ("12 channels, 2 fans", TWELVE)):
        start = time.process_time()
        proof = prove(table)
        proving = time.process_time() - start
        start = time.process_time()
        watched = influences(table)
        watching = time.process_time() - start
        bare = _bare_steps(table)
        print(f"  {title}: {proof.summary}")
        print(f"    {proving:.1f} s of one core, {watching:.2f} s of it to watch {watched.steps} steps for what influences what; "
              f"{proof.transitions / (proving - watching):,.0f} transitions/s, each run at least twice and judged, "
              f"beside {bare:,.0f} bare steps/s: ratio {proof.transitions / (proving - watching) / bare:.2f}")
    print("Rules, on 12 channels, 2 fans")
    for number in (0, 1, 5, 10, 20, len(RULES)):
        start = time.process_time()
        proof = prove(crowded(number))
        print(f"  {number:>2} rules: {time.process_time() - start:5.1f} s of one core, {proof.outcome}")
    print("Channels explored together, every combination of their states")
    for table, group in ((SMALL, (0, 1)), (GROUPS, (0, 1, 2)), (SMALL, (0, 1, 2))):
        for workers in dict.fromkeys((1, cpu_count() or 1)):
            for compact in (False, True):
                part = GroupPart(Subject(table), group)
                found = search(part, workers=workers, compact=compact)
                print(f"  {part.name.partition(': ')[2]:<24} {workers} process{'es' if workers > 1 else ''}: {found.summary}")


def _bare_steps(table) -> float:
    """Return how many steps a second the control program takes by itself under a plan."""
    plan = Plan(table)
    state = new_state(plan)
    begin(plan, state, None, [0] * plan.switches, [0] * plan.regulators)
    event, start = (TIME, 1, 0, 0, 0), time.process_time()
    for _ in range(STEPS):
        step(plan, state, event)
    return STEPS / (time.process_time() - start)


if __name__ == "__main__":
    main()
