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


def document_of(name):
    return tomllib.loads((EXAMPLES / name / "job.toml").read_text("utf-8"))
