"""A word across a finished drawing."""

import re
from html import escape

SHARE = 0.6                  # of the drawing's diagonal that the word takes
LETTER = 0.62                # width of a letter over its height


def stamped(svg: str, words: str) -> str:
    """Return an SVG with words across it from corner to corner, pale enough to read what is under them. Raises ValueError where it has no viewBox."""
    found = re.search(r'viewBox="([-\d.]+) ([-\d.]+) ([-\d.]+) ([-\d.]+)"', svg)
    if found is None:
        raise ValueError("the drawing has no viewBox")
    left, top, width, height = map(float, found.groups())
    size = SHARE * (width**2 + height**2) ** 0.5 / (LETTER * len(words))
    x, y = left + width / 2, top + height / 2
    turn = -30 if width > height else -55
    mark = (f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="middle" transform="rotate({turn} {x:.1f} {y:.1f})" '
            f'style="font:bold {size:.1f}px sans-serif;fill:#b00020;fill-opacity:.28;stroke:none">{escape(words)}</text>')
    end = svg.rindex("</svg>")
    return svg[:end] + mark + svg[end:]
