"""Names that nobody outside the bundle asks for are shortened, before a module is compiled.

The board keeps every name of every function, parameter and attribute, each once, in tables that grow
by doubling. So each gets one of a few short ones, `a`, `b`, ..., which say something else elsewhere:

- parameters that no call on the board passes by name, within their function;
- what modules and classes give, throughout the bundle, as `sharing` says.

Nothing else changes, lines stay lines, and texts are left alone: a name that is also said in a
text, such as one for `getattr`, keeps its length. An error on the board names file and line as ever.
"""

import ast
import builtins
import io
import keyword
import tokenize
from collections.abc import Iterable, Iterator, Mapping

from pattress.bundle.folding import is_python
from pattress.bundle.sharing import FUNCTIONS, SCOPES, own_names, parts_of, shared, short_names

_Edit = tuple[int, int, str, str]       # line, column, the name there, what it becomes


def shortened(sources: Mapping[str, str], short: Mapping[str, str]) -> dict[str, str]:
    """Return the source of each module with its own names shortened; one that is no Python is returned as it is.

    `short` is what `short_of` found for these modules, or for more of them.
    """
    trees = {name: ast.parse(text) for name, text in sources.items() if is_python(text)}
    kept = set(_said(trees.values())) | {node.arg for tree in trees.values() for node in ast.walk(tree) if isinstance(node, ast.keyword)}
    return {name: _edited(text, [*_given(trees[name], text, short), *_parameters(trees[name], text, kept)])
            if name in trees else text for name, text in sources.items()}


def short_of(sources: Mapping[str, str], readers: Iterable[str] = (), held: Iterable[str] = ()) -> dict[str, str]:
    """Return the short name of each name that is shortened throughout a bundle of these modules.

    `readers` are the sources of what uses the modules from outside: no name in them becomes short. `held` as in `sharing`.
    """
    trees = {name: ast.parse(text) for name, text in sources.items() if is_python(text)}
    asked = {token.string for text in readers for token, _ in _names(text)}
    return shared(trees, asked | {word for word in _said(trees.values()) if isinstance(word, str)} | set(dir(builtins)) - set(held), held)


def _said(trees: Iterable[ast.Module]) -> Iterator[object]:
    """Give what stands in texts, and the names in formatted ones."""
    for tree in trees:
        for node in ast.walk(tree):
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


def renamed(text: str, names: Mapping[str, str]) -> str:
    """Return the source of a module in which some names have others, where they are neither attributes nor a function's own."""
    return _edited(text, _given(ast.parse(text), text, names, has_attributes=False)) if names else text


def _given(tree: ast.Module, text: str, short: Mapping[str, str], *, has_attributes: bool = True) -> Iterator[_Edit]:
    """Give the edits of what is short throughout the bundle: attributes, and names that are not a function's own."""
    lines = text.splitlines()
    places: dict[str, list[tuple[int, int]]] = {}
    for token, _ in _names(text):
        places.setdefault(token.string, []).append(token.start)

    def at(line: int, column: int) -> tuple[int, int]:
        return line, len(lines[line - 1].encode()[:column].decode())        # the parser counts bytes, the tokenizer letters

    def edits(node: ast.AST, own: frozenset[str]) -> Iterator[_Edit]:
        """`own` are the names that belong to the functions around."""
        if isinstance(node, ast.Attribute) and has_attributes and node.attr in short:
            line, column = at(node.end_lineno or 0, node.end_col_offset or 0)
            yield line, column - len(node.attr), node.attr, short[node.attr]
        elif isinstance(node, ast.Name) and node.id in short and node.id not in own:
            yield *at(node.lineno, node.col_offset), node.id, short[node.id]
        elif isinstance(node, (*FUNCTIONS, ast.ClassDef, ast.alias, ast.Global)):
            names = set(node.names if isinstance(node, ast.Global) else [node.name]) - own
            for name in names & set(short):
                start = next(place for place in places[name] if place >= at(node.lineno, node.col_offset))
                yield *start, name, short[name]
        inner = own | own_names(node) if isinstance(node, SCOPES) else own
        for part, is_inside in parts_of(node):
            yield from edits(part, inner if is_inside else own)

    return edits(tree, frozenset())


def _parameters(tree: ast.Module, text: str, kept: set[object]) -> Iterator[_Edit]:
    """Give the edits of parameters, function by function; one in another belongs to the outer one.

    What is named outside functions, imported or built in stays: a default or a line within may mean that.
    """
    kept = kept | {"self", *dir(builtins), *_outside(tree)}
    tokens = list(_names(text))
    for function in _outermost(tree):
        begin, end = (function.lineno, function.col_offset), (function.end_lineno, function.end_col_offset)
        inside = [(token, is_attribute) for token, is_attribute in tokens if begin <= token.start < end]
        given = [node.arg for node in ast.walk(function) if isinstance(node, ast.arg)]
        own = [name for name in dict.fromkeys(given) if name not in kept and not name.startswith("_")]
        used = {token.string for token, _ in inside}
        short = dict(zip(own, (name for name in short_names("") if name not in used and not keyword.iskeyword(name)), strict=False))
        for token, is_attribute in inside:
            if token.string in short and not is_attribute:
                yield *token.start, token.string, short[token.string]


def _outermost(node: ast.AST) -> Iterator[ast.FunctionDef | ast.AsyncFunctionDef]:
    for inner in ast.iter_child_nodes(node):
        if isinstance(inner, FUNCTIONS):
            yield inner
        else:
            yield from _outermost(inner)


def _outside(node: ast.AST, is_inside: bool = False) -> Iterator[str]:
    """Give the names that are imported anywhere, or given a value outside functions."""
    for inner in ast.iter_child_nodes(node):
        if isinstance(inner, ast.alias):
            yield from (inner.asname or inner.name).split(".")
        elif not is_inside and isinstance(inner, (*FUNCTIONS, ast.ClassDef)):
            yield inner.name
        elif not is_inside and isinstance(inner, ast.Name):
            yield inner.id
        yield from _outside(inner, is_inside or isinstance(inner, FUNCTIONS))


def _edited(text: str, edits: Iterable[_Edit]) -> str:
    lines = text.splitlines(keepends=True)
    for line, column, name, short in sorted(edits, reverse=True):
        whole = lines[line - 1]
        lines[line - 1] = whole[:column] + short + whole[column + len(name):]
    return "".join(lines)
