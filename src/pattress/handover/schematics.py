"""The circuit diagrams of a design as the pack prints them: drawn from its netlist, one to a page with a frame of its own."""

from dataclasses import dataclass

from pattress.circuit.schematic import Identity, Practice, Sheet, sheets
from pattress.design import Design
from pattress.drawing import Medium
from pattress.handover.colours import NORTH_AMERICA, colours_of
from pattress.handover.imprint import STOP, Imprint


@dataclass(frozen=True, slots=True)
class Diagram:
    """One sheet of the circuit diagrams. It brings frame and title block, so it fills its page without a margin."""

    sheet: Sheet

    @property
    def title(self) -> str:
        """Return what it is called in a list."""
        return self.sheet.picture.title

    @property
    def width(self) -> float:
        """Return its width [mm]."""
        return self.sheet.picture.frame.width

    @property
    def height(self) -> float:
        """Return its height [mm]."""
        return self.sheet.picture.frame.height

    def svg(self, medium: Medium = Medium.FILE) -> str:
        """Return it as SVG; one unit is 1 mm."""
        return self.sheet.picture.svg(medium)


def diagrams(design: Design, imprint: Imprint) -> tuple[Diagram, ...]:
    """Return the circuit diagrams of a design, with what its sheets say of themselves in the title block."""
    identity = Identity(revision=imprint.revision if imprint.date else "", date=imprint.date, drawn=f"pattress {imprint.version}", job_digest=imprint.design, program_digest=imprint.program[:12], status=STOP if imprint.stopped else "")
    return tuple(map(Diagram, sheets(design.circuit, title=imprint.job, practice=_practice(design), identity=identity)))


def places_of(design: Design) -> dict[str, str]:
    """Return where each part and terminal is drawn by designator: number of the circuit diagram and zone, "3/B5, 3/D2"."""
    found: dict[str, list[str]] = {}
    for sheet in sheets(design.circuit, title="", practice=_practice(design)):
        for designator, places in sheet.places.items():
            found.setdefault(designator, []).extend(places)
    return {designator: ", ".join(places) for designator, places in found.items()}


def _practice(design: Design) -> Practice:
    return Practice.NORTH_AMERICAN if colours_of(design.job.supply.system, design.job.site.country) is NORTH_AMERICA else Practice.IEC
