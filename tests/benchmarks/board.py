"""What a board carries and how it lives: size of the bundle, memory, and the time from a switch to its relay.

All of it under the board's interpreter on this machine, in virtual time; no board was there.
Memory is weighed with modules run in place and taken from files, with the network and without, by a
build whose numbers are as wide as a board's; once by the build for a PC, where they are twice as wide.
"""

import json
import re
import shutil
from pathlib import Path
from tempfile import TemporaryDirectory

from pattress import interpreter
from pattress.bundle import write_bundle
from pattress.controller.core import ON
from pattress.controller.core.conditions import HOLDS, OF_READING
from pattress.design import design_of

from ..bundle.words import LOOKED_AT, in_bundle_words
from ..controller.drivers import narrow_interpreter

JOB = Path("examples/sewing-room/job.toml")
DRIVERS = Path(__file__).parents[1] / "controller" / "drivers"
HOUR, KIB = 3600, 1024
NARROW_S = 600         # with numbers of 32 bits nothing is collected before the end, and an hour fills that interpreter's memory


SETTINGS = {"name": "sewing-room", "wifi": None, "broker": {"host": "192.0.2.1"}, "passphrase": None, "thing": None}     # invented
VIRTUAL = DRIVERS / "virtual"
PARTITION = 128 * KIB
WEIGHED = 4         # times in a life with narrow numbers
HEAP, HEAP_A_SECOND = 64 << 20, 128 * KIB       # what such a life throws away, and more


def live(
    folder: Path, facts: dict, seconds: int, *, narrow: bool = False, network: bool = False, in_place: bool = False,
) -> dict:
    """Let a bundle live on a simulated board; return what `hour.py` found.

    `narrow`: in the build whose numbers are as wide as the board's. `network`: with its tasks, a broker
    that does not answer, and no visitor. `in_place`: on a board with a read-only partition, from which
    the modules run. A narrow one tells how many `names` the interpreter's table has, those of the stand-ins
    included, and in how many `pools`.
    """
    with TemporaryDirectory() as place:
        flash = Path(place)
        shutil.copytree(folder, flash / "a")
        shutil.copyfile(folder / "root" / "start.mpy", flash / "start.mpy")
        if network:
            (flash / "network.json").write_text(json.dumps(SETTINGS))
        pins = facts["pins"]
        asked = {"seconds": seconds, "seed": 7, "infrared": pins["infrared"], "switch": pins["switch.door_right"],
                 "relay": pins["relay.wall"], "partition": PARTITION if in_place else 0}
        program = in_bundle_words((DRIVERS / "hour.py").read_text("utf-8"), *LOOKED_AT)
        if not narrow:
            program = program.replace("STANDING_IN", repr([str(VIRTUAL)]))
            *_, last = interpreter.run(program, folder=flash, lines=[json.dumps(asked)])
            return json.loads(last)
        program = program.replace("STANDING_IN", repr(["/narrow", "/virtual"]))
        beside = {"/narrow": narrow_interpreter.NARROW, "/virtual": VIRTUAL}
        *_, before = narrow_interpreter.run(program, folder=flash, beside=beside, lines=[json.dumps(asked), "weigh_out()", "print(before)"])
        found: dict = {"weighed": []}
        for part in range(1, WEIGHED + 1):          # each time a life of its own: this build bears one collection, as the last thing
            until = seconds * part // WEIGHED - 1
            *_, table, last = narrow_interpreter.run(
                program, folder=flash, beside=beside, heap=HEAP + HEAP_A_SECOND * until,
                lines=[json.dumps(asked), f"before = {before}", "begin()", f"asyncio.go({1000 * until})", "weigh()", "import micropython",
                       "micropython.qstr_info()", "tell()"])
            pools, names = re.match(r"qstr pool: n_pool=(\d+), n_qstr=(\d+),", table).groups()
            life = json.loads(last) | {"pools": int(pools), "names": int(names)}
            found = life | {"weighed": found["weighed"] + life["weighed"]}
            for name in ("start.json", "snapshot.0", "snapshot.1"):
                (flash / name).unlink(missing_ok=True)
    return found


def first_look(folder: Path) -> dict:
    """Start a bundle up to its first look at a contact; return what `first_look.py` found."""
    with TemporaryDirectory() as place:
        flash = Path(place)
        shutil.copytree(folder, flash / "a")
        shutil.copyfile(folder / "root" / "start.mpy", flash / "start.mpy")
        program = (DRIVERS / "first_look.py").read_text("utf-8").replace("STANDING_IN", repr([str(VIRTUAL)]))
        (found,) = interpreter.run(program, folder=flash)
    found = json.loads(found)
    places = [folder / name[2:].replace(".", "/") for name in found["loaded"]]
    files = [path for place in places for path in (place.with_suffix(".mpy"), place / "__init__.mpy") if path.exists()]        # of some packages there is a folder only
    return found | {"bytes": sum(path.stat().st_size for path in files)}


PLAN = """
import json
import core
with open("plan.json") as file:
    plan = core.Plan(json.load(file))
state = core.new_state(plan)
"""


def rule_memory(table: dict, facts: dict, *, narrow: bool) -> dict[int, int]:
    """Return the bytes in use with the control program and its plan loaded, by how many channels have a limit and a stay."""
    found = {}
    for number in (0, 1, len(table["channels"])):
        rules = [dict(channel=channel, limit_ms=3_600_000, stay_ms=180_000, limit_rule=0, stay_rule=1, renews=1, wall_only=0) for channel in range(number)]
        with TemporaryDirectory() as place:
            folder = Path(place, "bundle")
            write_bundle(folder, {name: rows for name, rows in table.items() if name != "rules"} | ({"rules": rules} if rules else {}),
                         facts, findings=(), accepted={})
            program = in_bundle_words(PLAN, "core")
            if narrow:
                *_, last = narrow_interpreter.run(program, folder=folder, beside={}, lines=["import gc", "gc.collect()", "print(gc.mem_alloc())"])
            else:
                *_, last = interpreter.run(program + "import gc\ngc.collect()\nprint(gc.mem_alloc())", folder=folder)
        found[number] = int(last)
    return found


WAITING = """
import json
import gc
import bundle.core as core
with open("bundle/plan.json") as file:
    plan = core.Plan(json.load(file))
state = core.new_state(plan)
"""
READER = """
from bundle import readings
"""


def conditions(number: int, channels: int) -> dict:
    """Return so many rules that each wait for a reading of their own, in turn about each channel: the largest there are."""
    return {} if not number else {
        "readings": [dict(name="room below", quantity=0, sensor=0, outside=-1, is_below=1, begin=190 - one, end=200 - one, stale_ms=180_000) for one in range(number)],
        "conditions": [dict(rule=one, name="rule", kind=HOLDS, source=OF_READING, number=one, sense=1, from_ms=1, after_ms=1, acts=[[one % channels, ON, 0]])
                       for one in range(number)],
        "rule_keys": [f"r{one}" for one in range(number)]}


def condition_memory(table: dict, facts: dict, *, narrow: bool) -> dict[str, int]:
    """Return the bytes in use with the control program and its plan loaded, by how many rules wait for a reading, and with what takes them."""
    found = {}
    for name, number, more in (("none", 0, ""), ("one", 1, ""), ("thirty", 30, ""), ("reader", 30, READER)):
        with TemporaryDirectory() as place:
            write_bundle(Path(place, "bundle"), {key: rows for key, rows in table.items() if key != "rules"} | conditions(number, len(table["channels"])),
                         facts, findings=(), accepted={})
            program = in_bundle_words(WAITING, "core") + more
            if narrow:
                *_, last = narrow_interpreter.run(program, folder=Path(place), beside={}, lines=["gc.collect()", "print(gc.mem_alloc())"])
            else:
                *_, last = interpreter.run(program + "gc.collect()\nprint(gc.mem_alloc())", folder=Path(place))
        found[name] = int(last)
    return found


TOLD = """
import bundle.request_queue as queues
import bundle.network.telling as outbox
queue = queues.RequestQueue(core, plan, {"channels": [], "title": ""})
rows = json.load(open("rows.json"))
if rows:
    import bundle.inputs as told
    queue.inputs = told.InputNews(rows, queue)
telling = outbox.Telling(queue, outbox.topics_of(queue, "home"))
del rows
"""
MANY_INPUTS = 17


def input_memory(table: dict, facts: dict, *, narrow: bool) -> dict[int, int]:
    """Return the bytes in use with a control program that knows inputs, its queue and what the broker was told, by how many of them are told."""
    waiting = {name: rows for name, rows in table.items() if name != "rules"} | conditions(1, len(table["channels"]))
    found = {}
    for number in (0, 1, MANY_INPUTS):
        rows = [dict(key=f"input_{one:02}", name=f"Window of room {one:02}", settle_ms=50) for one in range(number)]
        pins = {f"input.{row['key']}": 40 + place for place, row in enumerate(rows)}
        with TemporaryDirectory() as place:
            write_bundle(Path(place, "bundle"), waiting | ({"inputs": rows} if rows else {}), facts | {"pins": facts["pins"] | pins}, findings=(), accepted={})
            Path(place, "rows.json").write_text(json.dumps(rows))
            program = in_bundle_words(WAITING + TOLD, "core", "RequestQueue", "Telling", "topics_of", "inputs", "InputNews")
            if narrow:
                *_, last = narrow_interpreter.run(program, folder=Path(place), beside={}, lines=["gc.collect()", "print(gc.mem_alloc())"])
            else:
                *_, last = interpreter.run(program + "gc.collect()\nprint(gc.mem_alloc())", folder=Path(place))
        found[number] = int(last)
    return found


TURNS = 20_000
TURN = """
import time
core.begin(plan, state, None, bytes(plan.switches + plan.inputs), bytes(plan.regulators))
event = [core.TIME, 1, 0, 0, 0]
started = time.ticks_us()
for _ in range(TURNS):
    core.step(plan, state, event)
    core.relays(plan, state)
    core.due_in(plan, state)
took = time.ticks_diff(time.ticks_us(), started)
"""


def step_us(table: dict, facts: dict, number: int, *, narrow: bool) -> float:
    """Return how long the control program takes for one step of time [us on this machine] with so many rules that wait for a reading."""
    with TemporaryDirectory() as place:
        write_bundle(Path(place, "bundle"), {key: rows for key, rows in table.items() if key != "rules"} | conditions(number, len(table["channels"])),
                     facts, findings=(), accepted={})
        program = in_bundle_words(WAITING + TURN.replace("TURNS", str(TURNS)), "core", "begin", "step", "relays", "due_in", "switches", "inputs", "regulators", "TIME")
        if narrow:
            *_, last = narrow_interpreter.run(program, folder=Path(place), beside={}, lines=["print(took)"])
        else:
            *_, last = interpreter.run(program + "print(took)", folder=Path(place))
    return int(last) / TURNS


def share(values: list[int], part: float) -> float:
    """Return the value [ms] that `part` of all do not exceed."""
    values = sorted(values)
    return values[min(len(values) - 1, int(part * len(values)))] / 1000


def main(seconds: int = HOUR) -> None:
    """Print sizes, memory in use, time of a turn on this machine, and how the switch times are spread."""
    design = design_of(JOB)
    with TemporaryDirectory() as place:
        folder = Path(place, "bundle")
        write_bundle(folder, design.plan, design.facts, findings=(), accepted={})
        sizes: dict[str, int] = {}
        compiled = 0
        for path in folder.rglob("*"):
            if path.is_file():
                part, size = path.relative_to(folder).parts[0], path.stat().st_size
                sizes[part] = sizes.get(part, 0) + size
                compiled += size * (path.suffix == ".mpy")
        starts = sorted((first_look(folder) for _ in range(5)), key=lambda start: start["took_us"])
        wide = live(folder, design.facts, seconds)
        lives = [(f"{'in place' if in_place else 'from files'}, {'with' if network else 'without'} network",
                  live(folder, design.facts, min(seconds, NARROW_S), narrow=True, network=network, in_place=in_place))
                 for in_place in (True, False) for network in (False, True)]
        lives.append(("from files, without, 64 bits", wide))
    print(f"Board, sewing room: all files of the bundle {sum(sizes.values()) / KIB:.1f} KiB of 100 KiB, compiled modules {compiled / KIB:.1f} KiB")
    print("  " + ", ".join(f"{name} {size / KIB:.1f}" for name, size in sorted(sizes.items(), key=lambda item: -item[1])))
    print(f"  memory in use through {seconds / 60:.0f} simulated minutes with 64 bits, {min(seconds, NARROW_S) / 60:.0f} with 32, of 64 KiB:")
    for name, found in lives:
        weighed = found["weighed"]
        print(f"    {name:<30} at the end {weighed[-1] / KIB:5.1f} KiB, first {weighed[0] / KIB:5.1f}, most {max(weighed) / KIB:5.1f}")
    for bits, narrow in ((64, False), (32, True)):
        none, *more = rule_memory(design.plan, design.facts, narrow=narrow).items()
        (first, one), (last, many) = more[0], more[-1]
        print(f"  memory of rules with {bits} bits: {one - none[1]} B for the module and {first} channel with a limit and a stay, "
              f"{(many - one) / max(1, last - first):.0f} B for each more")
        waiting = condition_memory(design.plan, design.facts, narrow=narrow)
        print(f"    that wait: {waiting['one'] - waiting['none']} B for the module and the first with a reading, "
              f"{(waiting['thirty'] - waiting['one']) / 29:.0f} B for each more, {waiting['reader'] - waiting['thirty']} B for what takes the sensors' readings")
        told = input_memory(design.plan, design.facts, narrow=narrow)
        each = (told[MANY_INPUTS] - told[1]) / (MANY_INPUTS - 1)
        print(f"    inputs that are told: {told[1] - told[0] - each:.0f} B for the module, {each:.0f} B for each input")
        bare, many = (step_us(design.plan, design.facts, number, narrow=narrow) for number in (0, 30))
        print(f"    a step of time, {'slower here than on a board' if narrow else 'on this machine'}: {bare:.1f} us without, {many:.1f} us with 30 of them")
    start = starts[len(starts) // 2]
    print(f"  before the first look at a contact: {len(start['loaded'])} modules of {start['bytes'] / KIB:.1f} KiB loaded, "
          f"{start['took_us'] / 1000:.1f} ms on this machine (median of 5)")
    times = wide["times"]
    print(f"  a turn takes {wide['turn_us']:.1f} us on this machine, {wide['turns']:,} turns, longest gap {wide['worst_gap']} ms")
    print(f"  switch to relay, {len(times)} throws, settling time 20 ms included: median {share(times, 0.5):.1f} ms, "
          f"99 % {share(times, 0.99):.1f} ms, most {max(times) / 1000:.1f} ms")


if __name__ == "__main__":
    main()
