"""Which choices can move which finding: what the search for a cure may rely on.

A finding's question and thing tell: that of a channel depends on its own relay and run and on
the device and cable of its feed, that of a feed on its own device and cable, the rest on all
choices of some kinds. The tests move every choice and see that nothing outside its scope
follows. A question that is not listed is taken to depend on everything, which is slower to
search and never wrong.
"""

from collections.abc import Mapping

from pattress.circuit.rules import RULES
from pattress.design.choices import Choice, Kind
from pattress.job import Job
from pattress.job.model import SOCKET

RELAY, DEVICE, CABLE, RUN, BOARD, WIRE, RESIDUAL = Kind
OF_CHANNEL: Mapping[str, tuple[Kind, ...]] = {
    "contacts": (RELAY,), "making": (RELAY,), "endurance": (RELAY,), "wear": (RELAY,), "minimum_load": (RELAY,), "clearances": (RELAY,),
    "suppression": (RELAY,), "run": (RUN, DEVICE), "terminal": (RUN,), "drop": (CABLE, RUN),
    "short_circuit": (DEVICE, CABLE, RUN), "trip": (DEVICE, CABLE, RUN),
    "control": (), "track": (), "fan_motor": (), "fan_readings": (), "fan_speed": (), "fan_capacitor": (),
    "fan_start": (), "put_on": (), "longest_on": (), "after_cut": (), "fan_switching": (), "feedback_leak": (RUN,), "feedback_heat": (),
}
OF_FEED: Mapping[str, tuple[Kind, ...]] = {
    "inrush": (DEVICE,), "inrush_single": (DEVICE,), "protection": (DEVICE,), "fault": (), "residual": (RESIDUAL,), "electrode": (RESIDUAL,),
    "conductors": (DEVICE, CABLE), "track_fault": (DEVICE, CABLE), "track_common": (DEVICE,),
}
OF_A_SOCKET = ("contacts", "endurance", "wear", "minimum_load", "clearances", "terminal", "track")      # these follow what its devices let pass
PARTS_TOGETHER = (RELAY, BOARD)
OF_ALL: Mapping[str, tuple[Kind, ...]] = {
    "board_distance": (), "earthing": (), "insulation_test": (), "flash": (), "sensor_supply": (), "varistor": (), "broken_wire": (), "damp": (),
    "sensing": (BOARD,), "wetting": (BOARD,), "feedback": (BOARD,), "feedback_hold": (BOARD,), "feedback_dead": (BOARD,), "sensor_line": (BOARD,), "supply_regulator": PARTS_TOGETHER,
    "supply": PARTS_TOGETHER, "supply_separation": PARTS_TOGETHER, "drive": PARTS_TOGETHER, "drive_pin": PARTS_TOGETHER,
    "drive_total": PARTS_TOGETHER, "drive_reset": PARTS_TOGETHER, "drive_release": PARTS_TOGETHER, "heat": PARTS_TOGETHER,
    "energy": PARTS_TOGETHER, "bulk": PARTS_TOGETHER, "hold_up": PARTS_TOGETHER, "fuse": PARTS_TOGETHER,
    "discharge": PARTS_TOGETHER,
    "fuse_breaking": (CABLE, *PARTS_TOGETHER), "pins": (BOARD, WIRE), "module": (BOARD, WIRE),
} | dict.fromkeys((f"circuit_{rule.name}" for rule in RULES), (RELAY, BOARD, WIRE))
NARROW = 3                   # choices at most of which every combination may be asked for


def scope(finding: str, choices: tuple[Choice, ...], job: Job) -> tuple[int, ...]:
    """Return the places in `choices` of those that can move the finding with that id."""
    question, _, thing = finding.partition(".")
    if question in OF_CHANNEL:
        kinds, feed = OF_CHANNEL[question], (job.load.get(thing) or job.fan[thing]).feed
        own = {RELAY: thing, RUN: thing, DEVICE: feed, CABLE: feed}
        if question in OF_A_SOCKET and thing in job.load and job.load[thing].kind == SOCKET:
            kinds += (DEVICE,)
    elif question in OF_FEED:
        kinds, own = OF_FEED[question], {DEVICE: thing, CABLE: thing, RESIDUAL: thing}
    else:
        kinds, own = OF_ALL.get(question, tuple(Kind)), {}
        if question == "pins" and thing != "board":
            own = {WIRE: thing}
        if RELAY in kinds and any(load.kind == SOCKET for load in job.load.values()):
            kinds += (DEVICE,)           # what it lets pass says which relay a socket takes
    return tuple(place for place, choice in enumerate(choices)
                 if choice.kind in kinds and choice.thing == own.get(choice.kind, choice.thing))
