"""Quantities at the border: what people write becomes a float in SI units, and back.

`parse` reads "2.2 µF", "4k7", "0,75 mm²" or "3 min"; `show` writes "2.2 uF", `unbroken` keeps that on one line. Inside the program
there are only floats: volt, ampere, ohm, farad, metre, square metre, second, hertz; degrees
Celsius for temperatures, turns per minute ("rpm") for speed of rotation, "" for a share.
"""

from pattress.quantity.reading import NotAQuantity, OutOfRange, QuantityError, WrongUnit, allowed_words, parse
from pattress.quantity.showing import in_unit, show, unbroken

__all__ = ["NotAQuantity", "OutOfRange", "QuantityError", "WrongUnit", "allowed_words", "in_unit", "parse", "show", "unbroken"]
