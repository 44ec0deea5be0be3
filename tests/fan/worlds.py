"""Synthetic fans that the fitted family cannot show: unequal leakages, saturation, core loss that is not a resistor."""
from dataclasses import replace

import numpy as np

from pattress.fan.fit import Nameplate, Reading
from pattress.fan.motor import Load, Motor, field_impedances
from pattress.fan.operating import running

POLES, FREQUENCY, SUPPLY = 14, 50.0, 230.0


class World:
    """`count` random fans, invented. Saturation takes 20 % off the magnetising reactance at full flux."""

    def __init__(self, seed, count):
        self.draw = draw = np.random.default_rng(seed)
        near = lambda value, spread: value * np.exp(spread * draw.standard_normal((count, 1)))
        between = lambda low, high: draw.uniform(low, high, (count, 1))
        main = near(300.0, 0.20)
        leakage, ratio = main * near(0.65, 0.25), near(1.05, 0.12)
        self.count = count
        self.motor = Motor(
            poles=POLES, frequency=FREQUENCY, main_resistance=main, main_reactance=leakage,
            auxiliary_resistance=main * near(1.05, 0.2), auxiliary_reactance=ratio ** 2 * leakage * between(0.7, 1.4),
            turns_ratio=ratio, magnetising_reactance=main * near(3.5, 0.25), rotor_resistance=main * near(1.0, 0.25),
            rotor_reactance=leakage * between(0.5, 1.5), run_capacitance=2.5e-6 * near(1.0, 0.02),
            core_resistance=near(9000.0, 0.4))
        self.load = Load(square_torque=near(4e-4, 0.2), constant_torque=between(0.003, 0.012), breakaway_torque=0.02)
        full = self._running(SUPPLY, np.inf, None)
        self.full_flux = self._flux(self.motor, full)

    def state(self, supply, capacitance):
        """Truth for arrays along the last axis."""
        return self._running(supply, capacitance, self.full_flux)

    def state_behind(self, series):
        """Truth behind series impedances [ohm] of any kind, along the last axis."""
        return self._behind(SUPPLY, series, self.full_flux)

    def _running(self, supply, capacitance, full_flux):
        return self._behind(supply, -1j / (2 * np.pi * FREQUENCY * np.asarray(capacitance)), full_flux)

    def _behind(self, supply, series, full_flux):
        motor = self.motor
        for _ in range(1 if full_flux is None else 40):
            state = running(motor, self.load, supply=supply, series_impedance=series,
                            coming_from=0.999 * motor.synchronous_speed)
            if full_flux is not None:
                flux = self._flux(motor, state) / full_flux
                wanted = self.motor.magnetising_reactance * (1 - 0.2 * np.minimum(flux, 1.3) ** 2)
                core = self.motor.core_resistance * np.maximum(np.abs(state.motor_voltage) / SUPPLY, 0.05) ** 0.4
                motor = replace(motor, magnetising_reactance=0.5 * (motor.magnetising_reactance + wanted), core_resistance=core)
        return state

    @staticmethod
    def _flux(motor, state):
        forward, _ = field_impedances(motor, slip=state.slip)
        return np.abs(forward * (state.main_current - 1j * motor.turns_ratio * state.auxiliary_current) / 2)

    def readings(self, capacitances, capacitor_error=0.01, printed=False):
        """Per fan a list of noisy readings: 1 r/min, 1 % + 0.2 W, 1 % + 0.3 VA; capacitors believed to `capacitor_error`.

        `printed` capacitors lie evenly within +- `capacitor_error`, else that is one standard deviation.
        """
        noise = self.draw.standard_normal
        shape = (self.count, len(capacitances))
        true = np.asarray(capacitances) * (1.0 + self.draw.uniform(-capacitor_error, capacitor_error, shape) if printed else
                                           np.exp(capacitor_error * noise(shape)))
        state = self.state(SUPPLY, true)
        speed = state.speed + 0.105 * noise(shape)
        power = state.input_power + (0.01 * state.input_power + 0.2) * noise(shape)
        apparent = state.apparent_power + (0.01 * state.apparent_power + 0.3) * noise(shape)
        return [[Reading(supply=SUPPLY, capacitance=float(c), speed=max(float(speed[fan, place]), 0.1),
                         power=float(min(power[fan, place], 1.04 * apparent[fan, place])), apparent_power=float(apparent[fan, place]),
                         capacitance_error=capacitor_error)
                 for place, c in enumerate(capacitances)] for fan in range(self.count)]

    def nameplates(self):
        """Printed power is right to 7 %, printed run capacitor as made (2.5 uF +-2 %)."""
        full = self.state(SUPPLY, np.array([np.inf]))
        printed = full.input_power[:, 0] * np.exp(0.07 * self.draw.standard_normal(self.count))
        return [Nameplate(power=float(power), supply=SUPPLY, frequency=FREQUENCY, poles=POLES, run_capacitance=2.5e-6)
                for power in printed]

    def resistances(self):
        """Main and auxiliary as measured to 2 %."""
        return [tuple(float(value[fan, 0] * np.exp(0.02 * self.draw.standard_normal())) for value in
                      (self.motor.main_resistance, self.motor.auxiliary_resistance)) for fan in range(self.count)]
