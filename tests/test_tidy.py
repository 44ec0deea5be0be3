"""The sources are as `ruff` wants them (pyproject.toml says which of its rules): no name that is not there, none that nobody uses.

And any two folders of tests can be run together: none takes a neighbour of its own by a name that another folder has, too.
"""

import ast
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


def by_bare_name(folder):
    """Return file and module of each import of a neighbour without the dot: the first folder whose `conftest` it is would serve all others."""
    beside = {file.stem for file in folder.glob("*.py")}
    for file in (*folder.glob("test_*.py"), *folder.glob("conftest.py")):
        for node in ast.walk(ast.parse(file.read_text("utf-8"))):
            if isinstance(node, ast.Import | ast.ImportFrom):
                names = [one.name for one in node.names] if isinstance(node, ast.Import) else [] if node.level else [node.module]
                yield from (f"{file.name}: {name}" for name in names if name in beside)


def test_no_folder_of_tests_takes_its_neighbours_by_a_name_that_another_has_too():
    folders = sorted({file.parent for file in (ROOT / "tests").rglob("test_*.py")})
    assert len(folders) > 15
    assert {folder.name: found for folder in folders if (found := list(by_bare_name(folder)))} == {}


def test_a_neighbour_taken_by_its_bare_name_would_be_found(tmp_path):
    for name, text in {"conftest": "", "plans": "", "test_one": "import plans\nfrom conftest import room\nfrom .plans import home\nimport json\n"}.items():
        (tmp_path / f"{name}.py").write_text(text, "utf-8")
    assert list(by_bare_name(tmp_path)) == ["test_one.py: plans", "test_one.py: conftest"]
