"""No figure that is not known turns into a number in silence: the syntax trees of the engineering are walked."""

import ast
from pathlib import Path

import pytest

ENGINEERING = Path(__file__).parents[2] / "src" / "pattress"
FOLDERS = ("sizing", "fan", "pins")


def silent_defaults(text):
    """Return the lines on which a value that is None, zero or missing gives way to a number."""
    return sorted({node.lineno for node in ast.walk(ast.parse(text)) if _is_or(node) or _is_choice(node) or _is_get(node)})


def _is_number(node):
    """Return whether a node is a number, a constant by its name, or reckoned from such alone."""
    if isinstance(node, ast.UnaryOp):
        return _is_number(node.operand)
    if isinstance(node, ast.BinOp):
        return _is_number(node.left) and _is_number(node.right)
    if isinstance(node, ast.Constant):
        return type(node.value) in (int, float)
    return isinstance(node, ast.Name) and node.id.isupper()


def _is_or(node):
    """x or 0.1: 0 is a value, and unknown is not 0.1."""
    return isinstance(node, ast.BoolOp) and isinstance(node.op, ast.Or) and _is_number(node.values[-1])


def _is_choice(node):
    """0.1 if x is None else x, and the other way round."""
    if not (isinstance(node, ast.IfExp) and isinstance(node.test, ast.Compare) and len(node.test.ops) == 1
            and isinstance(node.test.comparators[0], ast.Constant) and node.test.comparators[0].value is None):
        return False
    taken, other = (node.body, node.orelse) if isinstance(node.test.ops[0], ast.Is) else (node.orelse, node.body)
    return _is_number(taken) and ast.dump(other) == ast.dump(node.test.left)


def _is_get(node):
    """figures.get(name, 0.1)."""
    return (isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr == "get"
            and len(node.args) == 2 and not isinstance(node.args[1], ast.Name) and _is_number(node.args[1]) and not _is_counting(node))


def _is_counting(node):
    """delays.get(key, 0.0): what is not in a table of our own making has none."""
    return isinstance(node.func.value, ast.Name) and node.func.value.id in ("delays", "counts")


@pytest.mark.parametrize("path", [path for folder in FOLDERS for path in sorted((ENGINEERING / folder).rglob("*.py"))],
                         ids=lambda path: f"{path.parent.name}/{path.stem}")
def test_no_silent_default(path):
    assert silent_defaults(path.read_text("utf-8")) == []


# Each stood in the code and let an unknown figure hold: the relay's release, the driver's input, the varistor's tolerance ...
STOOD = (
    'tolerance = relay.known("coil_tolerance") or 0.10', 'return RAIL_TOLERANCE if known is None else known',
    'typical = board.figures["weak_pull"].value or 45e3', 'into_pull + (driver.known("input_current") or 0.0)',
    'return board.figures["output_high_least"].value or 0.8 * LOGIC', 'judge(max(pins), board.figures["pin_current"].value or 4e-3, Sense.AT_MOST)',
    'limit = board.figures["pin_current"].value or 4e-3', 'plain = relay.known("release_time") or 15e-3',
    'slow = plain * DIODE_SLOWS + (relay.known("bounce_time") or 5e-3)', 'least = board.figures["supply_least"].value or 3.0',
    'return board.figures["input_high_least"].value or 0.75 * LOGIC', 'allowed = board.figures["input_low_most"].value or 0.25 * LOGIC',
    'efficiency = supply.known("efficiency") or DEFAULT_EFFICIENCY', 'standby=supply.known("standby_power") or 0.1'.replace("standby=", "standby ="),
    'rule = demand.behaviour.contact_rule or MOTOR_RULE', '(acts.contact_rule or MOTOR_RULE) * motor',
    '(p.known("melting_integral") or 0.0) >= integral', 'power = 5.0 * 0.6 / (supply.known("efficiency") or 0.7)',
    'average = chosen.board.figures["radio_average_current"].value or BOARD_AVERAGE', '(part.known(figure) or 0.0) >= current',
    '(part.known("rated_current") or 0.0) >= current', 'led = part and (part.known("forward_voltage_most") or LED_MOST)',
    'kept = part.known("saturation_voltage") or 0.2', 'led = sensing.part.known("forward_voltage") or 1.2',
    'across = made * (1.0 + (snubber.known("tolerance") or 0.0)) if snubber else 0.0', 'return board.figures["radio_peak_current"].value or BOARD_PEAK',
    'leak = leakage(capacitance * (1.0 + (part.known("tolerance") or 0.0)))', 'tolerance = part.known("tolerance") or 0.10',
    'spread = NAMEPLATE * (nameplate.speed or 1.0)', 'fastest = max((reading.speed or 0.0) for reading in readings)',
    'error[0] * (value or 0.0) + error[1]', 'highest = max(max(step[3], step[4] or 0.0) for step in steps)',
    'broken = sum(rule(name).price or 0 for name in names)', 'limit = figures.get("release_time", 15e-3)', 'value if value is not None else -1.0',
)


@pytest.mark.parametrize("line", STOOD)
def test_each_default_that_stood_there_would_be_found(line):
    assert silent_defaults(line.replace("return ", "")) == [1]


@pytest.mark.parametrize("line", ["name = given or 'nothing'", "ready = one or other", "least if least is not None else worst(board)", "table.get(key, default)"])
def test_what_takes_no_number_for_an_unknown_is_left_alone(line):
    assert silent_defaults(line) == []
