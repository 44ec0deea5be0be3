"""The parts list: what to buy for a design, how many, with designators, ratings, spares and second choices.

Counted from the circuit, so that what is drawn is what is bought; beside it what holds it: box, holder, glands, cables.
A second choice is another part of the stock that answers the choosing questions as well.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from math import ceil

from pattress.circuit.assembly import LOW
from pattress.circuit.model import Block, Component, Kind, Place
from pattress.design import Design
from pattress.finding import Verdict
from pattress.handover.wiring import Wiring
from pattress.job.model import Enclosure
from pattress.plural import counted
from pattress.quantity import show
from pattress.sizing.choice import relay_verdict
from pattress.sizing.demand import demands
from pattress.sizing.drive import driver_verdict
from pattress.sizing.mains import mains_of
from pattress.sizing.supply import supply_verdict
from pattress.stock.parts import Part

# What is worth printing of a part, by its kind.
RATINGS = {
    "relay": ("rated_current", "rated_voltage", "coil_voltage", "coil_resistance"),
    "driver": ("current_most", "voltage_most"),
    "supply": ("output_voltage", "output_current"),
    "terminal": ("section_most", "rated_current"),
    "fuse": ("rated_current", "rated_voltage", "breaking_current"),
    "varistor": ("rated_voltage", "varistor_voltage"),
    "capacitor": ("capacitance", "voltage", "tolerance"),
    "diode": ("reverse_voltage", "forward_current"),
}
GOOD = (Verdict.HOLDS, Verdict.TIGHT)
NOT_BOUGHT = (Kind.LOAD, Kind.FAN, Kind.PROTECTIVE_DEVICE, Kind.TEST_POINT)
FIRST = (Kind.RELAY, Kind.TRANSISTOR, Kind.DRIVER_ARRAY, Kind.BOARD, Kind.SUPPLY, Kind.FUSE, Kind.VARISTOR, Kind.TERMINAL)
SMALL = (Kind.RESISTOR, Kind.DIODE, Kind.TRANSISTOR)
SPARES = {Kind.RELAY: 1, Kind.FUSE: 2, Kind.OPTOCOUPLER: 1}      # and of small parts a tenth, two at least (common practice, no source)
# The check that answers for a component which its block's first check does not.
WHY = {
    "before a driver": "drive_pin.controller", "pull-down of a driver": "drive_reset.controller", "across a coil": "drive_pin.controller",
    "in series": "sensing", "pull-up": "sensing", "snubber": "suppression", "damping": "fan_switching", "bleed": "fan_switching", "motor run": "fan",
    "line sense": "feedback", "holds from crest to crest": "feedback", "bulk capacitor": "bulk.controller", "hold-up capacitor": "hold_up.controller", "against interference": "discharge.controller",
    "status lamp": "supply.controller", "filter of the receiver": "usual before a receiver module", "at the sensor": "sensor_supply",
}
NAMED = "named in the job"


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One line of the parts list. `count` is in metres where `unit` says so; `marks` are the designators."""

    part: str
    what: str
    count: int
    ratings: str
    why: str
    second: str = ""
    marks: str = ""
    spare: int = 0
    unit: str = ""


def parts_list(design: Design, wiring: Wiring) -> tuple[Line, ...]:
    """Return everything to buy, named parts first."""
    groups: dict[tuple[int, str, str], list[tuple[Block, Component]]] = {}
    for block in design.circuit.blocks:
        for component in block.components:
            if component.kind not in NOT_BOUGHT:
                order = FIRST.index(component.kind) if component.kind in FIRST else len(FIRST)
                groups.setdefault((order, _part(component), _ratings(design, component)), []).append((block, component))
    counted_lines = [_line(design, part, rated, members) for (_, part, rated), members in sorted(groups.items(), key=lambda group: group[0][0])]
    return (*counted_lines, *_housing(design, wiring), *_cables(wiring))


def ratings(part: Part) -> str:
    """Return the ratings of a part that one checks in a shop."""
    known = [(name, part.rating(name)) for name in RATINGS.get(part.kind, ())]
    return ", ".join(f"{name.replace('_', ' ')} {show(rating.value, rating.unit or '%')}" for name, rating in known
                     if isinstance(rating.value, float | int))


def spares(kind: Kind, count: int) -> int:
    """Return how many to buy beyond those that are fitted."""
    return max(2, ceil(count / 10)) if kind in SMALL else SPARES.get(kind, 0)


def marks_of(components: Iterable[Component]) -> str:
    """Return designators in a row, runs of terminals in short: "X1:1 to X1:6"."""
    found: list[list[str]] = []
    for designator in (component.designator for component in components):
        strip, _, number = designator.partition(":")
        last = found[-1][-1].partition(":") if found else ("", "", "")
        if number and last[0] == strip and last[2].isdigit() and int(number) == int(last[2]) + 1:
            found[-1].append(designator)
        else:
            found.append([designator])
    return ", ".join(run[0] if len(run) == 1 else ", ".join(run) if len(run) == 2 else f"{run[0]} to {run[-1]}" for run in found)


def _part(component: Component) -> str:
    if component.kind is Kind.TERMINAL and not component.part:
        return "terminal, extra-low voltage" if component.designator.startswith(LOW) else "terminal, none of the stock takes this feed"
    if component.part:
        return component.part
    word = "motor capacitor" if component.name == "motor run" else component.kind.value
    return f"{word} {component.value}".strip() if component.figure else component.value or word


def _ratings(design: Design, component: Component) -> str:
    parts = design.results["parts"]
    if component.kind is Kind.BOARD:
        return f"board {component.name}"
    if component.kind is Kind.TERMINAL and component.designator.startswith(LOW):
        return "for 0.5 mm²; not the type of the mains side"
    if component.part in parts and component.kind is not Kind.RELAY:
        return ", ".join(filter(None, (ratings(parts[component.part]), component.rating if component.kind in (Kind.FUSE, Kind.DIODE) else "")))
    return ratings(parts[component.part]) if component.part in parts else component.rating


def _line(design: Design, part: str, rated: str, members: list[tuple[Block, Component]]) -> Line:
    components = [component for _, component in members]
    kind, count = components[0].kind, len(components)
    reason, second = _choice(design, kind, components)
    what = ", ".join(dict.fromkeys(_what(component) for component in components))
    return Line(part=part, what=what, count=count, ratings=rated, why=reason or _why(design, members[0]), second=", ".join(second),
                marks=marks_of(components), spare=spares(kind, count))


def _what(component: Component) -> str:
    if component.kind is Kind.TERMINAL:
        strip = component.designator.partition(":")[0]
        return f"strip {strip}" if strip == LOW else "terminal at mains"
    if component.kind in (Kind.RESISTOR, Kind.CAPACITOR, Kind.DIODE, Kind.FUSE) and component.name:
        return component.name
    return "coil driver" if component.kind in (Kind.TRANSISTOR, Kind.DRIVER_ARRAY) else component.kind.value


def _why(design: Design, member: tuple[Block, Component]) -> str:
    block, component = member
    if component.place is Place.FIELD and component.kind is not Kind.CAPACITOR or component.kind is Kind.BOARD:
        return NAMED
    if component.kind is Kind.TERMINAL:
        return "takes the section and the current" if component.part else "cannot be mistaken for a mains terminal"
    own = {Kind.FUSE: "fuse.controller", Kind.VARISTOR: "varistor.controller"}.get(component.kind)
    return own or WHY.get(component.name) or (block.answers[-1] if block.answers else "drawn in the circuit")


def _choice(design: Design, kind: Kind, components: list[Component]) -> tuple[str, list[str]]:
    """Return why a chosen part was taken, and which others of the stock would do; "" for one that its check answers for."""
    chosen, stock, name = design.chosen, design.results["parts"], components[0].part
    if kind is Kind.RELAY:
        asked, mains = demands(design.job), mains_of(design.job)
        keys = [key for key, choice in chosen.relays.items() if choice.part.designation == name]
        return f"{chosen.relays[keys[0]].reason}; for {', '.join(asked[key].name for key in keys)}", [
            part.designation for part in stock.of("relay") if part.designation != name and all(
                relay_verdict(part, asked[key], mains, design.job.site.altitude) in GOOD for key in keys)]
    if kind in (Kind.TRANSISTOR, Kind.DRIVER_ARRAY):
        return chosen.driver.reason, [part.designation for part in stock.of("driver") if part.designation != name and driver_verdict(
            part, [choice.part for choice in chosen.relays.values()], design.board, chosen.supply.part, design.job.site.ambient) in GOOD]
    if kind is Kind.SUPPLY:
        return chosen.supply.reason, [part.designation for part in stock.of("supply")
                                      if part.designation != name and supply_verdict(part, design.job, chosen) in GOOD]
    return "", []


def _housing(design: Design, wiring: Wiring) -> Iterator[Line]:
    box = design.job.site.enclosure
    size = f"{show(box.width, 'm')} x {show(box.height, 'm')} x {show(box.depth, 'm')} inside" if isinstance(box, Enclosure) else "large enough for the distances"
    yield Line(part=f"box, {box.material}" if isinstance(box, Enclosure) else "box, not known", what="holds the controller", count=1, why=NAMED, ratings=size)
    if any(design.circuit.of(Kind.FUSE)):
        yield Line(part="fuse holder 5 x 20 mm", what="closed, for the fuse of the supply", count=1, ratings="250 V, 6.3 A", why="fuse.controller")
    yield Line(part="cable gland", what="one for each cable, with strain relief", count=len(wiring.cables), ratings="for the cable's outer diameter", why="each cable enters with its sheath")


def _cables(wiring: Wiring) -> Iterator[Line]:
    groups: dict[tuple[bool, int, float], list[float | None]] = {}
    for cable in wiring.cables:
        if not cable.thing.startswith("feed."):          # it is there already, from the distribution board
            groups.setdefault((not cable.mains, len(cable.cores), cable.section), []).append(cable.length)
    for (is_low, cores, section), lengths in sorted(groups.items()):
        unknown = sum(length is None for length in lengths)
        more = f"; {counted(unknown, 'cable')} of unknown length on top" if unknown else ""
        yield Line(part=f"cable {cores} x {show(section, 'm2')}", what=f"{counted(len(lengths), 'cable')} at {'extra-low voltage' if is_low else 'mains'}{more}",
                   count=ceil(sum(length for length in lengths if length is not None) - 1e-9), unit="m", ratings="" if is_low else "rated voltage of fixed wiring", why=NAMED)
