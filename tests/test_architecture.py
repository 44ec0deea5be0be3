"""The map of the packages cannot lie: the imports are read from the source and compared with docs/architecture.toml."""

import ast
from collections.abc import Iterator
from pathlib import Path
from tomllib import loads

import pytest

ROOT = Path(__file__).parents[1]
SOURCE = ROOT / "src" / "pattress"
TABLE = loads((ROOT / "docs" / "architecture.toml").read_text("utf-8"))
DOCUMENT = ROOT / "docs" / "architecture.md"
ON_THE_BOARD = ("bench/upload_agent.py",)      # runs beside the interpreter on the board, from its text


def name_of(file: Path, source: Path) -> str:
    """Return the dotted name of a module under `source`, "" for the package itself."""
    parts = file.relative_to(source).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def modules(source: Path) -> dict[str, Path]:
    """Return every module of a package by its dotted name."""
    return {name_of(file, source): file for file in sorted(source.rglob("*.py"))}


def run_nodes(tree: ast.AST) -> Iterator[ast.AST]:
    """Yield the nodes of a module that run: all but what stands under `if TYPE_CHECKING`, which only the type checker reads."""
    for node in ast.iter_child_nodes(tree):
        if isinstance(node, ast.If) and ast.unparse(node.test) in ("TYPE_CHECKING", "typing.TYPE_CHECKING"):
            for otherwise in node.orelse:
                yield otherwise
                yield from run_nodes(otherwise)
        else:
            yield node
            yield from run_nodes(node)


def imports(file: Path, source: Path, known: dict[str, Path], types: bool = True) -> Iterator[str]:
    """Yield the dotted names of the modules of this package that a module imports, wherever in it the import stands.

    Without `types`, only the imports that run: a module may name the type of a value it is handed and not import its maker.
    """
    name = name_of(file, source)
    package = name.split(".") if file.name == "__init__.py" and name else name.split(".")[:-1]
    tree = ast.parse(file.read_text("utf-8"))
    for node in ast.walk(tree) if types else run_nodes(tree):
        if isinstance(node, ast.ImportFrom):
            module = (node.module or "").split(".")
            if node.level:
                base = package[: len(package) - (node.level - 1)] + [part for part in module if part]
            elif module[0] == source.name:
                base = module[1:]
            else:
                continue
            for alias in node.names:
                whole = ".".join((*base, alias.name))
                yield whole if whole in known else ".".join(base)
        elif isinstance(node, ast.Import):
            yield from (alias.name.removeprefix(f"{source.name}.") for alias in node.names if alias.name.startswith(f"{source.name}."))


def graph(source: Path, types: bool = True) -> dict[str, set[str]]:
    """Return which modules each module of a package imports, with or without those only the type checker reads."""
    known = modules(source)
    return {name: {other for other in imports(file, source, known, types) if other != name} for name, file in known.items()}


def package_edges(source: Path) -> dict[str, set[str]]:
    """Return which packages, or single modules at the top, each of them imports."""
    edges: dict[str, set[str]] = {}
    for name, others in graph(source).items():
        top = name.partition(".")[0]
        edges.setdefault(top, set()).update(tops for other in others if (tops := other.partition(".")[0]) not in (top, ""))
    edges.pop("", None)
    return edges


def circles(edges: dict[str, set[str]]) -> list[set[str]]:
    """Return the groups of modules that import one another in a circle."""
    reach = {name: set(others) for name, others in edges.items()}
    changed = True
    while changed:
        changed = False
        for name, others in reach.items():
            more = set().union(*(reach.get(other, set()) for other in others)) - others
            if more:
                others |= more
                changed = True
    found: list[set[str]] = []
    for name in reach:
        circle = {other for other in reach[name] if name in reach.get(other, set())}
        if name in reach[name] and circle not in found:
            found.append(circle)
    return found


def rows() -> list[tuple[str, str, str]]:
    """Return the rows of the table in docs/architecture.md."""
    lines = [line for line in DOCUMENT.read_text("utf-8").splitlines() if line.startswith("| `")]
    return [tuple(cell.strip() for cell in line.strip("|").split("|")) for line in lines[: len(TABLE)]]


def test_every_import_is_allowed_and_every_allowed_one_is_used():
    assert package_edges(SOURCE) == {name: set(entry["uses"]) for name, entry in TABLE.items()}


def test_imports_point_downward():
    order = list(TABLE)
    upward = [(name, used) for name, entry in TABLE.items() for used in entry["uses"] if order.index(used) <= order.index(name)]
    assert upward == []


def test_no_modules_import_one_another_in_a_circle():
    assert circles(graph(SOURCE, types=False)) == []


def test_the_document_shows_the_table():
    assert rows() == [(f"`{name}`", entry["question"], ", ".join(entry["uses"]) or "nothing") for name, entry in TABLE.items()]


# Seeded faults: a package of three modules, and what is wrong with it.
def package(folder: Path, **files: str) -> Path:
    for name, text in files.items():
        file = folder / "pattress" / f"{name.replace('__', '/')}.py"
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(text, "utf-8")
    return folder / "pattress"


@pytest.mark.parametrize("text", [
    "from pattress.job import fields", "import pattress.job.fields", "from ..job import fields", "from ..job.fields import read",
    "def later():\n    from pattress.job.fields import read", "from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n    from pattress.job import fields",
])
def test_an_import_is_found_however_it_is_written(tmp_path, text):
    source = package(tmp_path, stock__parts=text, job__fields="read = 1")
    assert package_edges(source) == {"stock": {"job"}, "job": set()}


def test_a_circle_is_found():
    assert circles({"a": {"b"}, "b": {"c"}, "c": {"a"}, "d": {"a"}}) == [{"a", "b", "c"}]
    assert circles({"a": {"b"}, "b": {"c"}, "c": set()}) == []


def test_a_type_alone_makes_no_circle_and_an_import_beside_it_does(tmp_path):
    typed = "from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n    from pattress.b import B\nA = 1"
    assert circles(graph(package(tmp_path / "typed", a=typed, b="from pattress.a import A"), types=False)) == []
    late = typed + "\ndef later():\n    from pattress.b import B"
    assert circles(graph(package(tmp_path / "late", a=late, b="from pattress.a import A"), types=False)) == [{"a", "b"}]
