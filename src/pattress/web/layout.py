"""What stands around every sheet: title, tally, way back, trouble with the file."""

from dataclasses import dataclass

from pattress.design.tally import Tally, tally_of
from pattress.web.draft import state_of
from pattress.web.program.proving import proof_of
from pattress.web.sheet import Asked


@dataclass(frozen=True, slots=True)
class Layout:
    """The frame of a sheet, as printed."""

    title: str
    file: str
    version: str                              # of the job file; a post names the one it was typed over
    state: str                                # of what is printed here; a tab loads anew once the draft's is another
    address: str                              # of this sheet, to post to
    sheets: tuple[tuple[str, str], ...]       # address and word of each sheet that is listed
    tally: Tally
    can_undo: bool
    can_redo: bool
    said: str                                 # what the last action did or why it was refused
    trouble: str                              # what is wrong with the file as it stands; the page shows the last good text


def layout_of(asked: Asked, address: str, said: str, sheets: tuple[tuple[str, str], ...]) -> Layout:
    """Return the frame around a sheet."""
    draft, design, trouble = asked.draft, asked.design, asked.draft.trouble
    return Layout(
        title=design.job.job.title, file=draft.file.name, version=asked.version.digest, state=state_of(asked.version, trouble), address=address, sheets=sheets,
        tally=tally_of(design, proof_of(asked)), can_undo=draft.can_undo, can_redo=draft.can_redo, said=said,
        trouble=str(trouble or ""),
    )
