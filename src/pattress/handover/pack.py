"""The pack: every sheet, drawing and schedule of a design, as files by their place in a folder."""

from collections.abc import Mapping

from pattress.cautions import FOR_THE_HOUSEHOLD
from pattress.design import Design
from pattress.design.prices import Prices
from pattress.drawing import Medium
from pattress.handover import commissioning, site_tests
from pattress.handover.calculation import calculation, opening
from pattress.handover.elevation import HOME, elevation_drawings
from pattress.handover.findings_page import Table
from pattress.handover.household import household, labels
from pattress.handover.imprint import Imprint, imprint_of
from pattress.handover.issues import Issue
from pattress.handover.schedule import Schedule
from pattress.handover.schedules import idle_prices, schedules
from pattress.handover.schematics import Diagram, diagrams
from pattress.handover.sheet import Drawn, Section, Sheet, as_files, svg_of
from pattress.handover.single_line import single_line
from pattress.handover.things import failing
from pattress.handover.wiring import Wiring, wiring_of
from pattress.proof import Proof
from pattress.rehearsal.rehearse import Rehearsal
from pattress.spreadsheet import Leaf, as_csv, as_workbook

# Each sheet by the name of its file: for whom, and what it is for.
SHEETS = {
    "electrician": ("for the electrician", "What is fed, protected, run and tested on site."),
    "builder": ("for the builder", "What to buy, how to wire it, and what to try on the bench."),
    "calculation": ("for the engineer", "Every figure that decides something, to be checked."),
    "household": ("for the household", "Keep this page by the distribution board."),
    "labels": ("labels", "Print, cut and stick. No secret is on this sheet."),
}
DRAWN_AT = "Diagram: number of the circuit diagram in the builder's sheet, and the zone of its frame."
WIRES = ("Every joint of two pins, net by net. A bridge joins terminals side by side; what is on the board is a track, or a wire of that section.",
         "Sections at mains are those of the feed, since its device protects them. Lengths are half of the box's width and height.")
AT_LOW = "DC volts against 0 V, black lead there; the healthy reading first, then the band in which nothing is wrong. Nothing at mains is connected."
AT_MAINS = "LIVE. AC volts against the neutral of the same feed, with a meter of low impedance; box open, a second person by."


def sheets(design: Design, proof: Proof, rehearsal: Rehearsal, *, cautions: tuple[str, ...], prices: Prices | None = None,
           issues: tuple[Issue, ...] = ()) -> tuple[Sheet, ...]:
    """Return the sheets for electrician, builder, engineer and household, and the labels."""
    wiring = wiring_of(design)
    tables = {name: schedule.table for name, schedule in schedules(design, wiring, prices).items()}
    idle = idle_prices(design, wiring, prices)
    bought = (f"Prices that no line of this list uses: {', '.join(idle)}.",) if idle else ()
    imprint = imprint_of(design, proof, issues)
    colours = (wiring.colours.note, "Colours tell the plan, not the truth: older wiring differs. Prove what every conductor is, with a tester.")
    drawn = diagrams(design, imprint)
    walls = Section("Walls", (), (), elevation_drawings(design, marks=failing(design), cautions=cautions))
    whole = (_list_of_sheets(drawn), *_revisions(issues))

    def sheet(name: str, *sections: Section) -> Sheet:
        reader, lead = SHEETS[name]
        return Sheet(name, reader, lead, FOR_THE_HOUSEHOLD if name == "household" else cautions, sections, imprint, list(SHEETS).index(name) + 1, len(SHEETS))

    return (
        sheet("electrician", *opening(design, keys=False),
              Section("Single-line diagram", (), (), single_line(design, wiring, cautions)), walls,
              Section("Cables", colours, (tables["cables"],)), Section("Terminals", (DRAWN_AT,), (tables["terminals"],)),
              site_tests.inspection(design, wiring), site_tests.dead(design, wiring), *site_tests.live(design, wiring),
              Section("Test points at mains, for whoever looks for a fault", (site_tests.WHO, AT_MAINS), (tables["test-points-live"],)), commissioning.functions(design), *whole),
        sheet("builder", *opening(design),
              Section("Circuit diagrams", (), (), drawn), walls,
              Section("Parts list", bought, (tables["parts"],)), Section("Pins", (), (tables["pins"],)),
              Section("Relays and their settings", (), (tables["relays"],)), Section("Terminals", (*colours, DRAWN_AT), (tables["terminals"],)),
              Section("Wires in the box", WIRES, (tables["wires"],)),
              Section("Rules for a board layout", (), (tables["board-rules"],)), commissioning.bench(design, wiring), Section("Test points at extra-low voltage", (AT_LOW,), (tables["test-points"],)), *whole),
        sheet("calculation", *calculation(design, proof, rehearsal), *whole),
        sheet("household", *household(design), Section("Walls", (), (), elevation_drawings(design, cautions=FOR_THE_HOUSEHOLD, medium=HOME))),
        sheet("labels", *labels(design)),
    )


def _list_of_sheets(drawn: tuple[Diagram, ...]) -> Section:
    rows = [(f"{number} of {len(SHEETS)}", reader, lead) for number, (reader, lead) in enumerate(SHEETS.values(), 1)]
    rows += [(f"{one.sheet.number} of {one.sheet.of}", "circuit diagram, in the builder's sheet", one.sheet.title) for one in drawn]
    return Section("Sheets of this pack", (), (Table("", ("Number", "Sheet", "What is on it"), tuple(rows)),))


def _revisions(issues: tuple[Issue, ...]) -> tuple[Section, ...]:
    """Return the table of revisions, nothing for a pack that was never issued."""
    rows = tuple((issue.revision, issue.date, issue.reason, issue.moved or "first issue", issue.design) for issue in reversed(issues))
    return (Section("Revisions", (), (Table("", ("Revision", "Date", "Reason", "What moved", "Job and design"), rows),)),) if rows else ()


def pack(design: Design, proof: Proof, rehearsal: Rehearsal, *, cautions: tuple[str, ...], prices: Prices | None = None,
         issues: tuple[Issue, ...] = ()) -> dict[str, str | bytes]:
    """Return the content of every file of the pack by its path in the results folder; prices of parts are a person's own."""
    wiring, imprint = wiring_of(design), imprint_of(design, proof, issues)
    listed = schedules(design, wiring, prices)
    files: dict[str, str | bytes] = {}
    for sheet in sheets(design, proof, rehearsal, cautions=cautions, prices=prices, issues=issues):
        files |= as_files(sheet)
    leaves = [Leaf("about", ("What", "As of this pack"), tuple((what, words or None) for what, words in (*imprint.block("schedules"), ("Why not", imprint.stopped)))),
              *(schedule.leaf(name) for name, schedule in listed.items())]
    return files | drawings_and_schedules(design, wiring, listed, cautions, imprint=imprint) | {"schedules/schedules.xlsx": as_workbook(imprint.job, leaves)}


def drawings_and_schedules(design: Design, wiring: Wiring, listed: Mapping[str, Schedule], cautions: tuple[str, ...], *, imprint: Imprint) -> dict[str, str]:
    """Return the content of every drawing and every schedule by its path in the results folder."""
    leaves = [schedule.leaf(name) for name, schedule in listed.items()]
    files = {f"schedules/{leaf.name}.csv": as_csv(leaf.head, leaf.rows) for leaf in leaves}
    drawn: tuple[tuple[str, tuple[Drawn, ...]], ...] = (
        ("single-line", single_line(design, wiring, cautions)), ("circuit", diagrams(design, imprint)), ("wall", elevation_drawings(design, marks=failing(design), cautions=cautions)))
    for name, drawings in drawn:
        files |= {f"drawings/{name}-{number}.svg": svg_of(drawing, imprint.stopped, Medium.FILE) for number, drawing in enumerate(drawings)}
    return files
