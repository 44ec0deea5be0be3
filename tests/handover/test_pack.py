"""The pack, read as people read it: the words of the PDF, the page on a phone. Every figure must be the design's."""

import re
import subprocess
from dataclasses import replace
from io import BytesIO

import pytest
from openpyxl import load_workbook
from playwright.sync_api import sync_playwright

from pattress.cautions import CAUTIONS, FOR_THE_HOUSEHOLD
from pattress.handover import schedules
from pattress.handover.elevation import elevation_drawings
from pattress.handover.findings_page import Table
from pattress.handover.imprint import Imprint, stopped_by
from pattress.handover.pack import pack, sheets
from pattress.handover.sheet import Section, Sheet, as_html, as_pdf
from pattress.handover.wiring import channels, finding_of, wiring_of
from pattress.pins.best import Assignment
from pattress.quantity import show

from .designs import example, outcome

CHROMIUM = "/usr/bin/chromium"      # Debian package chromium; without it these tests fail
# Test voltages and least resistances of IEC 60364-6, table 6.1, read in Bane NOR's technical rules.
INSULATION_TO_500_V = "at least 1 Mohm at 500 V DC"


NOBODYS = Imprint("Room", "0", "c0de", "", "")


@pytest.fixture(scope="module")
def files(design):
    return pack(design, *outcome_of(design), cautions=CAUTIONS)


def outcome_of(design):
    return outcome(design.job.job.title.lower().replace(" ", "-"))


def words_of(pdf):
    """Return the words of a PDF in one line: what poppler-utils reads, without breaks inside words."""
    text = subprocess.run(["pdftotext", "-raw", "-", "-"], input=pdf, capture_output=True, check=True).stdout.decode()
    return re.sub(r"\s+", "", text.replace("\u200b", ""))


def test_a_heading_and_its_words_stay_with_their_table_at_every_place_of_a_page():
    """The words before a table once stood at the foot of a page, the table on the next."""
    for lines in range(30, 44):
        filler = Section("Before", tuple(f"line {number}" for number in range(lines)))
        table = Table("", ("Step", "Do", "Expect"), (("a", "b", "c"),) * 4)
        pdf = as_pdf(Sheet("x", "title", "Lead", CAUTIONS, (filler, Section("After", ("One word.", "Another."), (table,))), NOBODYS), "a4")
        pages = subprocess.run(["pdftotext", "-layout", "-", "-"], input=pdf, capture_output=True, check=True).stdout.decode().split("\f")
        assert [("After" in page, "Another." in page) for page in pages if "Step" in page][0] == (True, True), lines


def test_the_parts_list_and_the_pins_speak_in_words(design):
    wiring = wiring_of(design)
    reasons = {row[6] for row in schedules.parts(design, wiring).table.rows}
    assert "check drive_pin.controller" in reasons and "checks sensing" in reasons and "sensing" not in reasons
    ends = {wire.name: wire.goes_to for wire in wiring.pins}
    assert all(ends[f"switch.{key}"] == f"switch {switch.name}" for key, switch in design.job.switch.items())
    assert all(ends[f"input.{key}"] == f"input {contact.name}" for key, contact in design.job.input.items())
    assert all(ends[f"regulator.{key}.1"] == f"regulator {one.name} contact 1" for key, one in design.job.regulator.items() if one.off == "no contact")


def closed_up(text):
    return re.sub(r"\s+", "", text)


def expected(design):
    """Return figures of the job and the design by the sheet that must carry them."""
    job, wiring = design.job, wiring_of(design)
    electrician = [str(job.supply.system), INSULATION_TO_500_V, outcome_of(design)[0].digest[:12]]
    builder = [f"coilatleast{closed_up(show(finding_of(design, f'drive.{key}').limit.value, 'V'))}" for key in design.chosen.relays]
    builder += [f"limit {show(finding_of(design, 'supply.controller').value.value, 'A')}", design.chosen.supply.part.designation]
    for feed in job.feed.values():
        electrician += [show(feed.device.rating, "A"), show(feed.cable.section, "m2"), show(feed.cable.length, "m")]
    for key, channel in channels(design).items():
        current = finding_of(design, f"contacts.{key}")
        electrician += [f"{show(channel.run.section, 'm2')}", f"{show(channel.run.length, 'm')}", channel.name,
                        f"about {show(current.nominal.value, 'A')}, at most {show(current.value.value, 'A')}",
                        f"at least {show(finding_of(design, f'trip.{key}').limit.value, 'A')}"]
        builder.append(f"at least {show(finding_of(design, f'track.{key}').value.value, 'm')} wide")
    builder.append(design.results["fitted"].inlet.varistor.designation)
    for relay in wiring.relays:
        builder += [relay.part] + ([show(relay.capacitor, "F")] if relay.capacitor is not None else [])
    builder += [part.value for part in design.circuit.components if part.name in ("damping", "bleed", "snubber")]
    if isinstance(design.pins, Assignment):
        builder += [f"{placed.pin.label}{placed.pin.gpio}{placed.demand.name}" for placed in design.pins.pins]
    return {"electrician": electrician, "builder": builder, "calculation": list(reported(design, *outcome_of(design)))}


def reported(design, proof, rehearsal):
    """Yield what the calculation report must say of every finding, of the proof and of the rehearsal."""
    for finding in design.findings:
        yield f"{finding.question} [{finding.id}]"
        yield from (finding.formula, finding.corner, finding.covers_not, *finding.change, *map(str, finding.sources))
        for figure, before in ((finding.value, ""), (finding.limit, f"{finding.sense} "), (finding.nominal, "nominal ")):
            if figure is not None:
                yield before + show(figure.value, figure.unit)
        for given in finding.inputs:
            yield f"{given.name} = {given.figure if isinstance(given.figure, str) else show(given.figure.value, given.figure.unit)} ({given.origin}"
        if finding.value and finding.limit and finding.limit.value:
            share = finding.value.value / finding.limit.value
            margin = 1 - share if finding.sense == "at most" else share - 1
            yield "margin ample" if margin >= 9 else f"margin {100 * margin:+.0f} %"
        yield from (assumption.measure for assumption in finding.assumptions)
    for verdict in ("holds", "tight", "unknown", "fails"):
        if count := sum(str(finding.verdict) == verdict for finding in design.findings):
            yield f"{count} {verdict}"
    yield from (f"{key}{design.job.accept[key].reason}" for key in design.accepted)
    yield f"{proof.states} states, {proof.transitions} transitions, {len(proof.parts)} parts; program and plan {proof.digest}"
    yield from (f"{part.name}{part.states}{part.transitions}" for part in proof.parts)
    yield from (prop.sentence for prop in proof.properties)
    for day in rehearsal.days:
        yield f"{day.title}{day.facts.events}{day.facts.response(0.5)} ms{day.facts.response(1.0)} ms{sum(day.facts.closings)}{day.facts.saves}"


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_pdf_carries_the_figures_of_the_design(design, files, paper):
    for sheet, figures in expected(design).items():
        text = words_of(files[f"sheets/{sheet}-{paper}.pdf"])
        assert [figure for figure in figures if closed_up(figure) not in text] == []


def test_pdf_and_html_of_a_sheet_say_the_same_words(design, files):
    for sheet in sheets(design, *outcome_of(design), cautions=CAUTIONS):
        text = words_of(files[f"sheets/{sheet.name}-a4.pdf"])
        for section in sheet.sections:
            cells = [cell for table in section.tables for row in table.rows for cell in row]
            assert [words for words in (*section.words, *cells) if closed_up(words) not in text] == []


def test_the_same_design_gives_the_same_bytes():
    design = example("sewing-room")
    again = pack(design, *outcome_of(design), cautions=CAUTIONS)
    assert pack(design, *outcome_of(design), cautions=CAUTIONS) == again


def test_the_report_says_on_its_first_page_what_was_taken_and_how_it_ended(design, files):
    first = subprocess.run(["pdftotext", "-raw", "-l", "1", "-", "-"], input=files["sheets/calculation-a4.pdf"], capture_output=True, check=True).stdout.decode()
    text = closed_up(first.replace("\u200b", ""))
    assert f"{len(design.findings)}checks" in text and closed_up(outcome_of(design)[0].digest) in text
    unknown = next(assumption for finding in design.findings for assumption in finding.assumptions)
    assert closed_up(unknown.measure) in text


def test_the_papers_have_their_size_and_the_household_gets_one_page_of_words(design, files):
    walls = len(elevation_drawings(design))
    for paper, size in (("a4", "595.276 x 841.89"), ("letter", "612 x 792")):
        told = subprocess.run(["pdfinfo", "-"], input=files[f"sheets/household-{paper}.pdf"], capture_output=True, check=True).stdout.decode()
        words = 2 if stopped_by(design, None) and paper == "letter" and len(channels(design)) > 8 else 1      # the reason at the head takes room
        assert f"{size} pts" in told and f"Pages:           {words + walls}\n" in told


def test_every_page_of_a_sheet_bears_the_title_block(design, files):
    """Job, sheet and number, who drew it, codes; the circuit diagrams have a block of their own."""
    proof, _ = outcome_of(design)
    for number, name in enumerate(("electrician", "builder", "calculation", "household", "labels"), 1):
        pages = subprocess.run(["pdftotext", "-raw", "-", "-"], input=files[f"sheets/{name}-a4.pdf"], capture_output=True, check=True).stdout.decode().split("\f")[:-1]
        for page, text in enumerate(map(closed_up, pages), 1):
            if "Circuitdiagram" not in text or "Checked" not in text or f"{number}of5," in text:
                asked = (f"{number} of 5", f"{page} of {len(pages)}", "Drawn by", "Checked by", "Scale", design.identity, proof.digest[:12], design.job.job.title, "not issued")
                assert [words for words in asked if closed_up(words) not in text] == [], (name, page)
        assert design.identity in files[f"sheets/{name}.html"] and f"<dd>{number} of 5, " in files[f"sheets/{name}.html"]


def test_the_list_of_sheets_names_all_of_them_and_terminals_say_where_they_are_drawn(design, files):
    written = sheets(design, *outcome_of(design), cautions=CAUTIONS)
    drawn = [one for sheet in written for section in sheet.sections if section.heading == "Circuit diagrams" for one in section.drawings]
    listed = next(section for section in written[0].sections if section.heading == "Sheets of this pack").tables[0].rows
    assert [row[0] for row in listed] == [*(f"{sheet.number} of {sheet.of}" for sheet in written), *(f"{one.sheet.number} of {one.sheet.of}" for one in drawn)]
    terminals = next(section for section in written[1].sections if section.heading == "Terminals").tables[0]
    place = terminals.head.index("Diagram")
    for row in terminals.rows:
        number, _, zone = row[place].partition("/")
        assert re.fullmatch("[A-D][1-6]", zone) and f">{row[0]}<" in drawn[int(number) - 1].svg()


def test_the_workbook_holds_every_schedule_as_the_csv_does_and_says_whose_it_is(design, files):
    book = load_workbook(BytesIO(files["schedules/schedules.xlsx"]))
    assert dict(book["about"].iter_rows(min_row=2, values_only=True))["Job and design"] == design.identity
    for name, schedule in schedules.schedules(design, wiring_of(design)).items():
        leaf = schedule.leaf(name)
        head, *rows = book[name].iter_rows(values_only=True)
        assert head == leaf.head and len(rows) == len(leaf.rows) > 0
        assert all(cell == (pytest.approx(asked) if isinstance(asked, float) else asked) for row, told in zip(leaf.rows, rows) for asked, cell in zip(row, told)), name


def test_every_sheet_bears_the_cautions(files):
    for place, content in files.items():
        told = FOR_THE_HOUSEHOLD if "household" in place else CAUTIONS
        if place.endswith(".pdf"):
            assert all(closed_up(caution) in words_of(content) for caution in told), place
        elif place.endswith(".html"):
            assert all(caution.replace("'", "&#39;") in content for caution in told), place


def test_test_sheets_have_a_blank_box_in_every_row(design):
    electrician = next(sheet for sheet in sheets(design, *outcome_of(design), cautions=CAUTIONS) if sheet.name == "electrician")
    tables = [table for section in electrician.sections for table in section.tables]
    blank = {"Found": 2, "Reading": 3, "In order": 1}            # by a word of the head, how many boxes each row ends with
    boxed = {word: [table for table in tables if word in table.head] for word in blank}
    assert {word: len(some) for word, some in boxed.items()} == {"Found": 1, "Reading": 5, "In order": 1}
    for word, some in boxed.items():
        assert all(row[-blank[word]:] == ("",) * blank[word] and all(row[:-blank[word]]) for table in some for row in table.rows)


def test_every_way_of_acting_is_tried_on_every_channel_it_acts_on(design):
    electrician = next(sheet for sheet in sheets(design, *outcome_of(design), cautions=CAUTIONS) if sheet.name == "electrician")
    rows = {row[:2] for section in electrician.sections if section.heading.startswith("Functions") for row in section.tables[0].rows}
    names = {key: channel.name for key, channel in channels(design).items()}
    for switch in design.job.switch.values():
        for action in switch.does:
            for key in names if action.things == ("everything",) else action.things:
                assert (f"switch {switch.name}", names[key]) in rows
    assert {("power cut of 10 s, while on", name) for name in names.values()} <= rows


def test_words_are_never_markup():
    hostile = "#panic() $x$ *y* <script> \\ ` @"
    sheet = Sheet("x", hostile, hostile, (hostile,), (Section(hostile, (hostile,)),), replace(NOBODYS, job=hostile))
    assert words_of(as_pdf(sheet, "a4")).count(closed_up(hostile)) >= 5


@pytest.mark.parametrize("width", [360, 1200])
def test_the_pages_fit_the_screen_and_ask_nothing_of_the_network(tmp_path, width):
    written = sheets(example("sewing-room"), *outcome("sewing-room"), cautions=CAUTIONS)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox", "--disable-gpu"])
        for sheet in written:
            file = tmp_path / "sheet.html"
            file.write_text(as_html(sheet), "utf-8")
            page, asked = browser.new_page(viewport={"width": width, "height": 800}), []
            page.on("request", lambda request: asked.append(request.url))
            page.goto(file.as_uri())
            assert page.evaluate("document.documentElement.scrollWidth") <= width, sheet.name
            assert asked == [file.as_uri()]
            assert page.eval_on_selector_all("[id]", "all => all.length === new Set(all.map(one => one.id)).size")
            page.close()
        browser.close()


def test_the_household_reads_no_word_of_the_trade(design):
    """None of these is a household's word; what a name of the home says is its owner's business."""
    sheet = next(sheet for sheet in sheets(design, *outcome_of(design), cautions=CAUTIONS) if sheet.name == "household")
    said = " ".join((*sheet.cautions, *(words for section in sheet.sections for words in section.words),
                     *(cell for section in sheet.sections for table in section.tables for row in table.rows for cell in row),
                     *(label.words for section in sheet.sections for drawing in section.drawings for label in drawing.labels)))
    trade = ("verdict", "extra-low", "isolation", "LED driver", "resistive", "ballast", "gang", "latching", "retractive", "channel", "feed ", "RCD", "snapshot", "toggle", "V AC")
    assert [word for word in trade if word in said] == []
    assert all(caution in said for caution in FOR_THE_HOUSEHOLD) and "Mains can kill" in said
