"""`pattress fan`: the fans of a job looked at closely."""

from pathlib import Path
from typing import TYPE_CHECKING

from pattress.atomic_write import write_inside
from pattress.cli import text
from pattress.cli.plain import plain
from pattress.cli.results import results_folder
from pattress.cli.terminal import ALL_HOLDS, print_json, progress_line, say
from pattress.design import design_of
from pattress.designators import channel_designators
from pattress.errors import UseError
from pattress.stock.own import Own

if TYPE_CHECKING:
    from pattress.fan.report import Sheet


def look(job: Path, wanted: str | None, own: Own, out: Path | None, *, samples: int, seed: int, as_json: bool) -> int:
    """Print the tables of every fan, or of one, and draw its pictures."""
    from pattress.fan.design import FittedFan
    from pattress.fan.report import drawings, sampled, sheets

    design = design_of(job, own)
    designs = design.results["fan_designs"]
    if wanted is not None and wanted not in designs:
        raise UseError(f"there is no fan {wanted!r} in this job\n  allowed: {', '.join(designs) or 'none, the job has no fan'}")
    found: dict[str, tuple[str, str, tuple[Sheet, ...], tuple[Path, ...]]] = {}
    for key in [wanted] if wanted else designs:
        fan, one = design.job.fan[key], designs[key]
        if not isinstance(one, FittedFan):
            found[key] = (fan.name, one.problem or "only switched: one step, straight through", (), ())
            continue
        marks, progress = channel_designators(design.plan, key), progress_line(as_json)
        outcome = sampled(one, samples=samples, seed=seed, progress=lambda done, of: progress(f"{fan.name}: {done} of {of} samples")) if samples else None
        folder = results_folder(job, out)
        drawn = [write_inside(folder, f"fan-{key}-{name}.svg", picture.svg()) for name, picture in drawings(one, marks, outcome).items()]
        found[key] = (fan.name, "", sheets(one, marks, outcome), tuple(drawn))
    if as_json:
        print_json({key: {"name": name, "note": note, "tables": plain(tables), "files": [str(file) for file in files]}
                    for key, (name, note, tables, files) in found.items()})
        return ALL_HOLDS
    for key, (name, note, tables, files) in found.items():
        say(f"{name} [fan.{key}]")
        if note:
            say(f"  {note}")
        for sheet in tables:
            say(f"\n{sheet.title}\n{text.table(sheet.head, sheet.rows)}")
        for file in files:
            say(f"drawn: {file}")
    return ALL_HOLDS
