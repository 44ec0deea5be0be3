"""Every small change of a program's source: an operator, a constant, a condition, a statement left out."""

import ast
from copy import deepcopy

COMPARISONS = {
    ast.Lt: (ast.LtE, ast.Gt), ast.LtE: (ast.Lt,), ast.Gt: (ast.GtE, ast.Lt), ast.GtE: (ast.Gt,), ast.Eq: (ast.NotEq,),
    ast.NotEq: (ast.Eq,), ast.Is: (ast.IsNot,), ast.IsNot: (ast.Is,),
}
OPERATORS = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.BitOr: ast.BitAnd, ast.BitAnd: ast.BitOr, ast.LShift: ast.RShift,
    ast.RShift: ast.LShift, ast.Mult: ast.Add,
}


def changed_sources(source):
    """Yield (line before, line after, whole source after) for every change, in a fixed order.

    Lines are as `ast.unparse` writes them, so that layout and comments do not matter.
    """
    tree = ast.parse(source)
    plain = ast.unparse(tree).splitlines()
    for index, node in enumerate(ast.walk(tree)):
        for change in _changes(node):
            copy = deepcopy(tree)
            change(next(other for place, other in enumerate(ast.walk(copy)) if place == index))
            new = ast.unparse(ast.fix_missing_locations(copy))
            before, after = _first_difference(plain, new.splitlines())
            yield before.strip(), after.strip(), new


def number_of_changes(source):
    """Return how many changes there are, without making them."""
    return sum(len(_changes(node)) for node in ast.walk(ast.parse(source)))


def _changes(node):
    """Return functions that each change a node in place in one way."""
    if isinstance(node, ast.Compare):
        return [_set_comparison(place, new) for place, old in enumerate(node.ops) for new in COMPARISONS.get(type(old), ())]
    if isinstance(node, ast.BinOp):
        return [_set("op", OPERATORS[type(node.op)]())] if type(node.op) in OPERATORS else []
    if isinstance(node, ast.BoolOp):
        dropped = [_set("values", [value for other, value in enumerate(node.values) if other != place] * 2)
                   for place in range(len(node.values))]
        return [_set("op", ast.Or() if isinstance(node.op, ast.And) else ast.And()), *dropped]
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not):
        return [lambda node: setattr(node, "operand", ast.UnaryOp(ast.Not(), node.operand))]
    if isinstance(node, ast.Constant) and type(node.value) is int:
        return [_set("value", node.value + 1)] + [_set("value", node.value - 1)] * (node.value > 0)
    changes = []
    if isinstance(node, (ast.If, ast.IfExp)):
        changes += [_set("test", ast.Constant(True)), _set("test", ast.Constant(False))]
    for block in ("body", "orelse"):
        statements = getattr(node, block, None)
        if isinstance(statements, list):
            changes += [_leave_out(block, place) for place, statement in enumerate(statements) if _does_something(statement)]
    return changes


def _does_something(statement):
    if isinstance(statement, ast.Expr):
        return not isinstance(statement.value, ast.Constant)
    return isinstance(statement, (ast.Assign, ast.AugAssign))


def _set(name, value):
    return lambda node: setattr(node, name, value)


def _set_comparison(place, new):
    return lambda node: node.ops.__setitem__(place, new())


def _leave_out(block, place):
    return lambda node: getattr(node, block).__setitem__(place, ast.Pass())


def _first_difference(before, after):
    for was, now in zip(before, after):
        if was != now:
            return was, now
    return before[-1], after[-1]
