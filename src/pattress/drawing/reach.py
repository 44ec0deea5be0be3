"""What an SVG path takes up, read from its commands: exact for straight lines and half circles, never too small for other curves."""

import re
from collections.abc import Iterator
from functools import lru_cache
from math import hypot

from pattress.drawing.box import Box, around

_PIECE = re.compile(r"[A-Za-z]|-?(?:\d+\.?\d*|\.\d+)(?:e-?\d+)?")
_NUMBERS = {"M": 2, "L": 2, "H": 1, "V": 1, "Q": 4, "T": 2, "C": 6, "A": 7, "Z": 0}


@lru_cache(maxsize=2048)
def reach(path: str) -> Box | None:
    """Return the box of a path without the width of its stroke; None where it draws nothing. Raises ValueError for what is no path."""
    points: list[Box] = []
    x = y = start_x = start_y = 0.0
    bent: tuple[float, float] | None = None      # where the curve before was pulled to
    for command, numbers in _steps(path):
        here_x, here_y = (x, y) if command.islower() else (0.0, 0.0)
        kind = command.upper()
        pulled, bent = bent, None
        if kind == "Z":
            x, y = start_x, start_y
            continue
        if kind == "H":
            ends = [(here_x + numbers[0], y)]
        elif kind == "V":
            ends = [(x, here_y + numbers[0])]
        elif kind == "A":
            ends = [(here_x + numbers[5], here_y + numbers[6])]
            points.append(_arc(x, y, *ends[0], numbers))
        elif kind == "T":
            bent = (2 * x - pulled[0], 2 * y - pulled[1]) if pulled else (x, y)
            ends = [bent, (here_x + numbers[0], here_y + numbers[1])]
        else:
            ends = [(here_x + numbers[at], here_y + numbers[at + 1]) for at in range(0, len(numbers), 2)]
        bent = ends[0] if kind == "Q" else bent
        points += [Box(at, down, at, down) for at, down in ends]
        x, y = ends[-1]
        if kind == "M":
            start_x, start_y = x, y
    return around(points)


def _steps(path: str) -> Iterator[tuple[str, list[float]]]:
    """Yield each command with its numbers; a command whose numbers come again is there again."""
    pieces = _PIECE.findall(path)
    at, command = 0, ""
    while at < len(pieces):
        if pieces[at].isalpha():
            command, at = pieces[at], at + 1
        elif not command or command in "Zz":
            raise ValueError(f"the path {path!r} has a number without a command")
        count = _NUMBERS.get(command.upper())
        if count is None:
            raise ValueError(f"the path {path!r} has the command {command}, which is not read here")
        numbers = [float(piece) for piece in pieces[at:at + count] if not piece.isalpha()]
        if len(numbers) < count:
            raise ValueError(f"the path {path!r} ends within {command}")
        yield command, numbers
        at += count
        command = {"M": "L", "m": "l"}.get(command, command)


def _arc(x: float, y: float, to_x: float, to_y: float, numbers: list[float]) -> Box:
    """Return a box round an arc: of a half circle its own, of more twice as far as it can reach."""
    across, down, is_large = numbers[0], numbers[1], numbers[3] > 0
    middle_x, middle_y = (x + to_x) / 2, (y + to_y) / 2
    is_half = hypot((to_x - x) / (2 * across), (to_y - y) / (2 * down)) > 0.999 if across and down else True
    times = 2 if is_large and not is_half else 1
    return Box(middle_x - times * across, middle_y - times * down, middle_x + times * across, middle_y + times * down)
