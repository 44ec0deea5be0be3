"""The kinds of part and the figures each may have, with the unit a figure is written in.

A new kind of part is an entry here and a file in `parts/`. A figure that a record leaves out
counts as unknown, except those a kind cannot do without.
"""

from dataclasses import dataclass, field

PULSE = "A2 s"                # of melting and let-through integrals
THERMAL = "K/W"


@dataclass(frozen=True, slots=True)
class Kind:
    """What a kind of part is: figures with unit, words with what is allowed, and what it must have."""

    figures: dict[str, str]
    words: dict[str, tuple[str, ...]] = field(default_factory=dict)
    needs: tuple[str, ...] = ()


INSULATION = ("functional", "basic", "reinforced")

# Where a figure in each unit lies at least and at most, whatever the part: outside, what is reckoned with it means nothing.
BOUNDS = {
    "V": (1e-3, 1e5), "A": (1e-9, 1e5), "ohm": (1e-4, 1e9), "F": (1e-13, 1.0), "s": (1e-7, 100.0), "W": (1e-6, 1e4), "degC": (-100.0, 500.0),
    "m": (1e-4, 1.0), "m2": (1e-8, 1e-3), PULSE: (1e-6, 1e7), THERMAL: (1e-3, 1e4), "": (1e-3, 1e9),
}
MAY_BE_ZERO = ("operate_time", "release_time", "bounce_time", "ripple", "dropout", "quiescent_current", "dark_current", "standby_power", "minimum_power")
SHARES = {"tolerance": (0.0, 1.0), "coil_tolerance": (0.0, 1.0), "output_tolerance": (0.0, 1.0), "efficiency": (1e-3, 1.0)}

KINDS = {
    "relay": Kind(
        figures={
            "rated_current": "A", "rated_voltage": "V",
            "inductive_current": "A",            # it can break at a power factor of 0.3 to 0.4
            "motor_current": "A",                # full-load current of a motor it can switch
            "making_current": "A",               # peak, for 20 ms; what it was tested with is `making_with`
            "making_current_short": "A",         # peak, for 200 us
            "making_current_long": "A",          # for seconds
            "coil_voltage": "V", "coil_resistance": "ohm", "coil_tolerance": "",
            "operate_voltage": "V", "release_voltage": "V",
            "operate_time": "s", "release_time": "s", "bounce_time": "s",
            "endurance": "", "endurance_light": "", "light_current": "A", "lamp_endurance": "", "lamp_current": "A",
            "ambient_most": "degC", "contact_resistance": "ohm", "minimum_power": "W",
            "withstand_voltage": "V", "clearance": "m", "creepage": "m",
        },
        words={
            "insulation": INSULATION,
            "making_with": ("lamps", "motors"),  # the load that the making current for 20 ms is given for
            "making_shorter": ("allowed",),      # whether the sheet lets that figure be used for a shorter pulse
        },
        needs=("rated_current", "coil_voltage", "coil_resistance", "operate_voltage"),
    ),
    "driver": Kind(
        figures={
            "current_most": "A", "voltage_most": "V",
            "gain_least": "", "base_voltage": "V", "saturation_voltage": "V",
            "threshold_least": "V", "on_resistance": "ohm", "gate_voltage": "V",
            "input_current": "A", "off_voltage": "V",
        },
        words={"arrangement": ("NPN", "N-MOSFET", "Darlington array")},
        needs=("arrangement", "current_most", "off_voltage"),
    ),
    "optocoupler": Kind(
        figures={
            "forward_voltage": "V", "forward_voltage_most": "V", "forward_current_most": "A",
            "transfer_least": "", "transfer_most": "", "test_current": "A", "saturation_voltage": "V",
            "dark_current": "A", "withstand_voltage": "V", "clearance": "m", "creepage": "m",
        },
        words={"insulation": INSULATION},
        needs=("forward_voltage", "transfer_least"),
    ),
    "diode": Kind(
        figures={"reverse_voltage": "V", "forward_current": "A", "surge_current": "A", "forward_voltage_most": "V"},
        needs=("reverse_voltage", "forward_current"),
    ),
    "supply": Kind(
        figures={
            "output_voltage": "V", "output_current": "A", "output_tolerance": "", "efficiency": "",
            "standby_power": "W", "input_least": "V", "input_most": "V", "ambient_full": "degC",
            "ambient_most": "degC", "ripple": "V",
        },
        words={"insulation": INSULATION},
        needs=("output_voltage", "output_current"),
    ),
    "regulator": Kind(
        figures={
            "output_voltage": "V", "output_current": "A", "dropout": "V", "input_most": "V",
            "quiescent_current": "A", "thermal_resistance": THERMAL, "junction_most": "degC",
        },
        needs=("output_voltage", "dropout"),
    ),
    "capacitor": Kind(
        figures={"capacitance": "F", "tolerance": "", "voltage": "V"},
        words={"class": ("motor run", "X2", "electrolytic")},
        needs=("capacitance", "voltage", "class"),
    ),
    "fuse": Kind(
        figures={"rated_current": "A", "melting_integral": PULSE, "breaking_current": "A", "rated_voltage": "V"},
        words={"speed": ("time-lag", "quick-acting")},
        needs=("rated_current", "speed"),
    ),
    "varistor": Kind(
        figures={"rated_voltage": "V", "varistor_voltage": "V", "tolerance": "", "clamping_voltage": "V"},
        needs=("rated_voltage", "varistor_voltage"),
    ),
    "contactor": Kind(
        figures={"resistive_current": "A", "motor_current": "A"},      # AC-1 and AC-3 of IEC 60947-4-1
        needs=("resistive_current", "motor_current"),
    ),
    "inrush limiter": Kind(
        figures={"cold_resistance": "ohm", "tolerance": "", "rated_current": "A"},
        needs=("cold_resistance", "rated_current"),
    ),
    "terminal": Kind(
        figures={"section_most": "m2", "rated_current": "A", "rated_voltage": "V"},
        needs=("section_most", "rated_current"),
    ),
}
