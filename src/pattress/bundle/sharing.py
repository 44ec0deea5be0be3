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
from itertools import chain, count, islice
from string import ascii_lowercase

FUNCTIONS = (ast.FunctionDef, ast.AsyncFunctionDef)
SCOPES = (*FUNCTIONS, ast.Lambda, ast.ListComp, ast.SetComp, ast.DictComp, ast.GeneratorExp)
HELD = (             # names that the format of compiled modules has a number for, of what no module here asks for: one costs a board nothing
    "bytecode", "callable", "dir", "divmod", "eval", "exec", "globals", "hash", "id", "isalpha", "islower", "isspace", "issubclass", "isupper", "iter",
    "locals", "lstrip", "map", "object", "popitem", "pow", "readline", "repr", "reverse", "rfind", "rindex", "round", "rsplit", "sep", "setattr",
    "setdefault", "sort", "upper", "zip")
ANSWERED = frozenset((       # what these modules give, and modules and objects of the boards' firmware, too: kept in order by a test
    "accept", "clear", "close", "code", "connect", "copy", "count", "drain", "drive", "fill", "find", "flush", "high",
    "keys", "lines", "link", "listen", "low", "measure", "pack", "pattern", "phase", "publish", "reason", "release",
    "restart", "stop", "subscribe", "time", "wait", "written"))


def shared(trees: Mapping[str, ast.Module], kept: Collection[str], held: Iterable[str] = ()) -> dict[str, str]:
    """Return the short name for each name that a module or a class of these gives and that is not `kept`: one of those `held` as long as there are some.

    `trees` by the modules' names, "infrared/decoder". The same names give the same answer, whatever their order.
    """
    nodes = [node for tree in trees.values() for node in ast.walk(tree)]
    classes = [node for node in nodes if isinstance(node, ast.ClassDef)]
    families = _families(classes)
    attributes = set().union(*(family.gives for family in families))
    strays = {node.attr for node in _stored(nodes) if not _is_own(node)}        # given to an object of who knows which class
    given = {name for name in attributes.union(*map(given_at_top, trees.values())) if not name.startswith("__") and name != "_"}
    given -= {*kept, *ANSWERED, *_errors(classes), *_from_outside(trees), *(strays - attributes), *(part for name in trees for part in name.split("/"))}
    spaces: list[Collection[str]] = [*(family.gives | family.sees for family in families), *map(spoken, trees.values())]
    used = {getattr(node, field, None) for node in nodes for field in ("id", "attr", "name", "arg", "asname")}.union(kept)
    return _coloured(given, [given.intersection(strays.union(space)) for space in spaces], [name for name in held if name not in used], used)


def _coloured(given: Iterable[str], spaces: Iterable[set[str]], first: Iterable[str], used: Collection[object]) -> dict[str, str]:
    """Return a short name for each name given, in no space one for two: the `first`, then those that are not `used`."""
    neighbours: dict[str, set[str]] = {name: set() for name in given}
    for space in spaces:
        for name in space:
            neighbours[name] |= space
    short: dict[str, str] = {}
    free = list(islice((one for one in short_names("_") if one not in used), len(neighbours)))
    for name in sorted(neighbours, key=lambda name: (-len(neighbours[name]), name)):
        taken = {short.get(other) for other in neighbours[name]}
        short[name] = next(one for one in chain(first, free) if one not in taken)
    return short


def short_names(first: str) -> Iterator[str]:
    """Give short names that begin so, without end."""
    for number in count():
        yield first + ascii_lowercase[number % 26] + (str(number // 26) if number >= 26 else "")


def given_at_top(tree: ast.Module) -> set[str]:
    """Return what a module defines at its top."""
    found = {node.name for node in tree.body if isinstance(node, (*FUNCTIONS, ast.ClassDef))}
    for node in tree.body:
        if not isinstance(node, (*FUNCTIONS, ast.ClassDef)):
            found |= {inner.id for inner in ast.walk(node) if isinstance(inner, ast.Name) and isinstance(inner.ctx, ast.Store)}
    return found


def spoken(tree: ast.Module) -> set[str]:
    """Return every name that is a module's own, or that it takes from elsewhere: none that belongs to a function."""
    found: set[str] = set()
    rest: list[tuple[ast.AST, frozenset[str]]] = [(tree, frozenset())]
    while rest:
        node, own = rest.pop()
        if isinstance(node, ast.Name):
            found |= {node.id} - own
        elif isinstance(node, (*FUNCTIONS, ast.ClassDef, ast.alias)):
            found |= {node.name} - own
        elif isinstance(node, ast.Global):
            found |= set(node.names)
        inner = own | own_names(node) if isinstance(node, SCOPES) else own
        rest += [(part, inner if is_inside else own) for part, is_inside in parts_of(node)]
    return found


def parts_of(node: ast.AST) -> Iterator[tuple[ast.AST, bool]]:
    """Give the parts of a node, and whether names that are its own mean something in them."""
    for part in ast.iter_child_nodes(node):
        if isinstance(part, ast.comprehension) and part is getattr(node, "generators", [None])[0]:
            yield part.iter, False
            yield from ((inner, True) for inner in (part.target, *part.ifs))
        else:
            yield part, not isinstance(part, ast.arguments) and part not in getattr(node, "decorator_list", ())


def own_names(node: ast.AST) -> set[str]:
    """Return the names that are a function's own: its parameters and what it gives a value to."""
    found, elsewhere = set(), set()
    rest: list[ast.AST] = list(ast.iter_child_nodes(node))
    while rest:
        inner = rest.pop()
        if isinstance(inner, ast.arg):
            found.add(inner.arg)
        elif isinstance(inner, ast.Name) and isinstance(inner.ctx, ast.Store | ast.Del):
            found.add(inner.id)
        elif isinstance(inner, ast.ExceptHandler) and inner.name:
            found.add(inner.name)
        elif isinstance(inner, ast.Global):
            elsewhere |= set(inner.names)
        if isinstance(inner, (*FUNCTIONS, ast.ClassDef)):
            found.add(inner.name)
        elif not isinstance(inner, SCOPES):
            rest += ast.iter_child_nodes(inner)
    return found - elsewhere


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
