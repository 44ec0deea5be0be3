"""Findings as the page shows them: the words of the hand-over page, and a bar against the limit."""

from dataclasses import dataclass

from pattress.finding import Finding, Verdict
from pattress.handover.bars import Bar
from pattress.handover.findings_page import line


@dataclass(frozen=True, slots=True)
class Shown:
    """One finding as printed."""

    id: str
    verdict: str
    question: str
    figures: str                  # value, sense and limit; the detail when there are none
    margin: str
    bar: Bar | None
    change: tuple[str, ...]       # what would cure it, best first; nothing when it holds
    measure: tuple[str, ...]      # what is not known, what was taken, what would settle it
    rows: tuple[tuple[str, str], ...]
    open: bool
    accepted: bool
    answer: str                   # address where somebody answers for it; "" where it stops nothing, or somebody does


def shown(finding: Finding, accepted: frozenset[str] = frozenset()) -> Shown:
    """Return a finding as the page shows it."""
    words = line(finding, {})
    holds = finding.verdict is Verdict.HOLDS
    return Shown(
        id=finding.id, verdict=str(finding.verdict), question=finding.question, figures=words.figures,
        margin="" if finding.margin is None else margin_words(finding.margin), bar=words.bar,
        change=() if holds else finding.change,
        measure=tuple(f"Not known: {assumption.key}. Taken: {assumption.taken}. To settle it: {assumption.measure}"
                      for assumption in finding.assumptions),
        rows=tuple((name, text) for name, text in words.rows if name not in ("Question", "Change", "Not known")),
        open=finding.verdict is Verdict.FAILS, accepted=finding.id in accepted,
        answer=f"/add/accept?finding={finding.id}" if finding.stops and finding.id not in accepted else "",
    )


def margin_words(margin: float) -> str:
    """Return a margin as a share of the limit, "ample" from nine times on."""
    return "ample margin" if margin >= 9.0 else f"margin {100 * margin:+.0f} %"

