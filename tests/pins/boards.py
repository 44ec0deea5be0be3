"""Invented boards for the tests of this room."""

from types import MappingProxyType

from pattress.finding import Source
from pattress.stock.boards import Board, Pin, Pulse, Strap

INVENTED = Source("invented for the tests")


def pin(gpio, edge="left", place=None, **facts):
    """Return a pin that can do everything, but for the given facts."""
    usual = dict(output=True, pull_up=True, pull_down=True, adc=0, reset="floating", pulses=(), strap=None, reserved="",
                 console="", driven="", carries="", interrupt="", differs="", note="", sources=MappingProxyType({"reset": INVENTED}))
    return Pin(gpio=gpio, label=f"P{gpio}", edge=edge, place=gpio + 1 if place is None else place, **{**usual, **facts})


def board(*pins, type="invented"):
    """Return an invented board with these pins."""
    ordered = sorted(pins, key=lambda one: (not one.edge, one.edge, one.place))
    return Board(type, "none", f"{type} board", "", 9, "down", "linear", tuple(ordered), MappingProxyType({}), MappingProxyType({}))


def pulse(level, duration):
    return Pulse(level, duration, INVENTED)


def strap(level):
    return Strap(level, "an invented strap", INVENTED)
