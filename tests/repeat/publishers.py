"""Jobs to publish and answers to adopt them with."""

import tomllib
from pathlib import Path

EXAMPLES = Path(__file__).parents[2] / "examples"
SEWING_ROOM = EXAMPLES / "sewing-room" / "job.toml"
CABLE = {"section": "1.5 mm2", "length": "5 m", "method": "B2", "grouped": 1}
WIDE = CABLE | {"section": "2.5 mm2"}
RUN, WIDE_RUN = CABLE | {"fuse": "none"}, WIDE | {"fuse": "none"}
DEVICE = {"kind": "miniature circuit-breaker", "curve": "B", "rating": "10 A", "breaking_capacity": "6 kA"}
RESIDUAL = {"rating": "30 mA", "type": "A"}

# the least that an adopter of the sewing room has to answer
ANSWERS = {
    "supply": {"system": "230 V 50 Hz", "tolerance": "10 %", "earthing": "TN-S", "fault_current": "1 kA", "loop_impedance": "0.35 ohm",
               "earth_electrode": "unknown"},
    "site": {"country": "GB", "ambient": "30 degC", "altitude": "100 m"},
    "feed": {
        "lights": {"device": DEVICE, "residual_current_device": RESIDUAL, "cable": CABLE | {"length": "12 m"}, "other_current": "0 A"},
        "sockets": {"device": DEVICE | {"rating": "16 A"}, "residual_current_device": RESIDUAL, "cable": WIDE, "other_current": "0 A"},
    },
    "load": {key: {"run": WIDE_RUN if key in ("ironing", "machine") else RUN} for key in ("pendant", "bench", "wall", "ironing", "machine")},
    "fan": {"ceiling": {"run": RUN}},
}


def document_of(name):
    return tomllib.loads((EXAMPLES / name / "job.toml").read_text("utf-8"))
