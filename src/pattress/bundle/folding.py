"""Named whole numbers and short texts put where they are used, before a module is compiled.

In the source a number has a name. On the board each name costs memory: its text, its place in the
module's table, and again in every module that takes it from there; and a look-up each time. So
before compiling, `GAP` becomes `5200`, the import of `GAP` and a definition that nobody needs any
more go. Nothing else changes, and every line keeps its number, so an error on the board still
names the line of the source.

A name is folded when it is written in capitals and its module gives it a whole number or a short text, once. A
table in capitals that nothing on the board asks for, such as words for the workbench, goes too.
What a package exports stays only where something asks for it that is not compiled with the others,
the `readers`; whatever is reached in a way that only the running program knows stays, too.
"""

import ast
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from operator import add, floordiv, lshift, mul, or_, sub

PACKAGE = "__init__"
SHORT = 16          # letters of a text that is put where it is used; a longer one would lie there once for each module
LONG = 1 << 16
_Value = int | str | bytes
_OPERATIONS = {ast.Add: add, ast.Sub: sub, ast.Mult: mul, ast.FloorDiv: floordiv, ast.LShift: lshift, ast.BitOr: or_}


def folded(sources: Mapping[str, str], readers: Iterable[str] = (), gathered: str | tuple[str, ...] = ()) -> dict[str, str]:
    """Return the source of each module with its named numbers folded.

    A module is named as in the bundle, "infrared/decoder". One that is no Python is returned as it is:
    whoever compiles it says what is wrong with it. `readers` are the sources of what uses the
    packages from outside. Modules whose names begin with `gathered` have long texts folded as well:
    theirs lie in one afterwards, see `gathering`.
    """
    modules = {name: _Module(name, text, LONG if name.startswith(gathered) else SHORT) for name, text in sources.items() if is_python(text)}
    for module in modules.values():
        module.read(modules)
    wanted = {node.attr for text in readers for node in ast.walk(ast.parse(text)) if isinstance(node, ast.Attribute)}
    for module in sorted(modules.values(), key=lambda module: module.name.endswith(PACKAGE)):     # packages last: who asks them is known then
        module.fold_uses(modules, wanted)
        wanted |= module.reached
    needed = {name for module in modules.values() for name in module.reached | module.asked}
    return {name: modules[name].written(needed) if name in modules else text for name, text in sources.items()}


def is_python(text: str) -> bool:
    """Return whether a text is Python at all."""
    try:
        ast.parse(text)
    except SyntaxError:
        return False
    return True


@dataclass(frozen=True, slots=True)
class Change:
    """A piece of a text, from byte to byte, and what takes its place."""

    start: int
    end: int
    text: str


def line_starts(text: str) -> list[int]:
    """Return the byte at which each line begins."""
    starts = [0]
    for line in text.encode().splitlines(keepends=True):
        starts.append(starts[-1] + len(line))
    return starts


def change_of(node: ast.expr | ast.stmt, text: str, starts: list[int]) -> Change:
    """Return the change that puts a text in the place of a node; `starts` as `line_starts` gives them."""
    return Change(starts[node.lineno - 1] + node.col_offset, starts[(node.end_lineno or 0) - 1] + (node.end_col_offset or 0), text)


def changed(text: str, changes: Iterable[Change]) -> str:
    """Return a text with changes, none of which touches another; each leaves as many lines as there were."""
    data = text.encode()
    for change in sorted(changes, key=lambda change: change.start, reverse=True):
        lost = data[change.start:change.end].count(b"\n") - change.text.count("\n")
        data = data[:change.start] + change.text.encode() + b"\n" * lost + data[change.end:]
    return data.decode()


@dataclass
class _Module:
    name: str
    text: str
    longest: int                                                    # letters of a text that is folded
    numbers: dict[str, _Value] = field(default_factory=dict)        # defined here, short texts too
    taken: dict[str, tuple[str, str]] = field(default_factory=dict)     # name here: (module, name there)
    aliases: dict[str, str] = field(default_factory=dict)           # name here: the module it stands for
    reached: set[str] = field(default_factory=set)                  # names that others want, here or elsewhere
    asked: set[str] = field(default_factory=set)                    # names that stay and are used here
    changes: list[Change] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.tree = ast.parse(self.text)
        self.starts = line_starts(self.text)

    # What is here.

    def read(self, modules: Mapping[str, "_Module"]) -> None:
        """Find the numbers, and what is taken from other modules."""
        for node in ast.walk(self.tree):
            if isinstance(node, ast.ImportFrom):
                for one in node.names:
                    here = one.asname or one.name
                    if source := found(modules, place_of(self.name, node), one.name):
                        self.aliases[here] = source
                    elif source := found(modules, place_of(self.name, node)):
                        self.taken[here] = source, one.name
        stored = [node.id for node in ast.walk(self.tree) if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store)]
        stored += [node.arg for node in ast.walk(self.tree) if isinstance(node, ast.arg)]
        for node in self.tree.body:
            for name, value in self._defined(node):
                if name.isupper() and stored.count(name) == 1:
                    self.numbers[name] = value
        for name in set(stored):
            self.taken.pop(name, None)
            self.aliases.pop(name, None)

    def number(self, name: str, modules: Mapping[str, "_Module"]) -> _Value | None:
        """Return the number or short text a name of this module stands for, None when it stands for something else."""
        if name in self.numbers:
            return self.numbers[name]
        if name in self.taken:
            module, there = self.taken[name]
            return modules[module].number(there, modules)
        return None

    def _defined(self, node: ast.stmt) -> Iterator[tuple[str, _Value]]:
        """Give each name that a statement gives a whole number or a short text."""
        if not isinstance(node, ast.Assign) or len(node.targets) != 1:
            return
        target, value = node.targets[0], node.value
        if isinstance(target, ast.Name):
            pairs: Iterable[tuple[ast.expr, _Value | None]] = [(target, self._value(value))]
        elif isinstance(target, ast.Tuple) and isinstance(value, ast.Tuple) and len(target.elts) == len(value.elts):
            pairs = zip(target.elts, map(self._value, value.elts), strict=True)
        elif isinstance(target, ast.Tuple) and ast.unparse(value) == f"range({len(target.elts)})":
            pairs = zip(target.elts, range(len(target.elts)), strict=True)
        else:
            return
        for one, number in pairs:
            if isinstance(one, ast.Name) and number is not None:
                yield one.id, number

    def _value(self, node: ast.expr) -> _Value | None:
        if isinstance(node, ast.Constant):
            value = node.value
            return value if type(value) is int or isinstance(value, str | bytes) and len(value) <= self.longest else None
        if isinstance(node, ast.Name):
            return self.numbers.get(node.id)
        if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub):
            inner = self._value(node.operand)
            return -inner if isinstance(inner, int) else None
        if isinstance(node, ast.BinOp) and type(node.op) in _OPERATIONS:
            left, right = self._value(node.left), self._value(node.right)
            return _OPERATIONS[type(node.op)](left, right) if isinstance(left, int) and isinstance(right, int) else None
        return None

    # What becomes of it.

    def fold_uses(self, modules: Mapping[str, "_Module"], wanted: set[str]) -> None:
        """Put the numbers where their names are used, and drop the imports that this leaves without use.

        Of what a package imports only the `wanted` stays."""
        inside = set()                          # parts of what is folded whole
        for node in ast.walk(self.tree):
            if isinstance(node, ast.Attribute):
                source = self.aliases.get(node.value.id) if isinstance(node.value, ast.Name) else None
                value = modules[source].number(node.attr, modules) if source else None
                if value is None or not isinstance(node.ctx, ast.Load):
                    self.reached.add(node.attr)
                else:
                    inside.add(node.value)
                    self._put(node, _written(value))
            elif isinstance(node, ast.Name) and isinstance(node.ctx, ast.Load) and node not in inside:
                value = self.number(node.id, modules)
                if value is None:
                    self.asked.add(node.id)
                else:
                    self._put(node, _written(value))
            elif isinstance(node, ast.ImportFrom):
                self._fold_import(node, modules, wanted)

    def _fold_import(self, node: ast.ImportFrom, modules: Mapping[str, "_Module"], wanted: set[str]) -> None:
        stays = [one for one in node.names if self._stays(one.asname or one.name, modules, wanted)]
        self.reached |= {one.name for one in stays}
        if len(stays) < len(node.names):
            words = ", ".join(ast.unparse(one) for one in stays)
            self._put(node, f"from {'.' * node.level}{node.module or ''} import {words}" if stays else "pass")

    def _stays(self, here: str, modules: Mapping[str, "_Module"], wanted: set[str]) -> bool:
        if self.name.endswith(PACKAGE) and here in self.taken:
            return here in wanted
        return here not in self.taken or self.number(here, modules) is None

    def written(self, needed: set[str]) -> str:
        """Return the text with all changes; a definition goes unless its name is among the `needed`."""
        for node in self.tree.body:
            names = [name for name, _ in self._defined(node)]
            if names and all(name in self.numbers for name in names) and len(names) == _targets(node):
                stays = [f"{name} = {self.numbers[name]!r}" for name in names if name in needed]
                if len(stays) < len(names):
                    self._replace(node, "; ".join(stays) or "pass")
            elif (name := _table(node)) and name not in needed:
                self._replace(node, "pass")
        return changed(self.text, self.changes)

    def _put(self, node: ast.expr | ast.stmt, text: str) -> None:
        self.changes.append(change_of(node, text, self.starts))

    def _replace(self, node: ast.stmt, text: str) -> None:
        new = change_of(node, text, self.starts)
        self.changes = [*(one for one in self.changes if one.end <= new.start or new.end <= one.start), new]


def place_of(module: str, node: ast.ImportFrom) -> str:
    """Return the package or module that a statement in a module imports from, "" for the top."""
    if not node.level:
        return node.module or ""
    above = module.split("/")[:-node.level]
    return "/".join([*above, *(node.module or "").split(".")]).strip("/")


def found(modules: Collection[str], *place: str) -> str | None:
    """Return the module or package at a place, None when it is none of these."""
    name = "/".join(part for part in place if part)
    for known in (name, f"{name}/{PACKAGE}"):
        if known in modules:
            return known
    return None


def _table(node: ast.stmt) -> str | None:
    """Return the name in capitals that a statement gives something made of plain values, None when it does not."""
    if isinstance(node, ast.Assign) and len(node.targets) == 1 and isinstance(node.targets[0], ast.Name):
        parts = [part for part in ast.walk(node.value) if isinstance(part, ast.Call)]
        if node.targets[0].id.isupper() and all(ast.unparse(part.func) in ("bytes", "range") for part in parts):
            return node.targets[0].id
    return None


def _targets(node: ast.stmt) -> int:
    """Return how many names an assignment gives a value; 0 for any other statement."""
    if not isinstance(node, ast.Assign):
        return 0
    target = node.targets[0]
    return len(target.elts) if isinstance(target, ast.Tuple) else 1


def _written(value: _Value) -> str:
    return f"({value})" if isinstance(value, int) and value < 0 else repr(value)
