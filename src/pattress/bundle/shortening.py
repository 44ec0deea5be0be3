"""Names that nobody else can see are shortened, before a module is compiled.

The board keeps every name of every function, parameter and attribute, each once, in tables that grow
by doubling. Two kinds of names mean nothing outside the place where they stand, so in each such place they
can be `a`, `b`, ..., the same few everywhere:

- parameters that no call on the board passes by name, within their function;
- names with a leading underscore that stand in one module only, within that module.

Nothing else changes, lines stay lines, and texts are left alone: a name that is also said in a
text, such as one for `getattr`, keeps its length. An error on the board names file and line as ever.
"""

import ast
import builtins
import io
import keyword
import tokenize
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from itertools import count
from string import ascii_lowercase

from pattress.bundle.folding import is_python

_FUNCTIONS = (ast.FunctionDef, ast.AsyncFunctionDef)
_Edit = tuple[int, int, str, str]       # line, column, the name there, what it becomes


def shortened(sources: Mapping[str, str]) -> dict[str, str]:
    """Return the source of each module with its own names shortened; one that is no Python is returned as it is."""
    trees = {name: ast.parse(text) for name, text in sources.items() if is_python(text)}
    tokens = {name: list(_names(sources[name])) for name in trees}
    nodes = [node for tree in trees.values() for node in ast.walk(tree)]
    said = set(_said(nodes))
    passed = {node.arg for node in nodes if isinstance(node, ast.keyword)}
    places = Counter(name for found in tokens.values() for name in {token.string for token, _ in found})
    edits = {name: [*_own(tokens[name], said, places), *_parameters(tree, tokens[name], said | passed)] for name, tree in trees.items()}
    return {name: _edited(text, edits.get(name, ())) for name, text in sources.items()}


def _said(nodes: Iterable[ast.AST]) -> Iterator[object]:
    """Give what stands in texts, and the names in formatted ones."""
    for node in nodes:
        if isinstance(node, ast.Constant):
            yield node.value
        elif isinstance(node, ast.JoinedStr):
            for inner in ast.walk(node):
                yield getattr(inner, "id", getattr(inner, "attr", None))


def _names(text: str) -> Iterator[tuple[tokenize.TokenInfo, bool]]:
    """Give each name in a text, and whether it follows a dot: then it is an attribute or a module."""
    before = ""
    for token in tokenize.generate_tokens(io.StringIO(text).readline):
        if token.type == tokenize.NAME and not keyword.iskeyword(token.string):
            yield token, before == "."
        before = token.string


def _own(tokens: Iterable[tuple[tokenize.TokenInfo, bool]], said: set[object], places: Counter[str]) -> Iterator[_Edit]:
    """Give the edits of what only this module names."""
    names = [token for token, _ in tokens]
    own = [name for name in dict.fromkeys(token.string for token in names)
           if name.startswith("_") and not name.startswith("__") and name != "_" and places[name] == 1 and name not in said]
    short = dict(zip(own, _short("_", {token.string for token in names} - set(own)), strict=False))
    for token in names:
        if token.string in short:
            yield *token.start, token.string, short[token.string]


def _parameters(tree: ast.Module, tokens: list[tuple[tokenize.TokenInfo, bool]], kept: set[object]) -> Iterator[_Edit]:
    """Give the edits of parameters, function by function; one in another belongs to the outer one.

    What is named outside functions, imported or built in stays: a default or a line within may mean that.
    """
    kept = kept | {"self", *dir(builtins), *_outside(tree)}
    for function in _outermost(tree):
        begin, end = (function.lineno, function.col_offset), (function.end_lineno, function.end_col_offset)
        inside = [(token, is_attribute) for token, is_attribute in tokens if begin <= token.start < end]
        given = [node.arg for node in ast.walk(function) if isinstance(node, ast.arg)]
        own = [name for name in dict.fromkeys(given) if name not in kept and not name.startswith("_")]
        short = dict(zip(own, _short("", {token.string for token, _ in inside}), strict=False))
        for token, is_attribute in inside:
            if token.string in short and not is_attribute:
                yield *token.start, token.string, short[token.string]


def _outermost(node: ast.AST) -> Iterator[ast.FunctionDef | ast.AsyncFunctionDef]:
    for inner in ast.iter_child_nodes(node):
        if isinstance(inner, _FUNCTIONS):
            yield inner
        else:
            yield from _outermost(inner)


def _outside(node: ast.AST, is_inside: bool = False) -> Iterator[str]:
    """Give the names that are imported anywhere, or given a value outside functions."""
    for inner in ast.iter_child_nodes(node):
        if isinstance(inner, ast.alias):
            yield from (inner.asname or inner.name).split(".")
        elif not is_inside and isinstance(inner, (*_FUNCTIONS, ast.ClassDef)):
            yield inner.name
        elif not is_inside and isinstance(inner, ast.Name):
            yield inner.id
        yield from _outside(inner, is_inside or isinstance(inner, _FUNCTIONS))


def _short(first: str, used: set[str]) -> Iterator[str]:
    """Give short names that are not used yet."""
    for number in count():
        name = first + ascii_lowercase[number % 26] + (str(number // 26) if number >= 26 else "")
        if name not in used and not keyword.iskeyword(name):
            yield name


def _edited(text: str, edits: Iterable[_Edit]) -> str:
    lines = text.splitlines(keepends=True)
    for line, column, name, short in sorted(edits, reverse=True):
        whole = lines[line - 1]
        lines[line - 1] = whole[:column] + short + whole[column + len(name):]
    return "".join(lines)
