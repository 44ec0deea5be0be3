"""A published sewing room, made once, and answers to everything that is asked anew."""

import pytest

from pattress.cautions import CAUTIONS
from pattress.design import design_of
from pattress.repeat.folder import write_folder
from pattress.repeat.publishing import publish

from .publishers import CABLE, DEVICE, RESIDUAL, RUN, SEWING_ROOM, WIDE, WIDE_RUN, document_of


@pytest.fixture(scope="session")
def design():
    return design_of(SEWING_ROOM)


@pytest.fixture(scope="session")
def published(design, tmp_path_factory):
    folder = tmp_path_factory.mktemp("published") / "folder"
    write_folder(folder, publish(document_of("sewing-room"), design, CAUTIONS))
    return folder


@pytest.fixture
def answers():
    """Return the least that an adopter of the sewing room has to answer."""
    return {
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
