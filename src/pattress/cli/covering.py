"""What a proof never went through, printed: by what the job lacks, and in full where nothing explains it."""

from pathlib import Path
from typing import TYPE_CHECKING

from pattress.cli import text
from pattress.cli.terminal import A_CHECK_FAILS, ALL_HOLDS, print_json, progress_line, say
from pattress.design import design_of
from pattress.plural import counted
from pattress.stock.own import Own

if TYPE_CHECKING:
    from pattress.proof.instrumented.coverage import Coverage, NeverGone


def cover(job: Path, own: Own, *, as_json: bool) -> int:
    """Prove the control program under a job's plan and print what of it the proof never went through."""
    from pattress.proof.instrumented.coverage import cover as covered_by

    design, progress = design_of(job, own), progress_line(as_json)
    found = covered_by(design.plan, progress=lambda part: progress(f"proof {part}"), wishes=design.wishes, has_network=design.job.network.wifi)
    if as_json:
        print_json(found.to_json())
    else:
        say(_told(found))
    return ALL_HOLDS if found.proof.holds and not found.unexplained else A_CHECK_FAILS


def _told(found: "Coverage") -> str:
    lines = []
    for because in dict.fromkeys(one.because for one in found.never if one.because):
        ways = [one for one in found.never if one.because == because]
        lines.append(f"{because}: {counted(len(ways), 'way')} not gone")
        lines += text.wrapped(_places(ways))
    if found.unexplained:
        lines += ["", "Not explained by anything that the job lacks; either it can never happen, or the exploration is too narrow:"]
        lines += [f"  {one}" for one in found.unexplained]
    return "\n".join([*lines, "", found.summary, found.proof.summary])


def _places(ways: "list[NeverGone]") -> str:
    """Return the lines of each file in which some way was not gone."""
    files = dict.fromkeys(one.condition.file for one in ways)
    numbers = {file: sorted({one.condition.line for one in ways if one.condition.file == file}) for file in files}
    return "; ".join(f"{file} line{'s' if len(found) > 1 else ''} {', '.join(map(str, found))}" for file, found in numbers.items())
