"""What the pictures of the rehearsal have in common: size, colours, text, rules. Texts are 12 of the 420 units across, or more."""

from collections.abc import Iterable
from html import escape
from textwrap import wrap

WIDTH = 420             # in its own units
LEFT, RIGHT = 10, 410   # what is drawn lies between
ACROSS = 60             # letters that fit across
LINE = 15               # from one line of words to the next
INK, PAPER, LIT, FAINT = "#1f2430", "#ffffff", "#f2cf7a", "#c9ccd3"


def picture(title: str, height: float, parts: Iterable[str], patterns: str = "") -> str:
    """Return an SVG picture that needs nothing beside it; `patterns` are its definitions."""
    words = escape(title)
    head = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height:g}" role="img" aria-label="{words}" '
        f'font-family="system-ui, sans-serif" font-size="12" fill="{INK}">',
        f"<title>{words}</title>",
        *([patterns] if patterns else []),
        f'<rect width="{WIDTH}" height="{height:g}" fill="{PAPER}"/>',
    ]
    return "\n".join([*head, *parts, "</svg>"]) + "\n"


def paragraph(y: float, words: str) -> tuple[list[str], float]:
    """Return words in lines across the picture, and where the next thing may begin."""
    lines = wrap(words, ACROSS)
    return [text(LEFT, y + LINE * place, line) for place, line in enumerate(lines)], y + LINE * len(lines) - 2


def line(left: float, right: float, y: float, colour: str = INK) -> str:
    """Return a rule from left to right."""
    return f'<path d="M{left:g},{y:g} H{right:g}" stroke="{colour}" stroke-width="1.2"/>'


def text(x: float, y: float, words: str, *, anchor: str = "start", size: int = 12, weight: int = 400, halo: bool = False) -> str:
    """Return a text; with `halo` it keeps legible on hatching and bars."""
    paint = f' stroke="{PAPER}" stroke-width="3" paint-order="stroke" stroke-linejoin="round"' if halo else ""
    return (f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" font-size="{size}" font-weight="{weight}"{paint}>'
            f"{escape(words)}</text>")
