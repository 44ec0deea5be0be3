"""The pack: every sheet, drawing and schedule of a design, as files by their place in a folder."""

from pattress.design import Design
from pattress.handover import commissioning
from pattress.handover.controller_wiring import controller_wiring
from pattress.handover.details import details
from pattress.handover.elevation import elevation_drawings
from pattress.handover.household import household, labels
from pattress.handover.page import Table, program_version, unknowns
from pattress.handover.schedules import as_csv, schedules
from pattress.handover.sheet import PAPERS, Section, Sheet, as_html, as_pdf
from pattress.handover.single_line import single_line
from pattress.handover.things import failing
from pattress.handover.wiring import Wiring, wiring_of


def sheets(design: Design, *, digest: str, cautions: tuple[str, ...]) -> tuple[Sheet, ...]:
    """Return the sheets for electrician, builder and household, and the labels."""
    wiring, title = wiring_of(design), design.job.job.title
    tables = schedules(design, wiring)
    note = f"{title}. Written by pattress {program_version()}; program and plan {digest[:12]}."
    colours = (wiring.colours.note, "Colours tell the plan, not the truth: older wiring differs. Prove what every conductor is, with a tester.")
    opening = _opening(design)
    walls = Section("Walls", (), (), elevation_drawings(design, marks=failing(design), cautions=cautions))

    def sheet(name: str, reader: str, lead: str, *sections: Section) -> Sheet:
        return Sheet(name, f"{title}: {reader}", lead, cautions, sections, note)

    return (
        sheet("electrician", "for the electrician", "What is fed, protected, run and tested on site.", *opening,
              Section("Single-line diagram", (), (), (single_line(design, wiring, cautions),)), walls,
              Section("Cables", colours, (tables["cables"],)), Section("Terminals", (), (tables["terminals"],)),
              commissioning.dead(design, wiring), commissioning.live(design, wiring), commissioning.functions(design)),
        sheet("builder", "for the builder", "What to buy, how to wire it, and what to try on the bench.", *opening,
              Section("Controller wiring", (), (), (*controller_wiring(design, wiring, cautions), details(design, wiring, cautions))), walls,
              Section("Parts list", (), (tables["parts"],)), Section("Pins", (), (tables["pins"],)),
              Section("Relays and their settings", (), (tables["relays"],)), Section("Terminals", colours, (tables["terminals"],)),
              Section("Rules for a board layout", (), (tables["board-rules"],)), commissioning.bench(design, wiring)),
        sheet("household", "for the household", "Keep this page by the distribution board.", *household(design),
              Section("Walls", (), (), elevation_drawings(design, cautions=cautions))),
        sheet("labels", "labels", "Print, cut and stick. No secret is on this sheet.", *labels(design)),
    )


def pack(design: Design, *, digest: str, cautions: tuple[str, ...]) -> dict[str, str | bytes]:
    """Return the content of every file of the pack by its path in the results folder."""
    wiring = wiring_of(design)
    files: dict[str, str | bytes] = {}
    for sheet in sheets(design, digest=digest, cautions=cautions):
        files[f"sheets/{sheet.name}.html"] = as_html(sheet)
        files |= {f"sheets/{sheet.name}-{paper}.pdf": as_pdf(sheet, paper) for paper in PAPERS}
    return files | drawings_and_schedules(design, wiring, cautions)


def drawings_and_schedules(design: Design, wiring: Wiring, cautions: tuple[str, ...]) -> dict[str, str]:
    """Return the content of every drawing and every schedule by its path in the results folder."""
    files = {f"schedules/{name}.csv": as_csv(table) for name, table in schedules(design, wiring).items()}
    files["drawings/single-line.svg"] = single_line(design, wiring, cautions).svg()
    files["drawings/details.svg"] = details(design, wiring, cautions).svg()
    for name, drawings in (("controller", controller_wiring(design, wiring, cautions)),
                           ("wall", elevation_drawings(design, marks=failing(design), cautions=cautions))):
        files |= {f"drawings/{name}-{number}.svg": drawing.svg() for number, drawing in enumerate(drawings)}
    return files


def _opening(design: Design) -> tuple[Section, ...]:
    """Return what was accepted although it fails, and what is not known; nothing when there is neither."""
    accepted = tuple((key, design.job.accept[key].reason, f"{design.job.accept[key].by}, {design.job.accept[key].date}")
                     for key in sorted(design.accepted))
    unanswered = tuple((f.id, f.question, "fails") for f in design.findings if str(f.verdict) == "fails" and f.id not in design.accepted)
    open_points = tuple((a.key, a.taken, a.measure) for a in unknowns(design.findings))
    found = [
        ("Checks that fail", Table("", ("Check", "Question", "Verdict"), unanswered)),
        ("Accepted although the check fails", Table("", ("Check", "Reason", "By"), accepted)),
        ("Not known, and what would settle it", Table("", ("Not known", "Taken instead", "To settle it"), open_points)),
    ]
    return tuple(Section(heading, (), (table,)) for heading, table in found if table.rows)
