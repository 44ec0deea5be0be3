"""The line, step by step: what each command does. Results come from other packages and are printed here."""

from collections.abc import Callable, Mapping
from difflib import get_close_matches
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pattress.atomic_write import rewrite, write_atomically, write_inside
from pattress.cautions import CAUTIONS
from pattress.cli import differences, smoke_run, text
from pattress.cli.plain import plain
from pattress.cli.results import results_folder
from pattress.cli.terminal import A_CHECK_FAILS, ALL_HOLDS, exit_code, print_json, progress_line, say
from pattress.cli.warned import warnings
from pattress.design import Design, design_of
from pattress.design.tally import NOT_PROVEN, counts_in_words, counts_of, tally_of
from pattress.errors import UseError
from pattress.finding import Finding, Verdict, worst
from pattress.pins.best import Assignment
from pattress.plural import counted
from pattress.stock.own import Own

if TYPE_CHECKING:
    from pattress.design.prices import Prices
    from pattress.handover.issues import Issue
    from pattress.proof import Proof
    from pattress.rehearsal.rehearse import Rehearsal
    from pattress.spoken.clashes import Clash


def write_starter(file: Path) -> None:
    """Write the starter job file; an existing file is left alone."""
    from pattress.job import starter

    if file.exists():
        raise UseError(f"{file} is there already; choose another name, such as {file.with_stem(file.stem + '-2')}")
    write_atomically(file, starter())


def say_boards() -> None:
    """Print the boards of the stock: type, what it is and is called, and its pins by GPIO number with what is printed on them."""
    from pattress.stock.boards import load_boards
    from pattress.stock.listing import called, in_order, pins

    say("The boards, by [board] type, and the pins a wire may take: GPIO number, and what is printed there if it is something else.")
    for board in in_order(load_boards()):
        say(f"\n{board.type}: {called(board)}")
        say(f"  pins: {pins(board)}")


def check(job: Path, own: Own, *, as_json: bool, everything: bool) -> int:
    """Print all findings of a job, the worst first, those that do not hold in full; at the end again what fails."""
    design = design_of(job, own)
    found, accepted, tally, warned = design.findings, sorted(design.accepted), tally_of(design), warnings(job, design)
    if as_json:
        print_json({"job": str(job), "verdict": str(tally.verdict), "tally": dict(tally.counts), "not_counted": list(tally.missing),
                    "findings": plain(found), "names": plain(tally.names), "accepted": accepted, "warnings": warned})
        return exit_code(design, tally)
    listed: list[Finding | Clash] = [*found, *tally.names]
    for one in sorted(listed, key=lambda one: -one.verdict.severity):
        say(text.clash(one) if not isinstance(one, Finding) else text.brief(one) if everything or one.verdict is not Verdict.HOLDS else text.verdict_line(one))
    for words in warned:
        say(f"\nwarning: {words}")
    for key in accepted:
        say(f"accepted [{key}]: {text.acceptance(design.job.accept[key])}")
    failing = ", ".join(finding.id for finding in found if finding.verdict is Verdict.FAILS)
    stopped = ", ".join(finding.id for finding in design.unanswered if finding.verdict is Verdict.UNKNOWN)
    misheard = f" Names fail: pattress names {job}." if tally.failing_names else ""
    say(f"\n{job}: {tally}.{f' Fails: {failing}.' if failing else ''}{f' Unknown, and stops the bundle: {stopped}.' if stopped else ''}{misheard} "
        f"Explain one: pattress explain {job} ID. "
        + " ".join(f"{words[0].upper()}{words[1:]}{f': pattress prove {job}' if words == NOT_PROVEN else ''}." for words in tally.missing))
    print_cautions()
    return exit_code(design, tally)


def fix(job: Path, own: Own, prices: Path | None, *, write: bool, as_json: bool) -> int:
    """Print the cheapest changes after which as little as possible fails; write them only when asked."""
    from pattress.design.cures import cure
    from pattress.design.prices import load_prices
    from pattress.design.rewriting import write_changes

    priced = load_prices(prices)
    progress = progress_line(as_json)
    found = cure(design_of(job, own), priced, progress)
    written = write and bool(found.changes)
    if written:
        write_changes(job, [edit for change in found.changes for edit in change.edits], found.after.job)
    if as_json:
        print_json(differences.cure_facts(found) | {"job": str(job), "written": written})
    else:
        say(differences.cure(found, job, written=written))
        print_cautions()
    return exit_code(found.after, tally_of(found.after))


def refuse_without(needed: str, command: str, given: dict[str, Any]) -> None:
    """Raise UseError when an option that only means something with `needed` was given without it."""
    for option, value in given.items():
        if value:
            raise UseError(f"{option} was given without {needed}\n  allowed: pattress {command} JOB {needed} {option}")


def compare(before: Path, after: Path, own: Own, *, as_json: bool) -> int:
    """Print what moves between two jobs."""
    from pattress.design.comparison import compare as compare_designs

    found = compare_designs(design_of(before, own), design_of(after, own))
    if as_json:
        print_json({"before": str(before), "after": str(after), **differences.comparison_facts(found)})
    else:
        say(differences.comparison(found, before, after))
    return ALL_HOLDS


def explain(job: Path, wanted: str, own: Own, *, as_json: bool) -> int:
    """Print one finding whole."""
    design = design_of(job, own)
    finding = _find(design, wanted)
    if as_json:
        print_json(plain(finding))
    else:
        say(text.whole(finding))
    return A_CHECK_FAILS if finding.wants_answer else ALL_HOLDS


def accept(job: Path, wanted: str, own: Own, *, reason: str, by: str, as_json: bool) -> int:
    """Write into the job file who answers for a finding that fails, or is unknown and stops the bundle, and why."""
    from datetime import date

    from pattress.design.acceptance import accepted
    from pattress.job.reading import text_as_written

    design = design_of(job, own)
    finding = _find(design, wanted)
    if not finding.wants_answer:
        raise UseError(f"{wanted} {'is ' if finding.verdict in (Verdict.UNKNOWN, Verdict.TIGHT) else ''}{finding.verdict} and stops nothing: "
                       "there is nothing to accept\n  allowed: the id of a finding that fails, or that is unknown and stops the bundle")
    if wanted in design.job.accept:
        raise UseError(f"{wanted} is accepted already: {text.acceptance(design.job.accept[wanted])}\n  allowed: another finding; or take that table away first")
    row = {"reason": reason, "by": by, "date": date.today().isoformat()}
    rewrite(job, accepted(text_as_written(job), wanted, row, str(job)))
    if as_json:
        print_json({"job": str(job), "accepted": wanted, **row})
    else:
        say(f"Written into {job}: {by} answers for [{wanted}]. Every sheet will say so.")
        print_cautions()
    return ALL_HOLDS


def prove(job: Path, own: Own, folder: Path | None, *, as_json: bool, together: str | None = None,
          workers: int | None = None, memory: str | None = None, compact: bool = False) -> int:
    """Prove the control program under a job's plan; write the stories into a folder when one is given.

    `together` names channels, by their keys, to be explored as one, too.
    """
    from pattress.cli import effort, stories

    design = design_of(job, own)
    proof = _proof(design, progress=progress_line(as_json), together=effort.channels_of(design, together),
                   effort=effort.effort_of(workers, memory, compact))
    files = stories.export(design, proof, folder) if folder else ()
    if as_json:
        print_json(proof.to_json() | ({"files": [str(file) for file in files]} if folder else {}))
    else:
        from pattress.rehearsal.storyline import storyline

        for prop in proof.properties:
            say(text.claim(prop))
        for prop in proof.failed:
            say(f"\nfails: {prop.sentence}\n{prop.detail}")
            if prop.story:
                say(storyline(prop.story, design.plan))
        for prop in proof.undecided:
            say(f"\nunknown: {prop.sentence}\n{prop.detail}")
        for note in proof.notes:
            say(f"\n{note}")
        none = f"\nNo story to write into {folder}: nothing fails in a way that has one." if folder and not files else ""
        say(none + "".join(f"\nwritten: {file}" for file in files) + f"\n{proof.summary}")
    return ALL_HOLDS if proof.holds else A_CHECK_FAILS


def rehearse(job: Path, own: Own, out: Path | None, *, seed: int, days: int, as_json: bool) -> int:
    """Rehearse a job and draw its days."""
    design = design_of(job, own)
    rehearsal = _rehearsal(design, seed=seed, days=days, progress=progress_line(as_json))
    files = _draw(design, rehearsal, results_folder(job, out))
    if as_json:
        print_json({"holds": rehearsal.holds, "digest": rehearsal.digest, "events_compared": rehearsal.compared,
                     "problems": [f"{day}: {problem}" for day, problem in rehearsal.problems],
                     "difference": str(rehearsal.difference) if rehearsal.difference else None,
                     "files": [str(file) for file in files]})
    else:
        say(text.rehearsal(rehearsal))
        for file in files:
            say(f"drawn: {file}")
    return ALL_HOLDS if rehearsal.holds else A_CHECK_FAILS


def bundle(job: Path, own: Own, out: Path | None, *, as_json: bool) -> int:
    """Write the bundle of a job, unless a safety check fails unaccepted."""
    design = design_of(job, own)
    refused = refusals_of(design)
    if refused:
        return say_refused(refused, as_json)
    folder = results_folder(job, out) / "bundle"
    manifest = bundled(design, folder)
    if as_json:
        print_json(plain(manifest))
    else:
        say(f"bundle: {folder}, job and design {design.identity}, program and plan {manifest.program[:12]}")
        print_cautions()
    return ALL_HOLDS


def publish(job: Path, own: Own, folder: Path, title: str, *, as_json: bool) -> int:
    """Publish a job for others, unless a safety check fails unaccepted."""
    from pattress.cli import repeat

    design = design_of(job, own)
    refused = refusals_of(design)
    return say_refused(refused, as_json) if refused else repeat.publish(job, design, folder, title, as_json=as_json)


def handover(job: Path, own: Own, out: Path | None, *, seed: int, days: int, as_json: bool,
             prices: Path | None = None, label: bool = False, issue: str | None = None) -> int:
    """Prove and rehearse a job and write the hand-over page and pack, the label with the passphrase if asked for, and a copy for good where it is issued."""
    from pattress.cli import issuing
    from pattress.design.prices import load_prices

    design, priced = design_of(job, own), load_prices(prices)
    folder, progress = results_folder(job, out), progress_line(as_json)
    issuing.refuse_reason(issue)
    proof = _proof(design, progress=progress)
    issues = issuing.issues_with(issue, design, proof.digest, folder, own)
    rehearsal = _rehearsal(design, seed=seed, days=days, progress=progress)
    page = _page(design, proof, rehearsal, folder)
    files = _pack(design, proof, rehearsal, folder, progress, priced, issues)
    if issue is not None:
        files += issuing.kept([page, *files], job, design.job.board.file, folder, issues)
    files += _label(design, job, folder) if label else []
    if as_json:
        print_json({"page": str(page), "files": [str(file) for file in files]})
    else:
        say(f"hand-over page: {page}")
        say("\n".join(f"written: {file}" for file in files))
        print_cautions()
    return ALL_HOLDS if not refusals_of(design) and proof.holds and rehearsal.holds else A_CHECK_FAILS


def demo(job: Path, own: Own, out: Path | None, *, seed: int, days: int, as_json: bool) -> int:
    """Take a job through the whole line and say where everything lies."""
    progress = progress_line(as_json)
    progress(f"sizing and pins: {job}")
    design = design_of(job, own)
    folder = results_folder(job, out)
    proof = _proof(design, progress=progress)
    rehearsal = _rehearsal(design, seed=seed, days=days, progress=progress)
    files = _draw(design, rehearsal, folder)
    page = _page(design, proof, rehearsal, folder)
    sheets = _pack(design, proof, rehearsal, folder, progress)
    refused = refusals_of(design)
    manifest = None
    if not refused and proof.holds and rehearsal.holds:
        progress("bundle")
        manifest = bundled(design, folder / "bundle")
    lived = smoke_run.tried(design, folder / "bundle", progress) if manifest else smoke_run.NOT_TRIED
    tally = tally_of(design, proof.properties)
    rows = [
        ("sizing and pins", str(design.verdict), counts_in_words(counts_of(design.findings))),
        ("names", str(worst(tally.names)), counts_in_words(counts_of(tally.names)) or "none may be misheard"),
        ("proof", "holds" if proof.holds else "fails", proof.summary),
        ("rehearsal", "holds" if rehearsal.holds else "fails", rehearsal.summary),
        ("bundle", "written" if manifest else "refused", _bundle_words(folder, manifest, refused)),
        ("bundle alive", lived.verdict, lived.detail),
        ("hand-over page", "written", str(page)),
        ("hand-over pack", "written", f"{counted(len(sheets), 'sheet')}, drawings and schedules in {folder}"),
        ("timeline", "drawn", str(files[0])),
    ]
    if as_json:
        print_json({"steps": [dict(zip(("step", "verdict", "detail"), row)) for row in rows], "tally": dict(tally.counts), "folder": str(folder), "alive": plain(lived.life)})
    else:
        say("\n" + text.table(("step", "verdict", "detail"), rows))
        say(f"\nIn all: {tally}." + "".join(f"\n{line}" for line in lived.lines))
        say(f"\nEverything lies in {folder}. Open {page} in a browser.")
        print_cautions()
    return ALL_HOLDS if manifest and not lived.has_failed else A_CHECK_FAILS


def _find(design: Design, wanted: str) -> Finding:
    by_id = {finding.id: finding for finding in design.findings}
    if wanted in by_id:
        return by_id[wanted]
    near = get_close_matches(wanted, by_id, n=3, cutoff=0.4)
    raise UseError(f"there is no finding {wanted!r} in this job\n  nearest: {', '.join(near) or 'none'}\n"
                   f"  all of them: pattress check JOB")


def _proof(design: Design, progress: Callable[[str], None], **given: Any) -> "Proof":
    from pattress.proof import prove

    return prove(design.plan, progress=lambda part: progress(f"proof {part}"), wishes=design.wishes,
                 has_network=design.job.network.wifi, **given)


def _rehearsal(design: Design, *, seed: int, days: int, progress: Callable[[str], None]) -> "Rehearsal":
    from pattress.rehearsal.rehearse import rehearse

    def tell(done: int, of: int, title: str) -> None:
        if title:
            progress(f"rehearsal {done + 1}/{of} {title}")

    return rehearse(design.plan, seed=seed, days=days, progress=tell)


def _draw(design: Design, rehearsal: "Rehearsal", folder: Path) -> list[Path]:
    from pattress.rehearsal.timeline import timeline

    return [write_inside(folder, f"day-{number}.svg", timeline(day, design.plan).svg()) for number, day in enumerate(rehearsal.days)]


def _page(design: Design, proof: "Proof", rehearsal: "Rehearsal", folder: Path) -> Path:
    from pattress.handover import page_of, render

    return write_inside(folder, "handover.html", render(page_of(design, proof, rehearsal, cautions=CAUTIONS)))


def _pack(design: Design, proof: "Proof", rehearsal: "Rehearsal", folder: Path, progress: Callable[[str], None],
          prices: "Prices | None" = None, issues: "tuple[Issue, ...] | None" = None) -> list[Path]:
    from pattress.handover.issues import read_issues
    from pattress.handover.pack import pack

    progress("hand-over pack")
    return _written(folder, pack(design, proof, rehearsal, cautions=CAUTIONS, prices=prices, issues=read_issues(folder) if issues is None else issues))


def _label(design: Design, job: Path, folder: Path) -> list[Path]:
    """Write the label with the passphrase of the job's secrets, for its owner only."""
    from pattress.bundle import secrets
    from pattress.handover.label import passphrase_label
    from pattress.handover.sheet import as_files

    sheet = passphrase_label(design, secrets.kept(job).needed("passphrase"), cautions=CAUTIONS)
    files = _written(folder, as_files(sheet), mode=secrets.OWNER_ONLY)
    for warning in filter(None, (secrets.exposure(job),)):
        say(warning, err=True)
    return files


def _written(folder: Path, contents: Mapping[str, str | bytes], **how: Any) -> list[Path]:
    """Write files into a folder and return their paths; `how` goes to `write_inside`."""
    return [write_inside(folder, place, content, **how) for place, content in contents.items()]


def refusals_of(design: Design) -> tuple[Finding, ...]:
    """Return the findings that stop the bundle: safety checks that fail or are unknown and nobody answers for, and wires without a pin."""
    from pattress.bundle import refusals

    unplaced = () if isinstance(design.pins, Assignment) else tuple(f for f in design.findings if f.id == "pins.board")
    return refusals(design.findings, design.job.accept) + tuple(finding for finding in unplaced if not finding.safety)


def bundled(design: Design, folder: Path) -> Any:
    """Write the bundle of a design and return its manifest."""
    from pattress.bundle import write_bundle

    return write_bundle(folder, design.plan, design.facts, findings=design.findings, accepted=design.job.accept)


def _bundle_words(folder: Path, manifest: Any, refused: tuple[Finding, ...]) -> str:
    if manifest:
        return f"{folder / 'bundle'}, program and plan {manifest.program[:12]}"
    if refused:
        return "failed: " + ", ".join(finding.id for finding in refused)
    return "the proof or the rehearsal does not hold"


def say_refused(refused: tuple[Finding, ...], as_json: bool) -> int:
    """Print which findings stop the bundle, and the ways on."""
    if as_json:
        print_json({"refused": plain(refused)})
    else:
        for finding in refused:
            say(text.brief(finding))
        fails, unknown = ([finding.id for finding in refused if (finding.verdict is Verdict.FAILS) is failing] for failing in (True, False))
        words = [f"{', '.join(ids)} {one if len(ids) == 1 else more}" for ids, one, more in (
            (fails, "fails", "fail"), (unknown, "is unknown", "are unknown")) if ids]
        say(f"\nNo bundle while {' and '.join(words)}. {'Change the job.' if fails else 'Settle what is not known, above.'}")
        if all(finding.safety for finding in refused):
            say(f"Or somebody answers for it, on every sheet: pattress accept JOB {refused[0].id} --reason \"...\" --by \"...\"")
    return A_CHECK_FAILS


def print_cautions() -> None:
    """Print what everybody must know who works at mains."""
    say("\n" + "\n".join(CAUTIONS))

