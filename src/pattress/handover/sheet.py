"""A sheet for one reader: headings, words, tables and drawings, printed alike as HTML and as PDF.

PDF is set by typst with the fonts it carries, so the same sheet gives the same bytes. Names in
letters those fonts lack are set with the fonts of the machine.
"""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from json import dumps
from typing import Any, Protocol

from markupsafe import Markup

from pattress.drawing.look import Medium
from pattress.drawing.stamp import stamped
from pattress.handover import templates
from pattress.handover.findings_page import Table
from pattress.handover.imprint import STOP, Imprint
from pattress.handover.schematics import Diagram
from pattress.quantity import unbroken

PAPERS = {"a4": "a4", "letter": "us-letter"}
SMALL, LABEL_UNIT = 600.0, 0.25  # a drawing narrower than so many units stands among the words, with so many mm for each
BEYOND_THE_FONTS = 0x0530        # first letter after Latin, Greek and Cyrillic


class Drawn(Protocol):
    """What a sheet prints as a picture."""

    @property
    def title(self) -> str: ...
    @property
    def width(self) -> float: ...
    @property
    def height(self) -> float: ...
    def svg(self, medium: Medium = Medium.FILE) -> str: ...


@dataclass(frozen=True, slots=True)
class Section:
    """A heading with words, tables and drawings under it."""

    heading: str
    words: tuple[str, ...] = ()
    tables: tuple[Table, ...] = ()
    drawings: tuple[Drawn, ...] = ()


@dataclass(frozen=True, slots=True)
class Sheet:
    """What one reader takes along, one of so many of its pack."""

    name: str
    reader: str
    lead: str
    cautions: tuple[str, ...]
    sections: tuple[Section, ...]
    imprint: Imprint
    number: int = 1
    of: int = 1

    @property
    def title(self) -> str:
        """Return what stands at its head."""
        return f"{self.imprint.job}: {self.reader}"

    @property
    def stopped(self) -> str:
        """Return why it must not be built from, "" where it may."""
        return self.imprint.stopped

    @property
    def block(self) -> tuple[tuple[str, str], ...]:
        """Return the fields of its title block."""
        return self.imprint.block(f"{self.number} of {self.of}, {self.reader}")


def as_html(sheet: Sheet) -> str:
    """Return a sheet as HTML that needs nothing from outside."""
    return templates.render("sheet.html", sheet=sheet, is_small=is_small, svg_of=lambda drawing: Markup(svg_of(drawing, sheet.stopped)))


def svg_of(drawing: Drawn, stopped: str, medium: Medium = Medium.PAPER) -> str:
    """Return a drawing as SVG, with the stop mark across it where its design may not be built."""
    return stamped(drawing.svg(medium), STOP) if stopped else drawing.svg(medium)


def is_small(drawing: Drawn) -> bool:
    """Return whether a drawing stands among the words instead of on a page of its own."""
    return drawing.width < SMALL and not isinstance(drawing, Diagram)


def as_pdf(sheet: Sheet, paper: str) -> bytes:
    """Return a sheet as PDF on "a4" or "letter"."""
    import typst

    text = dumps(_plain(sheet), ensure_ascii=False)
    return typst.compile(
        _template(), sys_inputs={"sheet": text, "paper": PAPERS[paper]},
        ignore_system_fonts=all(ord(letter) < BEYOND_THE_FONTS or letter in "–—‘’“”…−Ω" for letter in text),
    )


def as_files(sheet: Sheet) -> dict[str, str | bytes]:
    """Return a sheet in all its forms by their path in the results folder; papers are set side by side, which typst allows."""
    with ThreadPoolExecutor(len(PAPERS)) as setters:
        set_on = setters.map(lambda paper: as_pdf(sheet, paper), PAPERS)
        return {f"sheets/{sheet.name}.html": as_html(sheet), **{f"sheets/{sheet.name}-{paper}.pdf": pdf for paper, pdf in zip(PAPERS, set_on)}}


def _plain(sheet: Sheet) -> dict[str, Any]:
    return {
        "title": sheet.title, "lead": sheet.lead, "cautions": sheet.cautions, "block": sheet.block, "stopped": sheet.stopped, "stop": STOP,
        "sections": [{
            "heading": section.heading, "words": [unbroken(words) for words in section.words],
            "tables": [{"caption": table.caption, "head": table.head, "rows": [[unbroken(cell) for cell in row] for row in table.rows]} for table in section.tables],
            "drawings": [{"svg": svg_of(drawing, sheet.stopped if is_small(drawing) else ""), "title": drawing.title, "level": drawing.width > drawing.height, "framed": isinstance(drawing, Diagram),
                          "millimetres": drawing.width * LABEL_UNIT if is_small(drawing) else 0} for drawing in section.drawings],
        } for section in sheet.sections],
    }


@cache
def _template() -> bytes:
    return files(__package__).joinpath("templates/sheet.typ").read_bytes()
