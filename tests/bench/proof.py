"""How large the proof of the sewing room is and how fast it goes, beside bare steps of the same core."""

import time
from pathlib import Path

from pattress.controller.core import TIME, Plan, begin, new_state, step
from pattress.design import design_of
from pattress.proof import prove

JOB = Path("examples/sewing-room/job.toml")
STEPS = 50_000


def main() -> None:
    """Print states, transitions, seconds, and transitions per second as a share of bare steps per second."""
    table = design_of(JOB).plan
    proof = prove(table)
    plan = Plan(table)
    state = new_state(plan)
    begin(plan, state, None, [0] * plan.switches, [0] * plan.regulators)
    event = (TIME, 1, 0, 0, 0)
    start = time.perf_counter()
    for _ in range(STEPS):
        step(plan, state, event)
    bare = STEPS / (time.perf_counter() - start)
    print(f"Proof of the sewing room: {proof.summary}")
    rate = proof.transitions / proof.seconds
    print(f"  {rate:,.0f} transitions/s, each run at least twice and judged; bare steps {bare:,.0f}/s, ratio {rate / bare:.2f}")


if __name__ == "__main__":
    main()
