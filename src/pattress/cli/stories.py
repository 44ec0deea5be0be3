"""Stories of the proof at the terminal: written out as regression tests, and lived again."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from pattress.atomic_write import write_atomically
from pattress.cli.terminal import A_CHECK_FAILS, ALL_HOLDS, print_json, say
from pattress.design import Design, design_of
from pattress.stock.own import Own

if TYPE_CHECKING:
    from pattress.proof import Proof, Story
    from pattress.rehearsal.retelling import Told


def export(design: Design, proof: "Proof", folder: Path) -> Sequence[Path]:
    """Write each story of a proof as test, plan with events, and picture. Return the files."""
    from pattress.rehearsal.regression import regression

    files = []
    for prop in proof.failed:
        if prop.story:
            for name, content in regression(_told(design, prop.story)).items():
                files.append(folder / name)
                write_atomically(files[-1], content)
    return files


def retell(job: Path, own: Own, file: Path, *, as_json: bool) -> int:
    """Live a story again under a job's plan and print what comes of it."""
    from pattress.rehearsal.retelling import read_story
    from pattress.rehearsal.retelling import retell as lived
    from pattress.rehearsal.storyline import storyline

    read = read_story(file)
    story = read.story
    told = read.under(_told(design_of(job, own), story))
    found = lived(told)
    as_told = found.relays == tuple(step.relays for step in story.steps)
    if as_json:
        print_json({"story": str(file), "property": story.property_id, "sentence": told.sentence, "holds": found.holds,
                    "failure": found.failure or None, "difference": found.difference or None,
                    "relays": list(found.relays), "relays_as_told": as_told})
        return ALL_HOLDS if found.holds else A_CHECK_FAILS
    say(storyline(story, told.table))
    say("\nLived again: the relays do what was told." if as_told else "\nLived again: the relays no longer do what was told.")
    say(f"CPython and MicroPython answer differently: {found.difference}" if found.difference
        else "CPython and MicroPython answer alike.")
    say(f"fails    {told.sentence}\n         {found.failure}" if found.failure else f"holds    {told.sentence}")
    return ALL_HOLDS if found.holds else A_CHECK_FAILS


def _told(design: Design, story: "Story") -> "Told":
    from pattress.rehearsal.retelling import Told

    return Told(story, design.plan, design.wishes, design.job.network.wifi)
