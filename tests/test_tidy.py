"""The sources are as `ruff` wants them (pyproject.toml says which of its rules): no name that is not there, none that nobody uses."""

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[1]


def checked(*words, text=None):
    return subprocess.run([sys.executable, "-m", "ruff", "check", "--no-cache", *words], cwd=ROOT, input=text, capture_output=True, text=True, check=False)


def test_there_is_nothing_to_tidy():
    found = checked("src", "tests", "--output-format", "concise")
    assert found.returncode == 0, found.stdout + found.stderr


def test_a_name_that_is_not_there_would_be_found():
    found = checked("-", "--stdin-filename", "src/pattress/seeded.py", text="import os\n\n\ndef answer():\n    return packed.parts('/page.css')\n")
    assert "F821" in found.stdout and "F401" in found.stdout and found.returncode == 1
