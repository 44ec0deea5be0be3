"""Inspection and tests on site in the usual order (IEC 60364-6, from memory): look, protective conductors, insulation, polarity, then live.

Every step names the terminals it is done at, so that each conductor of the circuit is in exactly one step of continuity or insulation.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

from pattress.circuit.blocks.outside import neutral_of
from pattress.circuit.model import Component, Kind, NetKind
from pattress.circuit.parts import EARTH
from pattress.design import Design
from pattress.handover.colours import Practice
from pattress.handover.findings_page import Table
from pattress.handover.parts import marks_of
from pattress.handover.schedules import limit_of, value_of
from pattress.handover.sensed_lines import live_rows
from pattress.handover.sheet import Section
from pattress.handover.wiring import Wiring, channels, device_of, finding_of, named_devices, used_feeds
from pattress.job.model import UNKNOWN, Cable, Enclosure, ResidualCurrentDevice
from pattress.quantity import show
from pattress.sizing.electrode import largest_electrode, steady_electrode
from pattress.sizing.mains import mains_of
from pattress.sizing.protection import largest_cold_reading
from pattress.stock.conductors import resistance_per_metre
from pattress.stock.insulation import dead_test
from pattress.stock.verification import Verification, operating_times, verification

FOUND = ("Reading", "Instrument", "Met")
WHO = ("Dead and live tests are for those whom local rules allow to do them, with instruments in calibration. "
       "Values to expect come from the design; where local rules ask for more, local rules count.")
BOND = 0.1                       # ohm from a metal box to its protective terminal (common practice, no source)
DISCHARGE = "wait 5 s, then prove every capacitor at mains under 34 V"
LOOP_BETWEEN = {"TT": "line to neutral", UNKNOWN: "line to neutral; line to protective conductor, too, where the earthing turns out to be TN"}
SIGNED = Table("Signed for this part", ("Who", "Name, date", "Signature"), (("Done by", "", ""),))


@dataclass(frozen=True, slots=True)
class Step:
    """One dead test: what is tested at which terminals, how, and what to expect. `conductors` are the terminals whose cores it covers."""

    what: str
    conductors: tuple[str, ...]
    how: str
    expect: str

    @property
    def row(self) -> tuple[str, ...]:
        """Return the step as a row of the sheet."""
        return self.what, self.how, self.expect, *("",) * len(FOUND)


def inspection(design: Design, wiring: Wiring) -> Section:
    """Return what to look at before anything is measured."""
    box, circuit = design.job.site.enclosure, design.circuit
    metal = not isinstance(box, Enclosure) or box.material != "plastic"
    rows = [
        (f"Devices at the distribution board: {named_devices(design)}", "ratings and labels are those of the single-line diagram"),
        ("Box", f"bonded at {next(iter(circuit.of(Kind.STUD))).designator} with a screw of its own, lid too where it is metal" if metal and any(circuit.of(Kind.STUD))
         else "plastic, whole, no metal comes through; the sheath of every cable enters"),
        ("Barrier between mains and extra-low voltage", f"at least {limit_of(design, 'board_distance.mains_to_touchable')} through air; no cable holds cores of both"),
        ("Terminals X1, X2", "tight, one by one; no strand astray; torque as in the wire list"),
        ("Cables", f"{wiring.cables[0].mark} to {wiring.cables[-1].mark} marked and clamped; sections as in the list" if wiring.cables else "marked and clamped"),
        ("Fuse of the supply", f"{part.part}, ceramic" if (part := next(iter(circuit.of(Kind.FUSE)), None)) else "as in the parts list"),
        ("Identity", f"the code of job and design on every sheet is {design.identity}"),
        ("Labels", "warning, circuits and this pack are in place"),
    ]
    how = verification(design.job.site.country)
    return _worded(design, Section("Inspection", (_after(how), f"DEAD: {named_devices(design)} off, locked, proved dead with a tester proved before and after; {DISCHARGE}.", WHO),
                   (Table("", ("Look at", "Must be", "In order"), tuple((*row, "") for row in rows)), SIGNED)))


def dead(design: Design, wiring: Wiring) -> Section:
    """Return the tests with the supply off, locked and proved dead."""
    caution = (f"DEAD, box open: as before. Fuse of the supply out, so that T1 and the varistor are off; loads off; {DISCHARGE}.",)
    parts = (("Protective conductors and bonds", continuity(design, wiring)), ("Insulation", insulation(design)), ("Polarity and neutrals", polarity(design)))
    return _worded(design, Section("Dead tests on site", caution, (*(_boxed(name, steps) for name, steps in parts), SIGNED)))


def continuity(design: Design, wiring: Wiring) -> tuple[Step, ...]:
    """Return the tests of every protective conductor and bond."""
    return tuple(_continuity(design, wiring))


def _continuity(design: Design, wiring: Wiring) -> Iterator[Step]:
    circuit, job = design.circuit, design.job
    incoming = _terminals(design, "X1", EARTH)
    for key, mark in zip(job.feed, incoming, strict=True):
        yield Step(f"Protective conductor of feed {key}", (mark,), f"bar of the distribution board to {mark}, through {wiring.cable(f'feed.{key}').mark}",
                   f"about {show(_ohms(job.feed[key].cable), 'ohm')} at 20 degC, if its section is that of the line")
    for key, channel in channels(design).items():
        mark = _of_channel(design, wiring, key, NetKind.PROTECTIVE)
        ohms = _ohms(job.feed[channel.feed].cable) + _ohms(channel.run)
        yield Step(f"Protective conductor to {channel.name}", (mark,), f"bar of the distribution board to the load, through {mark} and {wiring.cable(key).mark}",
                   f"about {show(ohms, 'ohm')} at 20 degC, if its section is that of the line")
    for stud in circuit.of(Kind.STUD):
        yield Step(f"Bond of the {stud.name}", (stud.designator,), f"bare metal of box and lid to {incoming[0] if incoming else 'the protective conductor'}, through {stud.designator}",
                   f"at most {show(BOND, 'ohm')}")


def insulation(design: Design) -> tuple[Step, ...]:
    """Return the tests of insulation: the supply side of each feed, every switched core, mains to extra-low voltage, and extra-low voltage to earth."""
    return tuple(_insulation(design))


def _insulation(design: Design) -> Iterator[Step]:
    volts, ohms, _ = dead_test(voltage=mains_of(design.job).voltage)
    expect = f"at least {show(ohms, 'ohm')} at {show(volts, 'V')} DC"
    low_volts, low_ohms, _ = dead_test(voltage=5.0)
    earth = _terminals(design, "X1", EARTH)
    live: list[str] = []
    for key in design.job.feed:
        marks = (*_terminals(design, "X1", f"L.{key}"), *_terminals(design, "X1", neutral_of(key)), *_terminals(design, "X2", neutral_of(key)))
        live += marks[:2]
        yield Step(f"Supply side of {device_of(design, key)}", marks, f"L and N joined at X1 ({', '.join(marks[:2])}), to {earth[0]}", expect)
    for load in design.circuit.of(Kind.LOAD, Kind.FAN):
        line = load.pin("L").net
        (mark,) = _terminals(design, "X2", line)
        relays = ", ".join(one.designator for one in _switching(design, line))
        yield Step(f"Switched core of {load.name}", (mark,), f"{mark} to {earth[0]}, or to it with the contact of {relays} bridged in the step before; load off", expect)
    yield Step("Mains to extra-low voltage", (), f"{', '.join(live)} joined, to 0 V at X3; board taken out", expect)
    low = _low(design)
    if low:
        yield Step("Extra-low voltage to earth", low, f"{marks_of(one for one in design.circuit.of(Kind.TERMINAL) if one.designator in low)} joined, to {earth[0]}; board, sensors and receiver unplugged",
                   f"at least {show(low_ohms, 'ohm')} at {show(low_volts, 'V')} DC")


def polarity(design: Design) -> tuple[Step, ...]:
    """Return the tests that no core is on another's terminal and no neutral is joined to another feed's."""
    steps = [Step(f"Cores to {load.name}", (), f"ring through L at {_terminals(design, 'X2', load.pin('L').net)[0]}, then N and PE, at the load's own terminals", "no cross")
             for load in design.circuit.of(Kind.LOAD, Kind.FAN)]
    steps += [Step(f"Neutrals of {one} and {other}", (), f"{_terminals(design, 'X1', neutral_of(one))[0]} to {_terminals(design, 'X1', neutral_of(other))[0]}, both off the bar of the board",
                   "not joined") for one, other in combinations(design.job.feed, 2)]
    return tuple(steps)


def live(design: Design, wiring: Wiring) -> tuple[Section, ...]:
    """Return the tests with the supply on: first those inside the open box, then with its lid on."""
    inside = Section("Live tests, box open", ("LIVE PARTS IN REACH: a second person by; loads off. " + WHO,), (_live(_inside(design)), SIGNED))
    timed = (f"Operating times of a residual-current device: {operating_times()}.",) if _is_timed(design, wiring) else ()
    outside = Section("Live tests, box closed", ("Dead again, fuse of the supply in, lid on, screws in; then loads on. Nothing is measured in the box from here on.", *timed),
                      (_live(_outside(design, wiring)), SIGNED))
    return _worded(design, inside), _worded(design, outside)


def _after(how: Verification) -> str:
    """Return whose order and content the tests follow."""
    return f"Order and content after {how.standard} ({how.source})." + ("" if how.is_known else " The job names no country whose own rules are known here: where local rules ask for more, they count.")


def _worded(design: Design, section: Section) -> Section:
    """Return a section in the words of the country."""
    said = verification(design.job.site.country).worded
    tables = tuple(Table(said(table.caption), table.head, tuple(tuple(map(said, row)) for row in table.rows)) for table in section.tables)
    return replace(section, words=tuple(map(said, section.words)), tables=tables)


def _inside(design: Design) -> Iterator[tuple[str, str, str]]:
    mains = mains_of(design.job)
    for key in used_feeds(design):
        marks = [_terminals(design, "X1", net)[0] for net in (f"L.{key}", neutral_of(key))]
        yield f"Polarity and voltage of {device_of(design, key)}", f"{marks[0]} to {marks[1]}, and to PE", f"{show(mains.low, 'V')} to {show(mains.high, 'V')}; {marks[1]} to PE near nothing"
        fault = finding_of(design, f"fault.{key}")
        if fault and fault.limit:
            yield f"Fault current, largest, at {device_of(design, key)}", "loop tester at the distribution board", f"at most {show(fault.limit.value, fault.limit.unit)}"
    fuse = finding_of(design, "fuse_breaking.controller")
    if fuse and fuse.limit and fuse.value:
        yield "Fault current, largest, at the fuse of the supply", "loop tester at X1", f"at most {show(fuse.limit.value, 'A')}; about {show(fuse.value.value, 'A')} expected"


def _outside(design: Design, wiring: Wiring) -> Iterator[tuple[str, str, str]]:
    job, mains = design.job, mains_of(design.job)
    yield "First energising", "nobody touching; through a residual-current device and a fused, current-limited feed", "no device trips, no relay moves, no smell"
    how = verification(job.site.country)
    for key in used_feeds(design):
        residual = job.feed[key].residual_current_device
        if isinstance(residual, str):
            yield f"Residual-current device of {device_of(design, key)}", "look", f"in the job file: {residual}; find out what is there"
        else:
            yield f"Residual-current device of {device_of(design, key)}, its own test", "its test button", "trips"
            if _is_timed(design, wiring):
                yield from _residual(device_of(design, key), residual, how)
        if job.supply.may_be_tt and not isinstance(residual, str):
            yield (f"{'Where the earthing is TT: earth' if job.supply.earthing == UNKNOWN else 'Earth'} electrode, for {device_of(design, key)}", "earth tester, or loop tester line to protective conductor",
                   f"at most {show(steady_electrode(current=residual.rating), 'ohm')}; up to {show(largest_electrode(current=residual.rating), 'ohm')} "
                   "where it is measured in the driest month")
    for key, channel in channels(design).items():
        trip, current = finding_of(design, f"trip.{key}"), finding_of(design, f"contacts.{key}")
        if trip and trip.limit:
            between = LOOP_BETWEEN.get(job.supply.earthing, "line to neutral and line to protective conductor")
            most = largest_cold_reading(voltage=mains.voltage, needed=trip.limit.value)
            yield (f"Loop impedance at {channel.name}", f"loop tester, {between}, conductors cold",
                   f"at most {show(most, 'ohm')}, so that at least {limit_of(design, trip.id)} flow when they are warm")
        if current and current.nominal:
            yield f"Current of {channel.name}", "clamp meter around its core outside the box, running", f"about {show(current.nominal.value, current.nominal.unit)}, at most {value_of(design, current.id)}"
    yield from live_rows(design)


def _is_timed(design: Design, wiring: Wiring) -> bool:
    """Return whether the times of residual-current devices are measured here, and not only their own test pressed."""
    return wiring.colours.practice is Practice.IEC and bool(verification(design.job.site.country).steps)


def _residual(device: str, residual: ResidualCurrentDevice, how: Verification) -> Iterator[tuple[str, str, str]]:
    """Yield the timed tests that a country asks for, with their currents."""
    begun = ", begun on one half-wave and then on the other: the longer time counts" if how.both_half_waves else ""
    for step in how.steps:
        yield (f"Residual-current device of {device}, at {show(step.times * residual.rating, 'A')}", f"residual-current tester{begun}",
               "does not trip" if step.within is None else f"trips within {show(step.within, 's')}")


def _live(rows: Iterator[tuple[str, str, str]]) -> Table:
    return Table("", ("Test", "How", "Expect", *FOUND), tuple((*row, *("",) * len(FOUND)) for row in rows))


def _boxed(name: str, steps: Sequence[Step]) -> Table:
    return Table(name, ("Test", "How", "Expect", *FOUND), tuple(step.row for step in steps))


def _terminals(design: Design, strip: str, net: str) -> tuple[str, ...]:
    """Return the terminals of a strip that lie on a net, in their order."""
    return tuple(one.designator for one in design.circuit.of(Kind.TERMINAL) if one.designator.startswith(f"{strip}:") and one.pins[0].net == net)


def _low(design: Design) -> tuple[str, ...]:
    return tuple(one.designator for one in design.circuit.of(Kind.TERMINAL) if one.designator.startswith("X3:"))


def _of_channel(design: Design, wiring: Wiring, key: str, kind: NetKind) -> str:
    """Return the terminal of a channel's run that carries a conductor of a kind."""
    by_mark = design.circuit.by_designator
    return next(one.mark for one in wiring.terminals if one.thing == key and design.circuit.net_by_name[by_mark[one.mark].pins[0].net].kind is kind)


def _switching(design: Design, line: str) -> Iterator[Component]:
    """Yield the relays whose contact feeds a switched line straight."""
    return (component for component, _ in design.circuit.by_net[line] if component.kind is Kind.RELAY)


def _ohms(cable: Cable) -> float:
    """Return the resistance of one conductor of a cable [ohm] at 20 degC."""
    return cable.length * resistance_per_metre(section=cable.section, kind=cable.kind, temperature=20.0)
