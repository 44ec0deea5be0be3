"""What a job asks of the board's pins: one demand for every wire between board and controller.

Switches, other contacts, regulator contacts and the like are wired to ground and held up by the resistor that sizing fits
beside the board; a relay is closed by a high level and its driver has a pull-down.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pattress.job.model import Job

NO_PULL_UPS: Mapping[str, float] = MappingProxyType({})

@dataclass(frozen=True, slots=True)
class Need:
    """What a kind of wire asks of its pin.

    `drives`: the pin must be able to set the line. `starts_off`: nothing may move while the board
    starts. `pull_up`: no resistor is fitted, so the pin's own pull-up is used. `lows` and `highs`: the wiring may hold the
    line at that level at the moment of reset.
    """

    word: str
    plural: str
    drives: bool = False
    starts_off: bool = False
    pull_up: bool = False
    lows: bool = False
    highs: bool = False
    interrupts: bool = False


RELAY = Need("a relay output", "relay outputs", drives=True, starts_off=True, lows=True)
# A contact may stand closed at reset; open, its resistor holds the line up from the first moment.
CONTACT = Need("a contact to ground", "contacts to ground", lows=True, highs=True)
# An open collector of the supply, without a resistor of its own; the pin's pull-up, once set, may outlast a watchdog reset.
WARNING = Need("a power-fail wire", "power-fail wires", pull_up=True, lows=True, highs=True)
# A receiver module has its own pull-up and sends low bursts whenever somebody presses a button.
RECEIVER = Need("an infra-red input", "infra-red inputs", lows=True, highs=True, interrupts=True)
# One wire, both ways, with a pull-up resistor beside the sensor; low only when the board asks.
SENSOR = Need("a sensor line", "sensor lines", drives=True, highs=True)
# A lamp to ground through its resistor holds a weakly pulled pin low.
LAMP = Need("a status lamp", "status lamps", drives=True, lows=True)
# A wire of a two-wire bus to a port expander, with a pull-up resistor.
BUS_WIRE = Need("a bus wire", "bus wires", drives=True, highs=True)
# A wire to a shift register that drives relays: its enable is pulled up, and must not be toggled by a boot log.
REGISTER_WIRE = Need("a register wire", "register wires", drives=True, starts_off=True, highs=True)


@dataclass(frozen=True, slots=True)
class Demand:
    """One wire that needs a pin. Demands of one `group` are wired side by side where possible.

    `pull_up` is the resistor [ohm] fitted from the line to 3.3 V, None where none is or where it is not told.
    """

    name: str
    need: Need
    group: str
    pull_up: float | None = None


def demands(job: "Job", fan_relays: Mapping[str, int], pull_ups: Mapping[str, float] = NO_PULL_UPS) -> tuple[Demand, ...]:
    """Return what the job asks of the board, in the order of the job file.

    Parameters
    ----------
    job : Job
    fan_relays : mapping
        How many relays each fan's regulator takes, by the fan's key.
    pull_ups : mapping
        The resistor [ohm] fitted at the wires of each thing, as `sizing.pulls` gives it.

    Raises
    ------
    KeyError
        A fan of the job is missing in `fan_relays`.
    """
    wanted = [Demand(f"relay.{load}", RELAY, "relays") for load in job.load]
    for fan in job.fan:
        wanted += [Demand(f"relay.{fan}.{number}", RELAY, "relays") for number in range(1, fan_relays[fan] + 1)]
    wanted += [Demand(f"feedback.{key}", CONTACT, "feedback", pull_ups.get(f"feedback.{key}"))       # an optocoupler pulls it to ground while the line is live
               for key, thing in (*job.load.items(), *job.fan.items()) if thing.feedback != "none"]
    wanted += [Demand(f"{section}.{key}", CONTACT, "switches", pull_ups.get(f"{section}.{key}")) for section, key, _ in job.single_contacts()]
    for name, regulator in job.regulator.items():
        group = f"regulator.{name}"
        wanted += [Demand(f"{group}.{number}", CONTACT, group, pull_ups.get(group)) for number in range(1, regulator.contacts + 1)]
    if job.remote:
        wanted.append(Demand("infrared", RECEIVER, "infrared", pull_ups.get("infrared")))
    wanted += [Demand(f"sensor.{sensor}", SENSOR, "sensors", pull_ups.get(f"sensor.{sensor}")) for sensor in job.sensor]
    if job.board.status_lamp:
        wanted.append(Demand("status", LAMP, "status"))
    if job.board.power_fail:            # an open collector that pulls low while the mains is gone
        wanted.append(Demand("power_fail", WARNING, "power_fail"))
    return tuple(wanted)
