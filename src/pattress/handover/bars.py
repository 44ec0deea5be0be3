"""A finding's value beside its limit, as a bar: filled from the left up to the value, a stroke at the limit, the good side underlined.

The same bar stands on the hand-over page and on the page in the browser.
"""

from dataclasses import dataclass

from markupsafe import Markup

from pattress.drawing import Box, Medium, Picture
from pattress.drawing.look import INK, LEADER, SOFT
from pattress.drawing.pieces import rectangle
from pattress.finding import Finding, Sense

SCALE = 1.25                 # the bar ends at so many times the limit
WIDE = 200.0                 # of the bar, in its own units
HIGH = 14.0
STROKE = 2.0


@dataclass(frozen=True, slots=True)
class Bar:
    """A value against its limit, in units of the bar. `good` is where the good side begins and how wide it is."""

    value: float
    limit: float
    good: tuple[float, float]
    side: str                     # in words, printed under the bar: "good: left of the stroke"
    words: str                    # all of it, for those who do not see the bar

    def __html__(self) -> str:
        """Return the bar as a template prints it."""
        start, width = self.good
        drawn = (rectangle(Box(start, 11, start + width, HIGH), fill=INK, kind="good"),
                 rectangle(Box(0, 2, WIDE, 9), stroke=SOFT, weight=LEADER, kind="room"),
                 rectangle(Box(0, 2, self.value, 9), fill=SOFT, kind="used"),
                 rectangle(Box(self.limit - STROKE / 2, 0, self.limit + STROKE / 2, HIGH), fill=INK, kind="limit"))
        bar = Picture(self.words.removesuffix(f"; {self.side}"), self.side, Box(0, 0, WIDE, HIGH), drawn, kind="bar", is_stretched=True).svg(Medium.PAGE)
        return Markup('<span class="gauge">{}<small>{}</small></span>').format(Markup(bar), self.side)


def bar_of(finding: Finding) -> Bar | None:
    """Return the bar of a finding; None where a share of the limit makes no sense."""
    if finding.value is None or finding.limit is None or finding.limit.value <= 0:
        return None
    share, limit = finding.value.value / finding.limit.value, WIDE / SCALE
    is_most = finding.sense is Sense.AT_MOST
    side = f"good: {'left' if is_most else 'right'} of the stroke"
    return Bar(max(0.0, min(share, SCALE)) * limit, limit, (0.0, limit) if is_most else (limit, WIDE - limit), side,
               f"{100 * share:.0f} % of the limit; {side}")
