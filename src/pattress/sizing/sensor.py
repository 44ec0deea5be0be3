"""The temperature and humidity sensor on its wire.

Answers, for each sensor: is the line up again in time to tell a one from a zero; does the
sensor get the volts it wants at 3.3 V. Poll it no faster than every two seconds. Left out:
where it hangs - beside the warm box it reads too much - and interference.
"""

from pattress.finding import Figure, Finding, Input, Sense, Source, Verdict, judge
from pattress.job.model import Job, Sensor
from pattress.quantity import show
from pattress.sizing.chosen import Chosen
from pattress.sizing.drive import LOGIC
from pattress.sizing.sensing import COUPLING, COUPLING_SOURCE, rise_time
from pattress.stock.boards import Board
from pattress.stock.credible import End, assumed

PULL_UP = 5.1e3                  # ohm
ONE, THRESHOLD = 70e-6, 48e-6    # s high for a one (a zero: 28e-6), and where the reader decides
SHEET = Source("11 class and 22 class sensor sheets", "bits, 5.1 kohm under 20 m, supply 3 to 5.5 V; 20 cm at 3.3 V in one manual")
READER = Source("MicroPython source, dht reader", "bit threshold 48 us")
SHORT_AT_LOW_VOLTAGE = 0.20      # m


def findings(job: Job, chosen: Chosen) -> tuple[Finding, ...]:
    """Return the answers for every sensor."""
    found: list[Finding] = []
    for key, sensor in job.sensor.items():
        found += [_line(key, sensor, chosen.board), _volts(key, sensor)]
    return tuple(found)


def _line(key: str, sensor: Sensor, board: Board) -> Finding:
    threshold = board.taken("input_high_least", End.MOST)
    level = threshold.value
    rise = rise_time(resistance=PULL_UP, capacitance=COUPLING * sensor.cable, supply=LOGIC, level=level)
    limit = ONE - THRESHOLD
    longest = sensor.cable * limit / rise if rise else float("inf")
    return Finding(
        id=f"sensor_line.{key}", question=f"Can the bits of {sensor.name} be told apart over its cable?", subject=f"sensor.{key}.cable",
        verdict=judge(rise, limit, Sense.AT_MOST), value=Figure(rise, "s"), limit=Figure(limit, "s"), sense=Sense.AT_MOST,
        nominal=Figure(rise, "s"), corner="100 pF/m, the highest input threshold",
        formula="R C ln(V / (V - VIH)) <= 70 us - 48 us",
        inputs=(Input("pull-up", Figure(PULL_UP, "ohm"), "to 3.3 V", SHEET), Input("cable", Figure(sensor.cable, "m"), f"sensor.{key}.cable"),
                Input("capacitance", Figure(COUPLING * sensor.cable, "F"), "100 pF/m", COUPLING_SOURCE),
                threshold.input, Input("one", Figure(ONE, "s"), "high time", SHEET), Input("threshold", Figure(THRESHOLD, "s"), "of the reader", READER)),
        sources=(SHEET, READER), assumptions=assumed(threshold),
        change=(f"at most {show(longest, 'm')} of cable, or a smaller pull-up",) if rise else (),
        covers_not="noise picked up along a long cable: the checksum catches it, the reading is then missing", safety=False,
    )


def _volts(key: str, sensor: Sensor) -> Finding:
    long_wire = sensor.kind == "11 class" and sensor.cable > SHORT_AT_LOW_VOLTAGE
    return Finding(
        id=f"sensor_supply.{key}", question=f"Does {sensor.name} work from 3.3 V over its cable?", subject=f"sensor.{key}",
        verdict=Verdict.TIGHT if long_wire else Verdict.HOLDS, value=None, limit=None, sense=Sense.AT_MOST,
        formula="an 11 class sensor at 3.3 V wants a cable under 20 cm, says one of its manuals",
        inputs=(Input("kind", sensor.kind, f"sensor.{key}.kind"), Input("cable", Figure(sensor.cable, "m"), f"sensor.{key}.cable")),
        sources=(SHEET,), change=("a 22 class sensor, which takes 3.3 V; or 5 V for the sensor and its pull-up still to 3.3 V",),
        detail=("One manual wants a cable under 20 cm at 3.3 V, others do not say so. " if long_wire else "")
               + "Poll it every 2 s or slower; 100 nF across its supply.", covers_not="self-heating near the warm box", safety=False,
    )
