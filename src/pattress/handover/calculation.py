"""The calculation report: every answer with its formula, what was put in, its source and its margin, for an engineer to check.

First what was taken without knowing, what somebody answers for, how many checks ended how, and what
was looked at and what was not; then every finding; then the proof and the rehearsal.
"""

from collections.abc import Iterator, Mapping

from pattress.design import Design
from pattress.design.tally import counts_in_words, counts_of, tally_of
from pattress.finding import Figure, Finding, Verdict, margin_words, unknowns, worst
from pattress.handover.context import names_of, rehearsed_days
from pattress.handover.findings_page import Table, line
from pattress.handover.sheet import Section
from pattress.job.model import Job
from pattress.plural import counted
from pattress.proof import Proof
from pattress.quantity import show
from pattress.rehearsal.rehearse import Rehearsal

READING = (
    "A value is that of the worst corner of everything that may vary; nominal is in the middle. The margin is the share of the limit "
    "that is left: below nothing the check fails, within a tenth of the limit it is tight, unless the question knows better.",
    "A source marked \"from memory\" was not read while the record was written; confirm it before it decides anything.",
)
NOT_PROVEN = ("Not in the proof: contacts of relays that stick, how a snapshot reaches the flash whole, drivers, radio and the interpreter, and a "
              "caller that does not tell the time before each event.")
IN_THE_HEAD = ("Question", "Nominal")
NOT_REHEARSED = "A rehearsal is a sample of days: it can find a fault and cannot show that there is none."


def calculation(design: Design, proof: Proof, rehearsal: Rehearsal) -> tuple[Section, ...]:
    """Return the sections of the report."""
    names = names_of(design.job)
    return (
        Section("How it ended", (), (_outcome(design, proof, rehearsal),)),
        *opening(design),
        Section("What was looked at, and what was left out", (NOT_PROVEN, NOT_REHEARSED), (_covered(design),)),
        Section("Every answer", READING, tuple(_answer(finding, names) for finding in design.findings)),
        Section("Proof of the control program", (f"{proof.outcome[0].upper()}{proof.outcome[1:]}; program and plan {proof.digest}.", *proof.notes,
                                                 *(text for prop in proof.failed if prop.story for text in str(prop.story).splitlines() if text.strip())),
                tuple(_proof(proof))),
        Section("Rehearsal", (f"{rehearsal.summary[0].upper()}{rehearsal.summary[1:]}.", *(f"{day}: {problem}" for day, problem in rehearsal.problems)),
                (rehearsed_days(rehearsal),)),
    )


def opening(design: Design, *, keys: bool = True) -> tuple[Section, ...]:
    """Return what fails or stops the bundle, what was accepted with who answers for it, what is tight, and what is not known; nothing when there is none of it.

    What is not known is told in words, and with `keys` by its key in the job file, too, for those who write there.
    """
    accepted = tuple((key, design.job.accept[key].reason, f"{design.job.accept[key].by}, {design.job.accept[key].date}")
                     for key in sorted(design.accepted))
    failing = tuple((finding.id, finding.question, str(finding.verdict)) for finding in design.unanswered)
    tight = tuple((finding.id, finding.question, _figures(finding)) for finding in design.findings if finding.verdict is Verdict.TIGHT)
    open_points = tuple((f"{in_words(design.job, a.key)}{f' ({a.key})' if keys else ''}", a.taken, a.measure) for a in unknowns(design.findings))
    found = [
        ("Checks that fail or stop the bundle", Table("", ("Check", "Question", "Verdict"), failing)),
        ("Accepted although the check fails or is unknown", Table("", ("Check", "Reason", "By"), accepted)),
        ("Tight: it holds with little in hand", Table("", ("Check", "Question", "Figures"), tight)),
        ("Not known, and what would settle it", Table("", ("Not known", "Taken instead", "To settle it"), open_points)),
    ]
    return tuple(Section(heading, (), (table,)) for heading, table in found if table.rows)


def in_words(job: Job, key: str) -> str:
    """Return a key of the job file as people name it: "Pendant lamps: power factor" for load.pendant.power_factor."""
    section, *rest = key.split(".")
    if section in ("part", "board") and len(rest) > 1:
        return f"{'.'.join(rest[:-1])}: {rest[-1].replace('_', ' ')}"
    entries = getattr(job, section)
    if isinstance(entries, Mapping) and rest and rest[0] in entries:
        name, *rest = (getattr(entries[rest[0]], "name", f"{section} {rest[0]}"), *rest[1:])
    else:
        name = section
    return ": ".join(filter(None, (name, " ".join(rest).replace("_", " "))))


def _outcome(design: Design, proof: Proof, rehearsal: Rehearsal) -> Table:
    found = tally_of(design, proof.properties)
    return Table("", ("What", "Outcome"), (
        ("Job", f"{design.job.job.title}, {design.job.supply.system}"),
        (counted(len(design.findings), "check"), counts_in_words(counts_of(design.findings))),
        (f"With {counted(len(found.names), 'name')} that may be misheard and {counted(len(found.claims), 'claim')} of the proof", str(found)),
        ("Failing and accepted", str(len(design.accepted)) if design.accepted else "none"),
        ("Proof", proof.outcome),
        ("Rehearsal", rehearsal.summary),
        ("Program and plan", proof.digest),
    ))


def _covered(design: Design) -> Table:
    """Return each kind of question: how often asked, the worst answer, and what it leaves out."""
    asked: dict[str, list[Finding]] = {}
    for finding in design.findings:
        asked.setdefault(finding.id.partition(".")[0], []).append(finding)
    return Table("", ("Check", "Asked of", "Worst", "Left out"), tuple(
        (kind, str(len(some)), str(worst(some)), "; ".join(dict.fromkeys(finding.covers_not for finding in some if finding.covers_not)) or "-")
        for kind, some in asked.items()))


def _answer(finding: Finding, names: dict[str, str]) -> Table:
    """Return a finding as a table: its verdict and figures as the head, all it rests on below."""
    rows: dict[str, list[str]] = {}
    for name, words in line(finding, names).rows:
        rows.setdefault(name, []).append(words)
    told = tuple((name, "\n".join(words)) for name, words in rows.items() if name not in IN_THE_HEAD)
    return Table(f"{finding.question} [{finding.id}]", (str(finding.verdict), _figures(finding)), told or (("Detail", "-"),))


def _figures(finding: Finding) -> str:
    words = [_shown(finding.value)] if finding.value else []
    words += [f"{finding.sense} {_shown(finding.limit)}"] if finding.limit else []
    words += [f"margin {margin_words(finding.margin)}"] if finding.margin is not None else []
    words += [f"nominal {_shown(finding.nominal)}"] if finding.nominal else []
    return ", ".join(words) or "no figure"


def _shown(figure: Figure) -> str:
    return show(figure.value, figure.unit)


def _proof(proof: Proof) -> Iterator[Table]:
    yield Table("", ("Property", "Verdict", "Judged in"), tuple(
        (prop.sentence, prop.verdict, counted(prop.transitions, "step")) for prop in proof.properties))
    yield Table("What was explored", ("Part", "States", "Transitions"), tuple(
        (part.name, str(part.states), str(part.transitions)) for part in proof.parts))
