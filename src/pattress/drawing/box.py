"""Upright rectangles: what a piece of a drawing takes up, and how two of them, or a wire and one, lie to each other."""

from collections.abc import Iterable
from dataclasses import dataclass

TOUCH = 0.4                      # units: what counts as touching, not crossing


@dataclass(frozen=True, slots=True)
class Box:
    """An upright rectangle, y downward."""

    left: float
    top: float
    right: float
    bottom: float

    @property
    def width(self) -> float:
        """Return how wide it is."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """Return how high it is."""
        return self.bottom - self.top

    def meets(self, other: "Box") -> bool:
        """Return whether the two share more than an edge."""
        return (self.left < other.right - TOUCH and other.left < self.right - TOUCH
                and self.top < other.bottom - TOUCH and other.top < self.bottom - TOUCH)

    def holds(self, other: "Box") -> bool:
        """Return whether the other lies inside."""
        return (self.left <= other.left + TOUCH and self.top <= other.top + TOUCH
                and self.right >= other.right - TOUCH and self.bottom >= other.bottom - TOUCH)

    def moved(self, x: float, y: float) -> "Box":
        """Return the same box elsewhere."""
        return Box(self.left + x, self.top + y, self.right + x, self.bottom + y)

    def grown(self, by: float) -> "Box":
        """Return a box that is larger on every side."""
        return Box(self.left - by, self.top - by, self.right + by, self.bottom + by)


def around(boxes: Iterable[Box]) -> Box | None:
    """Return the least box that holds all of some; None where there is none."""
    some = list(boxes)
    if not some:
        return None
    return Box(min(box.left for box in some), min(box.top for box in some), max(box.right for box in some), max(box.bottom for box in some))


def runs_through(wire: Box, box: Box) -> bool:
    """Return whether a wire runs through a box, not only along its edge."""
    return (wire.left < box.right - TOUCH and wire.right > box.left + TOUCH
            and wire.top < box.bottom - TOUCH and wire.bottom > box.top + TOUCH)


def lies_along(one: Box, other: Box) -> bool:
    """Return whether two wires share a stretch, or one ends on the other."""
    shared_x = min(one.right, other.right) - max(one.left, other.left)
    shared_y = min(one.bottom, other.bottom) - max(one.top, other.top)
    if shared_x < -TOUCH or shared_y < -TOUCH:
        return False
    return not are_crossing(one, other)


def are_crossing(one: Box, other: Box) -> bool:
    """Return whether a level and an upright wire cross, each going on at both sides."""
    for level, upright in ((one, other), (other, one)):
        if level.top == level.bottom and upright.left == upright.right:
            if (level.left + TOUCH < upright.left < level.right - TOUCH and upright.top + TOUCH < level.top < upright.bottom - TOUCH):
                return True
    return False
