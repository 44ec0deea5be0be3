"""The hand-over documents: made in a process of their own, viewed and downloaded one by one."""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from html import unescape
from urllib.parse import quote

from pattress.stock.own import Own
from pattress.web.background_jobs import BackgroundJobShown, background_job_shown, background_jobs_of
from pattress.web.sheet import Asked, Document, Go, NoSuchSheet, Sheet

HAND_OVER, SEED, DAYS = "hand-over", 1, 1
WHOLE = "handover.html"
MEDIA = {"html": "text/html; charset=utf-8", "pdf": "application/pdf", "svg": "image/svg+xml", "csv": "text/csv; charset=utf-8",
         "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"}
GROUPS = {"sheets": "Sheets to print and sign", "drawings": "Drawings", "schedules": "Schedules"}
READERS = {"electrician": "For the electrician", "builder": "For the builder", "calculation": "For the engineer, every figure that decides something",
           "household": "For the household", "labels": "Labels"}


@dataclass(frozen=True, slots=True)
class Form:
    """One form of a document: what it is ("web page", "PDF, A4"), where to look at it and where to save it; `look` is "" where a browser shows none."""

    word: str
    look: str
    save: str
    size: str


@dataclass(frozen=True, slots=True)
class Paper:
    """One document in all its forms."""

    name: str
    forms: tuple[Form, ...]


@dataclass(frozen=True, slots=True)
class DocumentsSheet:
    """The documents as they stand."""

    work: BackgroundJobShown
    groups: tuple[tuple[str, tuple[Paper, ...]], ...]


def hand_over_job(tell: Callable[..., None], text: str, file: str, own: Own) -> dict[str, str | bytes]:
    """Return the content of every hand-over document of a job's text by its path; runs as a background job."""
    from pattress.cautions import CAUTIONS
    from pattress.design import boards_of, build
    from pattress.handover import page_of, render
    from pattress.handover.pack import pack
    from pattress.job import read
    from pattress.job.reading import BYTE_ORDER_MARK
    from pattress.proof import prove
    from pattress.rehearsal.rehearse import rehearse
    from pattress.stock.boards import load_boards
    from pattress.stock.parts import load_parts

    tell("sizing and pins", 0, 4)
    job, source = read(text.removeprefix(BYTE_ORDER_MARK), file)
    design = build(job, load_parts(own.parts), boards_of(job, source, load_boards(own.boards)))
    proof = prove(design.plan, progress=lambda words: tell(f"proof {words}", 1, 4), wishes=design.wishes, has_network=job.network.wifi)
    rehearsal = rehearse(design.plan, seed=SEED, days=DAYS, progress=lambda done, of, title: tell(f"rehearsal {title}", 2, 4))
    tell("writing the documents", 3, 4)
    return {WHOLE: render(page_of(design, proof, rehearsal, cautions=CAUTIONS))} | pack(design, proof, rehearsal, cautions=CAUTIONS)


def view(asked: Asked) -> DocumentsSheet:
    """Return the documents as they stand."""
    work = background_jobs_of(asked.draft).of(HAND_OVER)
    return DocumentsSheet(background_job_shown(work, HAND_OVER, asked.version), groups(work.outcome) if work and work.outcome else ())


def view_document(asked: Asked) -> Document:
    """Return one document, as it was made; raises NoSuchSheet."""
    work = background_jobs_of(asked.draft).of(HAND_OVER)
    found = (work.outcome or {}).get(asked.place["document"]) if work else None
    if found is None:
        raise NoSuchSheet("There is no such document. Make the documents, and look at their list.")
    name = asked.place["document"].replace("/", "-")
    content = found.encode() if isinstance(found, str) else found
    return Document(f"{asked.draft.file.stem}-{name}", MEDIA.get(name.rpartition(".")[2], "application/octet-stream"), content, "save" in asked.query)


def make(asked: Asked) -> Go:
    """Begin to make the documents of the job as it is now."""
    begun = background_jobs_of(asked.draft).begin(HAND_OVER, asked.version, asked.news, hand_over_job, asked.version.text, str(asked.draft.file), asked.draft.own)
    return Go("/documents", "The documents are being made." if begun else "They are being made already.")


def stop(asked: Asked) -> Go:
    """Stop making them."""
    return Go("/documents", "Stopped." if background_jobs_of(asked.draft).stop(HAND_OVER) else "Nothing was running.")


def groups(files: Mapping[str, str | bytes]) -> tuple[tuple[str, tuple[Paper, ...]], ...]:
    """Return the documents gathered as a person looks for them."""
    found: dict[str, dict[str, list[Form]]] = {}
    for path, content in files.items():
        folder, _, file = path.rpartition("/")
        stem, _, ending = file.rpartition(".")
        name, word = _named(stem, ending)
        if ending == "svg":
            name = _title(str(content)) or name
        heading = GROUPS.get(folder, "Everything on one page")
        found.setdefault(heading, {}).setdefault(name, []).append(_form(path, word, ending, len(content)))
    return tuple((heading, tuple(Paper(name, tuple(forms)) for name, forms in papers.items())) for heading, papers in found.items())


def _title(svg: str) -> str:
    """Return what a drawing says of itself, without the job's title before it."""
    found = re.search("<title>[^<]*?: ([^<]+)</title>", svg[:2000])
    return unescape(found[1][:1].upper() + found[1][1:]) if found else ""


def _named(stem: str, ending: str) -> tuple[str, str]:
    """Return what a document and one form of it are called."""
    base, _, paper = stem.partition("-") if ending == "pdf" else (stem, "", "")
    word = {"html": "web page", "pdf": f"PDF, {paper.capitalize()}", "svg": "drawing", "csv": "table", "xlsx": "workbook"}.get(ending, ending)
    kind, _, number = base.rpartition("-")
    if number.isdecimal():                       # of several drawings of a kind, counted from 0 in the folder
        base = f"{kind} {int(number) + 1}"
    return READERS.get(base, "Findings, pins, parts, proof and a rehearsed day" if stem == "handover" else base.replace("-", " ").capitalize()), word


def _form(path: str, word: str, ending: str, size: int) -> Form:
    address = f"/documents/{quote(path)}"
    return Form(word, "" if ending in ("csv", "xlsx") else address, f"{address}?save=1", f"{-(-size // 1024)} KiB")


SHEETS = (
    Sheet("/documents", "Documents", "handing.html", view, {"make": make, "stop": stop}),
    Sheet("/documents/{document:path}", "", "", view_document),
)
