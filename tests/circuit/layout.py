"""What lies on what on a drawn sheet: boxes of words by the widths of their font, against each other and against every line."""

import re
from xml.etree import ElementTree

import numpy as np

from pattress.drawing.lettering import MONO

SVG = "{http://www.w3.org/2000/svg}"
ASCENT, DESCENT = 0.76, 0.24             # em, of DejaVu Sans Mono (read from the font)
FLAT = re.compile(r"[0-9A-IK-PR-Z+?. -]*")     # words of letters that stay on the base line
TOUCH = 0.1                              # mm
LINES = ("wire", "lead", "body", "thick", "link", "barrier")


def _walk(element, x=0.0, y=0.0):
    """Yield every element with its origin on the sheet."""
    moved = re.match(r"translate\((\S+) (\S+)\)", element.get("transform") or "")
    if moved:
        x, y = x + float(moved[1]), y + float(moved[2])
    yield element, x, y
    for child in element:
        yield from _walk(child, x, y)


def words_and_lines(svg):
    """Return the boxes of all words, as (words, left, top, right, bottom), and all straight pieces of line, as (kind, x1, y1, x2, y2)."""
    words, lines = [], []
    for element, x, y in _walk(ElementTree.fromstring(svg)):
        if element.tag == f"{SVG}text" and element.text:
            size = float(element.get("font-size") or 2.5)
            wide = MONO.width(element.text, size)
            left = x + float(element.get("x")) - {"start": 0.0, "middle": wide / 2, "end": wide}[element.get("text-anchor") or "start"]
            base = y + float(element.get("y"))
            words.append((element.text, left, base - ASCENT * size, left + wide, base + (0.0 if FLAT.fullmatch(element.text) else DESCENT * size)))
        elif element.tag == f"{SVG}polyline" and (element.get("class") or "").partition(" ")[0] in LINES:
            points = [tuple(map(float, pair.split(","))) for pair in element.get("points").split()]
            lines += [(element.get("class"), x + a, y + b, x + c, y + d) for (a, b), (c, d) in zip(points, points[1:])]
    return words, lines


def clashes(svg):
    """Return in words what lies on what: word on word, line through word, word beside the sheet."""
    words, lines = words_and_lines(svg)
    boxes, ends = np.array([word[1:] for word in words]), np.array([line[1:] for line in lines])
    spans = np.column_stack([np.minimum(ends[:, :2], ends[:, 2:]), np.maximum(ends[:, :2], ends[:, 2:])])
    found = [f"{words[one][0]!r} is written over {words[two][0]!r}" for one, two in np.argwhere(_meeting(boxes, boxes, TOUCH)) if one < two]
    found += [f"a {lines[line][0]} runs through {words[word][0]!r}" for word, line in np.argwhere(_meeting(boxes, spans, -1e-9, by=TOUCH))
              if _runs_through(ends[line], boxes[word])]
    return found + [f"{word[0]!r} leaves the sheet" for word in words if word[1] < 4 or word[3] > 293 or word[2] < 4 or word[4] > 206]


def _meeting(boxes, others, touch, by=0.0):
    """Return for each box and each other whether they share more than `touch`, the boxes made smaller by `by`."""
    one, two = boxes[:, None, :], others[None, :, :]
    return ((one[..., 0] + by < two[..., 2] - touch) & (two[..., 0] < one[..., 2] - by - touch)
            & (one[..., 1] + by < two[..., 3] - touch) & (two[..., 1] < one[..., 3] - by - touch))


def _runs_through(ends, box):
    """Return whether a line whose span meets a box goes through it: a slanted one may pass its corner."""
    x1, y1, x2, y2 = ends
    steps = 1 if x1 == x2 or y1 == y2 else 40
    return steps == 1 or any(box[0] + TOUCH < x1 + (x2 - x1) * step / steps < box[2] - TOUCH and box[1] + TOUCH < y1 + (y2 - y1) * step / steps < box[3] - TOUCH
                             for step in range(steps + 1))
