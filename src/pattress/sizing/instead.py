"""What of the stock stands in where no relay holds: a contactor behind it, or an inrush limiter before the load.

Only named, never chosen: a contactor needs room, a limiter must cool between closings and gets hot.
"""

from pattress.quantity import show
from pattress.stock.credible import End
from pattress.stock.parts import Part, Parts

FROM_MEMORY = ", from memory"


def contactor_for(*, current: float, breaking: str, parts: Parts) -> Part | None:
    """Return the first contactor that carries and breaks a current [A]; all but a resistive circuit by its motor rating."""
    figure = "resistive_current" if breaking == "resistive" else "motor_current"
    return next((part for part in parts.of("contactor") if part.value(figure) >= current), None)


def limiter_for(*, resistance: float, current: float, parts: Parts) -> Part | None:
    """Return the first inrush limiter of at least this resistance when cold [ohm], at the low end of its tolerance, that bears a current [A]."""
    return next((part for part in parts.of("inrush limiter")
                 if part.value("cold_resistance") * (1.0 - part.taken("tolerance", End.MOST).value) >= resistance
                 and part.value("rated_current") >= current), None)


def such_as(part: Part | None, *figures: tuple[str, str]) -> str:
    """Return " such as TYPE (figures)", "" without a part. Figures are (name, unit); those not read in a source say so."""
    if part is None:
        return ""
    read = all((source := part.source(name)) is not None and source.read for name, _ in figures)
    return f" such as {part.designation} ({', '.join(show(part.value(name), unit) for name, unit in figures)}{'' if read else FROM_MEMORY})"

