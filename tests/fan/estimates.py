"""Fans of which little is known, and their regulators by capacitance alone, for the tests of the fit and of the choice."""
import numpy as np

from pattress.fan.fit import Nameplate, fit_motor, predict_positions
from pattress.fan.network import LINK, USUAL_TOLERANCE, Branch, Capacitor, Regulator, series_values
from pattress.fan.unknowns import Position


def typical_motor(*, power, supply, frequency, poles, run_capacitance, speed=None):
    """Return the `Fit` of a fan of which only the nameplate is known."""
    return fit_motor(nameplate=Nameplate(power=power, supply=supply, frequency=frequency, poles=poles,
                                         run_capacitance=run_capacitance, speed=speed))


def predict(fit, *, supply, capacitance=np.inf, capacitance_error=0.01, same_parts=False):
    """Return the `Prediction` behind each bare `capacitance` [F]: new parts, or the very ones read under that value."""
    return predict_positions(fit, [
        Position(supply=supply, regulator=Regulator(branches=(Branch(capacitance=value) if np.isfinite(value) else LINK,)), mask=1,
                 errors=(capacitance_error,), read=(value,) if same_parts else ())
        for value in np.atleast_1d(capacitance).tolist()])


def stock_capacitors():
    """Return capacitors of the values usual for fans, 440 V AC."""
    return tuple(Capacitor(capacitance=value, tolerance=USUAL_TOLERANCE, rated_voltage=440.0) for value in series_values("fan", low=0.68e-6, high=8.2e-6))
