"""Values between the lines of a table."""

from math import exp, log


def on_logs(points: dict[float, float], at: float) -> float:
    """Return the value at `at`, straight on logarithmic axes between the points.

    Exact at the points; constant above the last; proportional to `at` below the first. All
    numbers must be positive, and `points` in ascending order.
    """
    places = list(points)
    if at <= places[0]:
        return points[places[0]] * at / places[0]
    for low, high in zip(places, places[1:]):
        if at <= high:
            share = log(at / low) / log(high / low)
            return exp(log(points[low]) * (1.0 - share) + log(points[high]) * share) if at != high else points[high]
    return points[places[-1]]


def straight(points: dict[float, float], at: float) -> float:
    """Return the value at `at`, straight between the points and constant beyond them."""
    places = list(points)
    if at <= places[0]:
        return points[places[0]]
    for low, high in zip(places, places[1:]):
        if at <= high:
            return points[low] + (points[high] - points[low]) * (at - low) / (high - low)
    return points[places[-1]]


def first_at_least(points: dict[float, float], at: float) -> float | None:
    """Return the value of the first point at or above `at`, None above the last."""
    return next((value for place, value in points.items() if place >= at * (1.0 - 1e-9)), None)
