"""From a job and what was chosen for it to its circuit: which blocks there are, and the nets that they share."""

from collections.abc import Iterator, Mapping

from pattress.circuit.blocks import inputs
from pattress.circuit.blocks.board import controller_board
from pattress.circuit.blocks.channel import ARRAY, Driven, driver_arrays, relay_channel
from pattress.circuit.blocks.fan_bank import fan_bank, step_net
from pattress.circuit.blocks.inlet import mains_inlet
from pattress.circuit.blocks.line_sense import line_sense
from pattress.circuit.blocks.outside import BEFORE, bonding, feed_block, line_of, load_block, neutral_of, terminals
from pattress.circuit.blocks.status_lamp import status_lamp
from pattress.circuit.blocks.supply import POWER_FAIL, supply_module
from pattress.circuit.designators import INPUTS, Numbers
from pattress.circuit.fitted import Fitted
from pattress.circuit.model import Block, Circuit, Net, NetKind
from pattress.circuit.parts import EARTH, FIVE, GROUND, THREE
from pattress.job.model import Fan, Job, Load, Switch
from pattress.stock.board import Board
from pattress.stock.board import Pin as BoardPin

MAINS_IN, MAINS_OUT, LOW = "X1", "X2", "X3"


def assemble(job: Job, board: Board, given: Fitted, pins: Mapping[str, BoardPin | None]) -> Circuit:
    """Return the circuit of a job on a board; `pins` are the board's pins by the names of their wires, None where a wire has none."""
    voltage = job.supply.system.voltage * (1.0 + job.supply.tolerance)
    common = Numbers(0)
    blocks = [feed_block(key, number, feed, voltage=voltage) for number, (key, feed) in enumerate(job.feed.items(), 1)]
    blocks.append(terminals(_terminals(job, given)))
    if given.feed:
        neutral = neutral_of(given.feed)
        blocks += [mains_inlet(given.inlet, common, line=line_of(given.feed), neutral=neutral, voltage=voltage, feed=given.feed),
                   supply_module(given, common, neutral=neutral, warns=job.board.power_fail)]
    blocks += [controller_board(board, pins, (POWER_FAIL,)), *_channels(job, given, voltage), *_inputs(job, given)]
    if job.board.status_lamp:
        blocks.append(status_lamp(given.lamp, common, logic=given.logic))
    blocks.append(bonding(job.site.enclosure))
    shared = [
        Net(BEFORE, NetKind.LINE, voltage, max((feed.device.rating for feed in job.feed.values()), default=0.0)),
        Net(EARTH, NetKind.PROTECTIVE, 0.0, max((feed.device.rating for feed in job.feed.values()), default=0.0)),
        Net(FIVE, NetKind.SUPPLY, given.rail, given.supply.value("output_current")),
        Net(THREE, NetKind.SUPPLY, given.logic, given.board_current),
        Net(GROUND, NetKind.SUPPLY, 0.0, given.supply.value("output_current")),
    ]
    if job.board.power_fail:
        shared.append(Net(POWER_FAIL, NetKind.SIGNAL, given.logic, 1e-3))
    return Circuit((*shared, *(net for block in blocks for net in block.nets)), tuple(blocks))


def channels_of(job: Job) -> dict[str, Load | Fan]:
    """Return every channel by its key, in the order of the plan."""
    return {**job.load, **job.fan}


def _channels(job: Job, given: Fitted, voltage: float) -> Iterator[Block]:
    groups: dict[int, Numbers] = {}
    driven: list[Driven] = []
    number = 1

    def numbers(group: int) -> Numbers:
        return groups.setdefault(group, Numbers(group))

    for key, thing in channels_of(job).items():
        line = Net(f"line.{key}", NetKind.SWITCHED, voltage, given.currents[key], thing.feed)
        count, branches = given.relays[key], given.branches.get(key, ())
        relays = [Driven(
            number=number + place, wire=f"relay.{key}.{place + 1}" if isinstance(thing, Fan) else f"relay.{key}", relay=given.contacts[key],
            common=line_of(thing.feed), make=step_net(key, place) if place < len(branches) else line.name) for place in range(count)]
        driven += relays
        if isinstance(thing, Fan):
            yield fan_bank(given.driver, key, relays, branches, numbers, rail=given.rail, logic=given.logic, line=line, snubber=given.snubbers.get(key))
        else:
            yield relay_channel(given.driver, relays[0], numbers(number), rail=given.rail, logic=given.logic, line=line, snubber=given.snubbers.get(key))
        if thing.feedback != "none" and given.sensing:
            yield line_sense(given.sensing, key, numbers(number + count - 1), line=line, neutral=neutral_of(thing.feed), logic=given.logic)
        yield load_block(thing, number, line.name, neutral_of(thing.feed))
        number += count
    if driven and given.driver.part.word("arrangement") == ARRAY:
        yield driver_arrays(given.driver, driven)


def _inputs(job: Job, given: Fitted) -> Iterator[Block]:
    group, shared = INPUTS, {"logic": given.logic}
    contact = {**shared, "series": given.contact_series}
    for place, (section, key, thing) in enumerate(job.single_contacts(), 1):
        part = f"wall switch, {thing.kind}" if isinstance(thing, Switch) else thing.what
        yield inputs.single_contact(section, key, thing.name, part, f"S{place}", Numbers(group), pull_up=given.pull_ups[f"{section}.{key}"], **contact)
        group += 1
    for place, (key, regulator) in enumerate(job.regulator.items(), 1):
        groups = [Numbers(group + one) for one in range(regulator.contacts)]
        yield inputs.wall_regulator(key, regulator.name, f"S{INPUTS + place}", groups, pull_up=given.pull_ups[f"regulator.{key}"], **contact)
        group += regulator.contacts
    if job.remote:
        yield inputs.infrared_receiver(Numbers(group), **shared)
        group += 1
    for place, (key, sensor) in enumerate(job.sensor.items(), 2):
        yield inputs.sensor(key, sensor.name, sensor.kind, f"B{place}", Numbers(group), pull_up=given.pull_ups[f"sensor.{key}"], **shared)
        group += 1


def _terminals(job: Job, given: Fitted) -> Iterator[tuple[str, str, str]]:
    """Yield every terminal's mark, net and part: feeds, then the runs feed by feed (switched lines, neutrals, protective conductors), then what is at extra-low voltage."""
    def counted(strip: str, ends: Iterator[tuple[str, str]]) -> Iterator[tuple[str, str, str]]:
        return ((f"{strip}:{number}", net, given.terminals.get(thing, "")) for number, (net, thing) in enumerate(ends, 1))

    yield from counted(MAINS_IN, ((net, f"feed.{key}") for key in job.feed for net in (line_of(key), neutral_of(key), EARTH)))
    yield from counted(MAINS_OUT, _out(job))
    yield from counted(LOW, ((net, LOW) for net in _low(job)))


def _out(job: Job) -> Iterator[tuple[str, str]]:
    for feed in job.feed:
        members = [key for key, thing in channels_of(job).items() if thing.feed == feed]
        yield from ((f"line.{key}", key) for key in members)
        yield from ((neutral_of(feed), key) for key in members)
        yield from ((EARTH, key) for key in members)


def _low(job: Job) -> Iterator[str]:
    for section, key, _ in job.single_contacts():
        yield from (inputs.outside_of(section, key), GROUND)
    for key, regulator in job.regulator.items():
        yield from (*(f"contact.{key}.{place}" for place in range(1, regulator.contacts + 1)), GROUND)
    if job.remote:
        yield from ("infrared", "supply.infrared", GROUND)
    for key in job.sensor:
        yield from (f"sensor.{key}", THREE, GROUND)
