"""What a board carries and how it lives: size of the bundle, memory, and the time from a switch to its relay.

All of it under the board's interpreter on this machine, in virtual time; no board was there.
Numbers are twice as wide here as on a board, so the memory is an upper bound.
"""

import json
import shutil
from pathlib import Path
from tempfile import TemporaryDirectory

from pattress.bundle import write_bundle
from pattress.controller import interpreter
from pattress.design import design_of

JOB = Path("examples/sewing-room/job.toml")
DRIVERS = Path(__file__).parents[1] / "controller" / "drivers"
HOUR, KIB = 3600, 1024


def live(folder: Path, facts: dict, seconds: int) -> dict:
    """Let a bundle live on a simulated board; return what `hour.py` found."""
    with TemporaryDirectory() as place:
        flash = Path(place)
        shutil.copytree(folder, flash / "a")
        shutil.copyfile(folder / "root" / "start.mpy", flash / "start.mpy")
        pins = facts["pins"]
        asked = {"seconds": seconds, "seed": 7, "infrared": pins["infrared"], "switch": pins["switch.door_right"],
                 "relay": pins["relay.wall"]}
        program = (DRIVERS / "hour.py").read_text("utf-8").replace("VIRTUAL", repr(str(DRIVERS / "virtual")))
        *_, last = interpreter.run(program, folder=flash, lines=[json.dumps(asked)])
    return json.loads(last)


def share(values: list[int], part: float) -> float:
    """Return the value [ms] that `part` of all do not exceed."""
    values = sorted(values)
    return values[min(len(values) - 1, int(part * len(values)))] / 1000


def main(seconds: int = HOUR) -> None:
    """Print sizes, memory in use, time of a turn on this machine, and how the switch times are spread."""
    design = design_of(JOB)
    facts = design.facts | {"sensors": {"room": {"name": "Room", "kind": "22 class"}}}
    with TemporaryDirectory() as place:
        folder = Path(place, "bundle")
        write_bundle(folder, design.plan, facts, findings=(), accepted={})
        sizes: dict[str, int] = {}
        for path in folder.rglob("*"):
            if path.is_file():
                part = path.relative_to(folder).parts[0]
                sizes[part] = sizes.get(part, 0) + path.stat().st_size
        found = live(folder, facts, seconds)
    print(f"Board, sewing room: bundle {sum(sizes.values()) / KIB:.1f} KiB of 100 KiB")
    print("  " + ", ".join(f"{name} {size / KIB:.1f}" for name, size in sorted(sizes.items(), key=lambda item: -item[1])))
    weighed, times = found["weighed"], found["times"]
    print(f"  memory in use after {seconds / 60:.0f} simulated minutes, without the network: {weighed[-1] / KIB:.1f} KiB of 64 KiB "
          f"(64-bit numbers; first {weighed[0] / KIB:.1f}, most {max(weighed) / KIB:.1f})")
    print(f"  a turn takes {found['turn_us']:.1f} us on this machine, {found['turns']:,} turns, longest gap {found['worst_gap']} ms")
    print(f"  switch to relay, {len(times)} throws, settling time 20 ms included: median {share(times, 0.5):.1f} ms, "
          f"99 % {share(times, 0.99):.1f} ms, most {max(times) / 1000:.1f} ms")


if __name__ == "__main__":
    main()
