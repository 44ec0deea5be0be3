"""How long the hand-over pack of the sewing room takes: drawings, schedules, and every sheet as HTML and PDF on two papers."""

import statistics
import time
from pathlib import Path

from pattress.cautions import CAUTIONS
from pattress.design import design_of
from pattress.handover.pack import pack, sheets
from pattress.handover.sheet import as_files
from pattress.proof import prove
from pattress.rehearsal.rehearse import rehearse

ROOT = Path(__file__).parents[2]
ROUNDS = 3


def main() -> None:
    """Print the median of the whole pack, by the wall and by the processor, and of each sheet."""
    design = design_of(ROOT / "examples" / "sewing-room" / "job.toml")
    outcome = prove(design.plan), rehearse(design.plan, seed=1, days=1, micropython=False)
    taken = []
    for _ in range(ROUNDS):
        wall, processor = time.perf_counter(), time.process_time()
        files = pack(design, *outcome, cautions=CAUTIONS)
        taken.append((time.perf_counter() - wall, time.process_time() - processor))
    walls, processors = zip(*taken)
    print(f"Hand-over pack of the sewing room, median of {ROUNDS}: {statistics.median(walls):.2f} s, "
          f"of the processor {statistics.median(processors):.2f} s, {len(files)} files")
    for sheet in sheets(design, *outcome, cautions=CAUTIONS):
        begun = time.process_time()
        as_files(sheet)
        print(f"  {sheet.name:<12} {time.process_time() - begun:6.2f} s of the processor")


if __name__ == "__main__":
    main()
