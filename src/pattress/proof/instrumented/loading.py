"""The core instrumented: the same source, with a note taken at every condition and around every function.

Every condition counts by itself: each side of an `and`, each end of a range, whether a loop is
entered and whether it ends. The notes change no value, so what is proven of the copy is proven
of the source.
"""

import ast
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from importlib import import_module
from importlib.machinery import SourceFileLoader
from importlib.util import module_from_spec, spec_from_file_location
from itertools import count
from pathlib import Path
from types import ModuleType

_numbers = count(1)


@dataclass(frozen=True, slots=True)
class Condition:
    """A place where the program can go two ways. A loop goes into its body, or to its end."""

    file: str
    line: int
    text: str
    is_loop: bool = False


class Notes:
    """What was met while instrumented code ran: for each condition whether it was true, and whether it was false."""

    def __init__(self):
        self.conditions = []
        self.met = bytearray()

    def add(self, condition):
        """Return the number of a new condition."""
        self.conditions.append(condition)
        self.met.extend(b"\0\0")
        return len(self.conditions) - 1

    def seen(self, number, value):
        """Note which way a condition goes; return its value."""
        self.met[2 * number + (1 if value else 0)] = 1
        return value

    def ways(self):
        """Return {(condition, truth): whether it was met}."""
        return {(condition, truth): bool(self.met[2 * number + truth])
                for number, condition in enumerate(self.conditions) for truth in (False, True)}


@contextmanager
def watched(folder: Path, notes: Notes, framed=None) -> Iterator[ModuleType]:
    """Import the package in `folder` with notes taken; forget it at the end.

    `framed` wraps every function of its modules, when given.
    """
    name = f"pattress_watched_{next(_numbers)}"
    finder = _Finder(name, folder, notes, framed)
    sys.meta_path.insert(0, finder)
    try:
        spec = finder.find_spec(name)
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

    def __init__(self, name, folder, notes, framed):
        self.name, self.folder, self.notes, self.framed = name, folder, notes, framed

    def find_spec(self, name, path=None, target=None):
        package, _, module = name.partition(".")
        if package != self.name:
            return None
        file = self.folder / f"{module or '__init__'}.py"
        if not file.is_file():
            return None
        return spec_from_file_location(name, file, loader=_Loader(name, str(file), self),
                                       submodule_search_locations=None if module else [str(self.folder)])


class _Loader(SourceFileLoader):
    def __init__(self, name, path, finder):
        super().__init__(name, path)
        self.finder = finder

    def get_code(self, fullname):
        source = Path(self.path).read_text("utf-8")
        tree = _Watching(Path(self.path).name, self.finder).visit(ast.parse(source))
        return compile(ast.fix_missing_locations(tree), self.path, "exec")

    def exec_module(self, module):
        module.__dict__["_seen"], module.__dict__["_framed"] = self.finder.notes.seen, self.finder.framed
        super().exec_module(module)


class _Watching(ast.NodeTransformer):
    """Puts `_seen(number, ...)` around every condition, and `@_framed` on every function of the module."""

    def __init__(self, file, finder):
        self.file, self.finder = file, finder
        self.temporary = count(1)

    def visit_Module(self, node):
        self.generic_visit(node)
        if self.finder.framed:
            for statement in node.body:
                if isinstance(statement, ast.FunctionDef):
                    statement.decorator_list.insert(0, ast.Name("_framed", ast.Load()))
        return node

    def visit_If(self, node):
        node.test = self.condition(node.test)
        node.body, node.orelse = self.all(node.body), self.all(node.orelse)
        return node

    def visit_While(self, node):
        return self.visit_If(node)

    def visit_IfExp(self, node):
        node.test, node.body, node.orelse = self.condition(node.test), self.visit(node.body), self.visit(node.orelse)
        return node

    def visit_For(self, node):
        text = f"for {ast.unparse(node.target)} in {ast.unparse(node.iter)}"
        number = self.finder.notes.add(Condition(self.file, node.lineno, text, True))
        node.iter, node.body, node.orelse = self.visit(node.iter), self.all(node.body), self.all(node.orelse)
        node.body.insert(0, ast.Expr(_call(number, ast.Constant(True))))
        node.orelse.insert(0, ast.Expr(_call(number, ast.Constant(False))))
        return node

    def visit_BoolOp(self, node):
        node.values = [*map(self.condition, node.values[:-1]), self.visit(node.values[-1])]
        return node

    def visit_UnaryOp(self, node):
        node.operand = self.condition(node.operand) if isinstance(node.op, ast.Not) else self.visit(node.operand)
        return node

    def visit_Compare(self, node):
        """Note each comparison of a chain by itself; what stands between two is evaluated once, as before."""
        texts = [ast.unparse(one) for one in (node.left, *node.comparators)]
        left, compared = self.visit(node.left), []
        for place, (operator, right) in enumerate(zip(node.ops, map(self.visit, node.comparators), strict=True)):
            later = right
            if place < len(node.ops) - 1:
                name = f"_between_{next(self.temporary)}"
                right, later = ast.NamedExpr(ast.Name(name, ast.Store()), right), ast.Name(name, ast.Load())
            text = f"{texts[place]} {_sign(operator)} {texts[place + 1]}"
            compared.append(self.noted(ast.Compare(left, [operator], [right]), node.lineno, text))
            left = later
        return compared[0] if len(compared) == 1 else ast.BoolOp(ast.And(), compared)

    def condition(self, node):
        """Return an expression whose truth is asked for, with notes taken."""
        if isinstance(node, ast.BoolOp):
            node.values = [self.condition(value) for value in node.values]
            return node
        if isinstance(node, ast.Compare) or (isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not)):
            return self.visit(node)
        text = ast.unparse(node)
        return self.noted(self.visit(node), node.lineno, text)

    def noted(self, node, line, text):
        return _call(self.finder.notes.add(Condition(self.file, line, text)), node)

    def all(self, statements):
        return [self.visit(statement) for statement in statements]


def _call(number, value):
    return ast.Call(ast.Name("_seen", ast.Load()), [ast.Constant(number), value], [])


def _sign(operator):
    """Return a comparison's operator as it is written."""
    written = ast.unparse(ast.Compare(ast.Constant(0), [operator], [ast.Constant(0)]))
    return written[2:-2]
