"""Mains inlet of the controller's own supply: fuse, varistor, interference capacitor and its bleed."""

from pattress.circuit.designators import FUSES, Numbers
from pattress.circuit.fitted import Inlet
from pattress.circuit.model import Block, Component, Kind, Net, NetKind, Pin
from pattress.circuit.parts import bleed, capacitor
from pattress.finding import Figure

FUSED = "L fused"          # no key of a feed has a blank


def mains_inlet(given: Inlet, common: Numbers, *, line: str, neutral: str, voltage: float, feed: str) -> Block:
    """Return what stands between the feed of the supply and the supply module; the module's line is `FUSED`. `voltage` [V] is the highest."""
    current = given.fuse.value("rated_current") if given.fuse else 0.0
    parts = [Component(designator=f"F{FUSES + 1}", kind=Kind.FUSE, part=given.fuse.designation if given.fuse else "", name="fuse of the supply",
                       pins=(Pin("1", line), Pin("2", FUSED)), rating="ceramic, 5 x 20 mm")]
    nets = [Net(FUSED, NetKind.LINE, voltage, current, feed)]
    if given.varistor:
        parts.append(Component(designator=f"F{FUSES + 2}", kind=Kind.VARISTOR, part=given.varistor.designation,
                               figure=Figure(given.varistor.value("rated_voltage"), "V"), pins=(Pin("1", FUSED), Pin("2", neutral))))
    if given.capacitor:
        parts.append(capacitor(common.next(Kind.CAPACITOR), given.capacitor.value("capacitance"), FUSED, neutral, "X2", given.capacitor.designation, "against interference"))
        if given.bleed:
            pieces, inner = bleed(common, given.bleed.piece, given.bleed.pieces, FUSED, neutral, "bleed", given.bleed.rating)
            parts += pieces
            nets += [Net(name, NetKind.LINE, voltage, 0.0, feed) for name in inner]
    return Block("mains inlet", tuple(parts), tuple(nets), ("fuse.controller", "fuse_breaking.controller", "varistor.controller", "discharge.controller"))
