"""Moist air at ordinary pressure: how much water is in it.

The other way to the same figures as the table that the board looks into (`pattress.controller.readings`), in floats. Left out: the
0.4 % by which real air holds more than an ideal gas, which is the same inside and outside.
"""

from math import exp, isfinite, log

GAS_CONSTANT = 461.495          # of water vapour [J/(kg K)]
TRIPLE_POINT = 0.01             # degC; below it the formula over ice holds
COLDEST, HOTTEST = -100.0, 200.0        # of the formulas [degC]


def saturation_pressure(*, temperature: float) -> float:
    """Return the pressure of water vapour in saturated air [Pa], over ice below the triple point.

    Parameters
    ----------
    temperature : float
        Of the air [degC], -100 to 200.

    Raises
    ------
    ValueError
        The temperature is out of range; the text gives it.

    Source
    ------
    ASHRAE Handbook, Fundamentals, 2017, chapter 1, equations 5 and 6, read in the source of PsychroLib 2.5.0, which changes from one to
    the other at the triple point, too.
    """
    if not COLDEST <= temperature <= HOTTEST:
        raise ValueError(f"temperature must be {COLDEST:g} to {HOTTEST:g} degC, found {temperature!r}")
    t = temperature + 273.15
    if temperature <= TRIPLE_POINT:
        return exp(-5.6745359e3 / t + 6.3925247 - 9.677843e-3 * t + 6.2215701e-7 * t**2 + 2.0747825e-9 * t**3 - 9.484024e-13 * t**4 + 4.1635019 * log(t))
    return exp(-5.8002206e3 / t + 1.3914993 - 4.8640239e-2 * t + 4.1764768e-5 * t**2 - 1.4452093e-8 * t**3 + 6.5459673 * log(t))


def grams_of_water(*, temperature: float, humidity: float) -> float:
    """Return the water in air [g/m3].

    Parameters
    ----------
    temperature : float
        Of the air [degC], -100 to 200.
    humidity : float
        Relative humidity [share], 0 to 1.

    Raises
    ------
    ValueError
        A quantity is out of range; the text gives name and value.

    Source
    ------
    The law of ideal gases: phi Pws / (R T).
    """
    if not (isfinite(humidity) and 0.0 <= humidity <= 1.0):
        raise ValueError(f"humidity must be 0 to 1, found {humidity!r}")
    return 1000.0 * humidity * saturation_pressure(temperature=temperature) / (GAS_CONSTANT * (temperature + 273.15))
