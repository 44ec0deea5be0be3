"""Which of the names that a bundle's modules give may be short, and which of those may be the same one.

The board keeps every name once, in tables that grow by doubling, whatever the name is of. A name means the
same in all modules, since nobody can tell from `x.level` what `x` is; but two names can be written
alike where nothing has both: no module, and no class with those it inherits from or that inherit from it.
That is a colouring of a graph, by the greedy way: those with the most neighbours first (Welsh
and Powell, 1967, from memory).

What somebody else may ask for keeps its name: what stands in a text or is imported from outside, special names,
what an error is called, and what objects of the firmware answer to.
"""

import ast
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import count
from string import ascii_lowercase

FUNCTIONS = (ast.FunctionDef, ast.AsyncFunctionDef)
ANSWERED = frozenset((       # what these modules give, and modules and objects of the boards' firmware, too: kept in order by a test
    "accept", "clear", "close", "code", "connect", "copy", "count", "drain", "drive", "end", "fill", "find", "flush", "high",
    "keys", "lines", "link", "listen", "low", "measure", "pack", "pattern", "phase", "publish", "reason", "release",
    "stop", "subscribe", "time", "wait", "written"))


def shared(trees: Mapping[str, ast.Module], kept: Iterable[str]) -> dict[str, str]:
    """Return the short name for each name that a module or a class of these gives and that is not `kept`.

    `trees` by the modules' names, "infrared/decoder". The same names give the same answer, whatever their order.
    """
    nodes = [node for tree in trees.values() for node in ast.walk(tree)]
    classes = [node for node in nodes if isinstance(node, ast.ClassDef)]
    families = _families(classes)
    attributes = set().union(*(family.gives for family in families))
    strays = {node.attr for node in _stored(nodes) if not _is_own(node)}        # given to an object of who knows which class
    given = {name for name in attributes.union(*map(_given, trees.values())) if not name.startswith("__") and name != "_"}
    given -= {*kept, *ANSWERED, *_errors(classes), *_from_outside(trees), *(strays - attributes), *(part for name in trees for part in name.split("/"))}
    spaces: list[Collection[str]] = [*(family.gives | family.sees for family in families), *map(_spoken, trees.values())]
    used = {getattr(node, field, None) for node in nodes for field in ("id", "attr", "name", "arg", "asname")}
    return _coloured(given, [given.intersection(strays.union(space)) for space in spaces], used)


def _coloured(given: Iterable[str], spaces: Iterable[set[str]], used: Collection[object]) -> dict[str, str]:
    """Return a short name for each name given, none that is `used` and in no space one for two."""
    neighbours: dict[str, set[str]] = {name: set() for name in given}
    for space in spaces:
        for name in space:
            neighbours[name] |= space
    short: dict[str, str] = {}
    for name in sorted(neighbours, key=lambda name: (-len(neighbours[name]), name)):
        taken = {short.get(other) for other in neighbours[name]}
        short[name] = next(one for one in short_names("_") if one not in taken and one not in used)
    return short


def short_names(first: str) -> Iterator[str]:
    """Give short names that begin so, without end."""
    for number in count():
        yield first + ascii_lowercase[number % 26] + (str(number // 26) if number >= 26 else "")


def _given(tree: ast.Module) -> set[str]:
    """Return what a module defines at its top."""
    found = {node.name for node in tree.body if isinstance(node, (*FUNCTIONS, ast.ClassDef))}
    for node in tree.body:
        if not isinstance(node, (*FUNCTIONS, ast.ClassDef)):
            found |= {inner.id for inner in ast.walk(node) if isinstance(inner, ast.Name) and isinstance(inner.ctx, ast.Store)}
    return found


def _spoken(tree: ast.Module) -> set[str]:
    """Return every name that may be one of a module's own: more than are, names within functions too."""
    found = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Name):
            found.add(node.id)
        elif isinstance(node, (*FUNCTIONS, ast.ClassDef, ast.alias)):
            found.add(node.name)
    return found


@dataclass(frozen=True, slots=True)
class _Family:
    """Classes that inherit from each other; those of one name count as one."""

    names: frozenset[str]       # of the classes and of what they inherit from
    gives: frozenset[str]       # what their objects answer to, as far as these modules say
    sees: frozenset[str]        # what is named in their bodies outside functions: there their own names come first


def _families(classes: Iterable[ast.ClassDef]) -> list[_Family]:
    families: list[_Family] = []
    for node in classes:
        bases = {base.attr if isinstance(base, ast.Attribute) else ast.unparse(base) for base in node.bases} - {"object", "Exception"}
        own = {inner.attr for inner in _stored(ast.walk(node)) if _is_own(inner)}
        body = list(_body(node))
        family = _Family(
            frozenset({node.name, *bases}),
            frozenset(own | {name for name, is_given in body if is_given}),
            frozenset(name for name, is_given in body if not is_given))
        for other in [other for other in families if other.names & family.names]:
            families.remove(other)
            family = _Family(family.names | other.names, family.gives | other.gives, family.sees | other.sees)
        families.append(family)
    return families


def _body(node: ast.ClassDef) -> Iterator[tuple[str, bool]]:
    """Give each name in the body of a class outside functions, and whether it is given there."""
    rest: list[ast.AST] = list(node.body)
    while rest:
        inner = rest.pop()
        if isinstance(inner, (*FUNCTIONS, ast.ClassDef)):
            yield inner.name, True
            rest += inner.decorator_list
            rest += inner.bases if isinstance(inner, ast.ClassDef) else (inner.args,)
        else:
            if isinstance(inner, ast.Name):
                yield inner.id, isinstance(inner.ctx, ast.Store)
            rest += ast.iter_child_nodes(inner)


def _stored(nodes: Iterable[ast.AST]) -> Iterator[ast.Attribute]:
    """Give the attributes that are given a value or taken away."""
    for node in nodes:
        if isinstance(node, ast.Attribute) and not isinstance(node.ctx, ast.Load):
            yield node


def _is_own(node: ast.Attribute) -> bool:
    return isinstance(node.value, ast.Name) and node.value.id == "self"


def _errors(classes: Iterable[ast.ClassDef]) -> set[str]:
    """Return the classes of errors: what a person is told begins with their names."""
    found: set[str] = {"Exception", "OSError", "ValueError"}
    size = 0
    while size < len(found):
        size = len(found)
        found |= {node.name for node in classes if {ast.unparse(base) for base in node.bases} & found}
    return found


def _from_outside(trees: Mapping[str, ast.Module]) -> set[str]:
    """Return what is taken from modules that are not ours, what is asked of it, and what anything taken is called instead."""
    ours = {part for name in trees for part in name.split("/")}
    found = set()
    for tree in trees.values():
        nodes = list(ast.walk(tree))
        outside = set()
        for node in nodes:
            if isinstance(node, ast.Import | ast.ImportFrom):
                is_ours = isinstance(node, ast.ImportFrom) and (node.level or (node.module or "").split(".")[0] in ours)
                for one in node.names:
                    found |= {one.asname or "", *(() if is_ours else one.name.split("."))}
                    outside |= set() if is_ours else {one.asname or one.name.split(".")[0]}
        found |= {node.attr for node in nodes if isinstance(node, ast.Attribute) and ast.unparse(node).split(".")[0] in outside}
    return found
