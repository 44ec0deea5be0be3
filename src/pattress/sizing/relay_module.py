"""A ready-made 5 V relay module with active-low optocoupler inputs, on a 3.3 V pin.

Not a question of a job yet: the stock holds relays, not modules. These functions say why such
modules stay on, or come on by themselves, behind a 3.3 V pin. The path is 5 V - resistor -
indicator LED - optocoupler LED - pin; without the indicator only one diode drop is in it.

Source: measurements of a two-channel module by a hobbyist (input floats at 2.7 to 2.9 V, 1.8 mA
sunk) and electronics.stackexchange.com question 296330.
"""

from pattress.sizing.ranges import not_negative, positive

OFF_CURRENT = 0.1e-3             # A through the optocoupler's LED below which a relay surely lets go (common practice)


def drop_in_path(*, supply: float, current: float, resistance: float) -> float:
    """Return the voltage of the diodes in an input [V], from the current it sinks: V - I R."""
    positive(supply=supply, resistance=resistance)
    not_negative(current=current)
    return supply - current * resistance


def led_current(*, supply: float, pin: float, drop: float, resistance: float) -> float:
    """Return the current [A] through the optocoupler's LED with the pin at `pin` [V]: (V - pin - drop) / R, zero at least."""
    positive(supply=supply, resistance=resistance)
    not_negative(pin=pin, drop=drop)
    return max(0.0, (supply - pin - drop) / resistance)


def lets_go(*, supply: float, pin_high: float, drop: float, resistance: float, off: float = OFF_CURRENT) -> bool:
    """Return whether the relay surely lets go with the pin high."""
    return led_current(supply=supply, pin=pin_high, drop=drop, resistance=resistance) <= off
