"""A general circuit simulator (ngspice), for tests that compare with it: it knows none of our formulas. Where it is missing, a test fails."""

import re
import subprocess


def run(circuit: str) -> subprocess.CompletedProcess[str]:
    """Return how the simulator ended and what it said of a deck."""
    return subprocess.run(["ngspice", "-b", "/dev/stdin"], input=circuit, capture_output=True, text=True, timeout=60)


def simulate(circuit: str) -> dict[str, float]:
    """Return what the `.meas` lines of a circuit measured. A line that measured nothing fails the test."""
    ran = run(circuit)
    found = re.findall(r"^(\w+)\s*=\s*([-+0-9.eE]+)", ran.stdout, re.MULTILINE)
    asked = re.findall(r"^\.meas \w+ (\w+)", circuit, re.MULTILINE)
    assert asked and {name for name, _ in found} >= set(asked), ran.stdout + ran.stderr
    return {name: float(value) for name, value in found}
