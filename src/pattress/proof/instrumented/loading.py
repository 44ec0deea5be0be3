"""The core instrumented: the same source, with a note taken at every condition and around every function.

Every condition counts by itself: each side of an `and`, each end of a range, whether a loop is
entered and whether it ends. The notes change no value, so what is proven of the copy is proven
of the source.
"""

from __future__ import annotations

import ast
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from importlib import import_module
from importlib.machinery import ModuleSpec, SourceFileLoader
from importlib.util import module_from_spec, spec_from_file_location
from itertools import count
from pathlib import Path
from types import CodeType, ModuleType
from typing import Any, TypeVar

_numbers = count(1)
T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Condition:
    """A place where the program can go two ways. A loop goes into its body, or to its end."""

    file: str
    line: int
    text: str
    is_loop: bool = False


class Notes:
    """What was met while instrumented code ran: for each condition whether it was true, and whether it was false."""

    def __init__(self) -> None:
        self.conditions: list[Condition] = []
        self.met = bytearray()

    def add(self, condition: Condition) -> int:
        """Return the number of a new condition."""
        self.conditions.append(condition)
        self.met.extend(b"\0\0")
        return len(self.conditions) - 1

    def seen(self, number: int, value: T) -> T:
        """Note which way a condition goes; return its value."""
        self.met[2 * number + (1 if value else 0)] = 1
        return value

    def ways(self) -> dict[tuple[Condition, bool], bool]:
        """Return {(condition, truth): whether it was met}."""
        return {(condition, truth): bool(self.met[2 * number + truth])
                for number, condition in enumerate(self.conditions) for truth in (False, True)}


@contextmanager
def instrumented(folder: Path, notes: Notes, framed: Callable[..., Any] | None = None) -> Iterator[ModuleType]:
    """Import the package in `folder` with notes taken; forget it at the end.

    `framed` wraps every function of its modules, when given.
    """
    name = f"pattress_instrumented_{next(_numbers)}"
    finder = _Finder(name, folder, notes, framed)
    sys.meta_path.insert(0, finder)
    try:
        spec = finder.find_spec(name)
        if spec is None or spec.loader is None:
            raise ImportError(f"there is no package in {folder}")
        package = module_from_spec(spec)
        sys.modules[name] = package
        spec.loader.exec_module(package)
        for file in sorted(folder.glob("*.py")):        # those too that a plan loads only when it needs them
            if file.stem != "__init__":
                import_module(f"{name}.{file.stem}")
        yield package
    finally:
        sys.meta_path.remove(finder)
        for module in [module for module in sys.modules if module == name or module.startswith(name + ".")]:
            del sys.modules[module]


class _Finder:
    """Finds the modules of one package, so that they are loaded with notes taken."""

    def __init__(self, name: str, folder: Path, notes: Notes, framed: Callable[..., Any] | None) -> None:
        self.name, self.folder, self.notes, self.framed = name, folder, notes, framed

    def find_spec(self, name: str, path: Sequence[str] | None = None, target: ModuleType | None = None) -> ModuleSpec | None:
        package, _, module = name.partition(".")
        if package != self.name:
            return None
        file = self.folder / f"{module or '__init__'}.py"
        if not file.is_file():
            return None
        return spec_from_file_location(name, file, loader=_Loader(name, str(file), self),
                                       submodule_search_locations=None if module else [str(self.folder)])


class _Loader(SourceFileLoader):
    def __init__(self, name: str, path: str, finder: _Finder) -> None:
        super().__init__(name, path)
        self.finder = finder

    def get_code(self, fullname: str) -> CodeType:
        source = Path(self.path).read_text("utf-8")
        tree = _Watching(Path(self.path).name, self.finder).visit(ast.parse(source))
        code: CodeType = compile(ast.fix_missing_locations(tree), self.path, "exec")
        return code

    def exec_module(self, module: ModuleType) -> None:
        module.__dict__["_seen"], module.__dict__["_framed"] = self.finder.notes.seen, self.finder.framed
        super().exec_module(module)


class _Watching(ast.NodeTransformer):
    """Puts `_seen(number, ...)` around every condition, and `@_framed` on every function of the module."""

    def __init__(self, file: str, finder: _Finder) -> None:
        self.file, self.finder = file, finder
        self.temporary = count(1)

    def visit_Module(self, node: ast.Module) -> ast.Module:
        self.generic_visit(node)
        if self.finder.framed:
            for statement in node.body:
                if isinstance(statement, ast.FunctionDef):
                    statement.decorator_list.insert(0, ast.Name("_framed", ast.Load()))
        return node

    def visit_If(self, node: ast.If) -> ast.If:
        self._two_ways(node)
        return node

    def _two_ways(self, node: ast.If | ast.While) -> None:
        node.test = self.condition(node.test)
        node.body, node.orelse = self.all(node.body), self.all(node.orelse)

    def visit_While(self, node: ast.While) -> ast.While:
        self._two_ways(node)
        return node

    def visit_IfExp(self, node: ast.IfExp) -> ast.IfExp:
        node.test, node.body, node.orelse = self.condition(node.test), self.visit(node.body), self.visit(node.orelse)
        return node

    def visit_For(self, node: ast.For) -> ast.For:
        text = f"for {ast.unparse(node.target)} in {ast.unparse(node.iter)}"
        number = self.finder.notes.add(Condition(self.file, node.lineno, text, True))
        node.iter, node.body, node.orelse = self.visit(node.iter), self.all(node.body), self.all(node.orelse)
        node.body.insert(0, ast.Expr(_call(number, ast.Constant(True))))
        node.orelse.insert(0, ast.Expr(_call(number, ast.Constant(False))))
        return node

    def visit_BoolOp(self, node: ast.BoolOp) -> ast.BoolOp:
        node.values = [*map(self.condition, node.values[:-1]), self.visit(node.values[-1])]
        return node

    def visit_UnaryOp(self, node: ast.UnaryOp) -> ast.UnaryOp:
        node.operand = self.condition(node.operand) if isinstance(node.op, ast.Not) else self.visit(node.operand)
        return node

    def visit_Compare(self, node: ast.Compare) -> ast.expr:
        """Note each comparison of a chain by itself; what stands between two is evaluated once, as before."""
        texts = [ast.unparse(one) for one in (node.left, *node.comparators)]
        left: ast.expr = self.visit(node.left)
        compared: list[ast.expr] = []
        for place, (operator, right) in enumerate(zip(node.ops, map(self.visit, node.comparators), strict=True)):
            later: ast.expr = right
            if place < len(node.ops) - 1:
                name = f"_between_{next(self.temporary)}"
                right, later = ast.NamedExpr(ast.Name(name, ast.Store()), right), ast.Name(name, ast.Load())
            text = f"{texts[place]} {_sign(operator)} {texts[place + 1]}"
            compared.append(self.noted(ast.Compare(left, [operator], [right]), node.lineno, text))
            left = later
        return compared[0] if len(compared) == 1 else ast.BoolOp(ast.And(), compared)

    def condition(self, node: ast.expr) -> ast.expr:
        """Return an expression whose truth is asked for, with notes taken."""
        if isinstance(node, ast.BoolOp):
            node.values = [self.condition(value) for value in node.values]
            return node
        if isinstance(node, ast.Compare) or (isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not)):
            seen: ast.expr = self.visit(node)
            return seen
        text = ast.unparse(node)
        return self.noted(self.visit(node), node.lineno, text)

    def noted(self, node: ast.expr, line: int, text: str) -> ast.expr:
        return _call(self.finder.notes.add(Condition(self.file, line, text)), node)

    def all(self, statements: Sequence[ast.stmt]) -> list[ast.stmt]:
        return [self.visit(statement) for statement in statements]


def _call(number: int, value: ast.expr) -> ast.expr:
    return ast.Call(ast.Name("_seen", ast.Load()), [ast.Constant(number), value], [])


def _sign(operator: ast.cmpop) -> str:
    """Return a comparison's operator as it is written."""
    written = ast.unparse(ast.Compare(ast.Constant(0), [operator], [ast.Constant(0)]))
    return written[2:-2]
