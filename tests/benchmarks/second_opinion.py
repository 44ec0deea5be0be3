"""The same question to the exploration and to an independent model checker, as the job grows from 1 to 12 fans."""

import tempfile
import time
from os import getloadavg
from pathlib import Path

from pattress.proof import prove
from tests.proof.plans import fan, plan
from tests.proof.second_opinion import opinion

MOST = 12               # channels
PATIENCE = 30.0         # of one search [s]
MEMORY = 1024           # of one search [MiB]


def main() -> None:
    """Print time and states side by side. The checker explores the product; the exploration its parts."""
    print("Exploration beside the model checker `spin`: fans of two steps, dead time, kick, restored as they were")
    print("  Time lets any set of waits run out in both. For one fan the checker also stores each choice of event.")
    print(f"  Seconds of one core for the exploration, of the clock for the checker, at a load of {getloadavg()[0]:.1f}.")
    print("  fans   exploration: states  seconds     checker: states  seconds")
    gave_up = ""
    for number in range(1, MOST + 1):
        fans = [fan(f"fan {i}", 0, steps=2, restore=2, delay=400 * (i + 1), kick_top=1) | {"masks": [0, 1 << 2 * i, 2 << 2 * i]}
                for i in range(number)]
        began = time.process_time()
        proof = prove(plan(f"{number} fans", fans))
        took = time.process_time() - began
        verdict = "" if proof.holds else f"  fails: {[prop.id for prop in proof.failed]}"
        beside = gave_up
        if not gave_up:
            with tempfile.TemporaryDirectory() as folder:
                found = opinion(Path(folder), fans[0], number=number, seconds=PATIENCE, megabytes=MEMORY, breadth_first=False)
            if found.broken:
                beside = f"  fails: {found.broken}"
            elif found.is_complete:
                beside = f"{found.states:>15} {found.seconds:>8.2f}"
            else:
                beside = gave_up = f"    not within {PATIENCE:.0f} s and {MEMORY} MiB"
        print(f"  {number:>4} {proof.states:>21} {took:>8.2f} {beside}{verdict}", flush=True)


if __name__ == "__main__":
    main()
