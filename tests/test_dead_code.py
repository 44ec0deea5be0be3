"""Every function, class, method and constant of `src` is named somewhere else in `src`, or stands in the table below with a reason.

A name counts where it is read: in its own module outside its own body, in a module that imports it from there, as an
attribute, or as an attribute in a template of the pages. Names that one statement lists together, such as the codes of
a protocol, live as long as one of them. What the interpreter, a library or a text calls by name stands in the table.
"""

import ast
import re
from dataclasses import dataclass
from fnmatch import fnmatchcase
from pathlib import Path

import pytest

SRC = Path(__file__).parents[1] / "src" / "pattress"

# A name that nobody calls does not belong here: call it, move it to the tests that need it, or delete it.
CALLED_BY_NAME = {
    "drawing.look.*": "the look as lists of colours, weights and sizes, to which the tests hold every drawing",
    "drawing.picture.Picture.outside": "what lies outside a drawing's frame: the tests ask every drawing",
    "circuit.schematic.extraction.extracted": "reads the nets back from drawn sheets: the tests hold every schematic to it",
    "circuit.schematic.extraction.differences": "compares what was read back with the circuit: the tests hold every schematic to it",
    "bench.smoke_run._Board.connection_made": "asyncio calls it",
    "bench.smoke_run._Board.datagram_received": "asyncio calls it",
    "bench.upload_agent.admit": "`bench.putting` runs it on the board, by a line of text",
    "bench.upload_agent.digests": "`bench.putting` runs it on the board, by a line of text",
    "bench.upload_agent.known_wifi": "`bench.putting` runs it on the board, by a line of text",
    "bench.upload_agent.wipe": "`bench.putting` runs it on the board, by a line of text",
    "circuit.spice.node_names.net_of": "what a node of a deck is: for whoever reads what a simulator answers",
    "circuit.spice.stimulus.*": "what whoever runs a deck adds to it: sources, loads and analyses",
    "controller.network.service.*": "the full program begins each task of the network by its name",
    "controller.start._feeder": "holds the timer of the watchdog, which would be collected without a name",
    "proof.instrumented.loading._Loader.get_code": "the import system calls it",
    "proof.instrumented.loading._Watching.visit_*": "`ast.NodeTransformer` calls it",
    "stock.credible.ranges": "docs/credible.md is made from it",
    "web.serving.Server.handle_exit": "uvicorn calls it",
}
FUNCTION = (ast.FunctionDef, ast.AsyncFunctionDef)


@dataclass(frozen=True)
class Definition:
    """What one statement defines: in which module, of which class or none, and the lines of its body."""

    module: str
    owner: str
    names: tuple[str, ...]
    first: int
    last: int

    @property
    def where(self):
        return ".".join(filter(None, (self.module.removesuffix(".__init__"), self.owner, ", ".join(self.names))))


def modules(folder):
    """Return the syntax tree of each module by its dotted name below the folder; a package keeps its `__init__`."""
    return {".".join(file.relative_to(folder).with_suffix("").parts): ast.parse(file.read_text("utf-8")) for file in sorted(folder.rglob("*.py"))}


def is_command(node):
    """Return whether a decorator hands the function to the command line."""
    return any(isinstance(one, ast.Call) and isinstance(one.func, ast.Attribute) and one.func.attr in ("command", "group") for one in node.decorator_list)


def definitions(module, tree):
    """Yield what a module defines at its top level, and the methods of its classes; names the language itself asks for are left out."""
    for node in tree.body:
        targets = node.targets if isinstance(node, ast.Assign) else [node.target] if isinstance(node, ast.AnnAssign) else []
        names = tuple(part.id for target in targets for part in ast.walk(target) if isinstance(part, ast.Name) and isinstance(part.ctx, ast.Store))
        if names and not re.fullmatch(r"__\w+__", names[0]):
            yield Definition(module, "", names, node.lineno, node.end_lineno)
        if isinstance(node, (*FUNCTION, ast.ClassDef)) and not is_command(node):
            yield Definition(module, "", (node.name,), node.lineno, node.end_lineno)
        if isinstance(node, ast.ClassDef):
            for part in node.body:
                if isinstance(part, FUNCTION) and not re.fullmatch(r"__\w+__", part.name):
                    yield Definition(module, node.name, (part.name,), part.lineno, part.end_lineno)


def imported(module, tree):
    """Return from which dotted module, and under which name there, each imported name of this module comes."""
    found = {}
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom):
            source = (node.module or "").removeprefix("pattress").removeprefix(".")
            if node.level:
                source = ".".join([*module.split(".")[:-node.level], *filter(None, [node.module])])
            found |= {one.asname or one.name: (source, one.name) for one in node.names}
    return found


def readings(folder, trees):
    """Return where each name is read: {name: [(module, line, the module it comes from; None of an attribute)]}."""
    found = {}
    for module, tree in trees.items():
        comes_from = imported(module, tree)
        for node in ast.walk(tree):
            if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Load):
                source, name = comes_from.get(node.id, (module, node.id))
                found.setdefault(name, []).append((module, node.lineno, source))
            elif isinstance(node, ast.Attribute) and isinstance(node.ctx, ast.Load):
                found.setdefault(node.attr, []).append((module, node.lineno, None))
    for file in folder.rglob("*.html"):
        for name in re.findall(r"\.(\w+)", file.read_text("utf-8")):
            found.setdefault(name, []).append((file.name, 0, None))
    return found


def is_read(one, places):
    """Return whether one of the places reads that definition from outside of its own lines."""
    for module, line, source in places:
        inside = module == one.module and one.first <= line <= one.last
        from_there = source is None or not one.owner and (one.module == source or one.module.startswith(f"{source}."))
        if from_there and not inside:
            return True
    return False


def dead(folder):
    """Return what nothing else in the folder names, as module.name or module.class.method."""
    trees = modules(folder)
    places = readings(folder, trees)
    return [one.where for module, tree in trees.items() for one in definitions(module, tree)
            if not any(is_read(one, places.get(name, ())) for name in one.names)]


def test_everything_in_src_has_a_caller_or_a_reason():
    found = dead(SRC)
    assert [name for name in found if not any(fnmatchcase(name, known) for known in CALLED_BY_NAME)] == []
    assert [known for known in CALLED_BY_NAME if not any(fnmatchcase(name, known) for name in found)] == []     # nothing that has a caller meanwhile


@pytest.mark.parametrize("text, names", [
    ("def lonely():\n    return lonely()\n", ["one.lonely"]),
    ("LIMIT = 3\n", ["one.LIMIT"]),
    ("A, B = 1, 2\nprint(A)\n", []),
    ("class Box:\n    def open(self):\n        pass\n\n\nBox()\n", ["one.Box.open"]),
    ("def called():\n    pass\n\n\ncalled()\n", []),
    ("from pattress.other import shared\n\n\ndef same():\n    pass\n\n\nshared(same)\n", []),
])
def test_what_nobody_names_would_be_found(tmp_path, text, names):
    (tmp_path / "one.py").write_text(text, "utf-8")
    (tmp_path / "other.py").write_text("def shared(what):\n    pass\n\n\ndef same():\n    pass\n\n\nsame()\n" if "shared" in text else "", "utf-8")
    assert dead(tmp_path) == names


def test_a_function_of_the_same_name_elsewhere_is_no_caller(tmp_path):
    (tmp_path / "one.py").write_text("def findings():\n    pass\n", "utf-8")
    (tmp_path / "other.py").write_text("def findings():\n    pass\n\n\nfindings()\n", "utf-8")
    assert dead(tmp_path) == ["one.findings"]
