"""How long a person waits for the prompt: whole processes from a cold start, beside a bare interpreter."""

import os
import statistics
import subprocess
import sys
import time
from pathlib import Path

PATTRESS = Path(sys.executable).with_name("pattress")
JOB = "examples/sewing-room/job.toml"
# As installed: compiled modules are kept between runs.
ENVIRONMENT = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
COMMANDS = {
    "bare interpreter": [sys.executable, "-c", "pass"],
    "pattress --help": [PATTRESS, "--help"],
    "pattress check (sewing room)": [PATTRESS, "check", JOB],
}


def seconds(command: list, rounds: int = 7) -> float:
    """Return the median wall time of a command [s], after one run that warms the file cache."""
    taken = []
    for turn in range(rounds + 1):
        start = time.perf_counter()
        subprocess.run(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, check=False, env=ENVIRONMENT)
        if turn:
            taken.append(time.perf_counter() - start)
    return statistics.median(taken)


def main() -> None:
    """Print the medians and their ratio to the bare interpreter."""
    medians = {name: seconds(command) for name, command in COMMANDS.items()}
    bare = medians["bare interpreter"]
    print("Cold start, median of 7 whole processes")
    for name, median in medians.items():
        print(f"  {name:<30} {median:6.3f} s   {median / bare:5.1f} x the bare interpreter")


if __name__ == "__main__":
    main()
