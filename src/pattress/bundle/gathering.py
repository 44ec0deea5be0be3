"""Long texts within a module's functions lie in one, from which each is cut when it is used.

The board makes an object of every text of more than a few letters as soon as the module is loaded, and keeps it,
wanted or not: 16 bytes and a place in a table, though the letters themselves may stay where the module lies. Most of
what the network's modules say is said seldom. Cutting costs a copy, so this is for what runs as a task beside the loop.

Lines stay lines: the one text stands behind the last.
"""

import ast
from collections.abc import Iterator

from pattress.bundle.folding import change_of, changed, is_python, line_starts
from pattress.bundle.sharing import FUNCTIONS

SHORT = {str: 10, bytes: 3}     # letters that stay: of a text because the compiler keeps so many among the names (from memory)
_NAME = "_texts"


def gathered(text: str) -> str:
    """Return the source of a module with its long texts gathered; one that is no Python is returned as it is."""
    if not is_python(text):
        return text
    nodes = list(_texts(ast.parse(text)))
    whole = b""
    for said in sorted({_bytes(node) for node in nodes}, key=lambda said: (-len(said), said)):
        whole += b"" if said in whole else said
    starts = line_starts(text)
    return changed(text, [change_of(node, _cut(node, whole), starts) for node in nodes]) + (f"\n{_NAME} = {whole!r}\n" if whole else "")


def _cut(node: ast.Constant, whole: bytes) -> str:
    at = whole.index(_bytes(node))
    return f"{_NAME}[{at}:{at + len(_bytes(node))}]" + (".decode()" if isinstance(node.value, str) else "")


def _bytes(node: ast.Constant) -> bytes:
    return node.value if isinstance(node.value, bytes) else str(node.value).encode()


def _texts(tree: ast.Module) -> Iterator[ast.Constant]:
    """Give each long text that a function says: no docstring, and nothing that is worked out once as the module is loaded."""
    for function in ast.walk(tree):
        if isinstance(function, FUNCTIONS):
            for statement in function.body:
                yield from _said(statement)


def _said(node: ast.AST) -> Iterator[ast.Constant]:
    if isinstance(node, ast.Constant):
        if isinstance(node.value, str | bytes) and len(node.value) > SHORT[type(node.value)]:
            yield node
    elif not isinstance(node, (*FUNCTIONS, ast.JoinedStr)) and not (isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)):
        for inner in ast.iter_child_nodes(node):
            yield from _said(inner)
