"""What every sheet says of itself: of which job and design it is, which program, and whether it may be built."""

from dataclasses import dataclass

from pattress.design import Design
from pattress.finding import Verdict
from pattress.handover.findings_page import program_version
from pattress.handover.issues import Issue, revision_of
from pattress.proof import Proof

STOP = "NOT FOR BUILDING"
MOST_TOLD = 4                # checks named in a reason


@dataclass(frozen=True, slots=True)
class Imprint:
    """The identity of a pack. `stopped` is the reason why nothing of it may be built, "" where there is none."""

    job: str
    version: str
    design: str                  # code of the whole job and design
    program: str                 # digest of control program and plan; "" on a sheet that is made without a proof
    stopped: str
    issues: tuple[Issue, ...] = ()
    replaced: tuple[str, ...] = ()       # parts of the stock for which one of the person's own file stands

    @property
    def revision(self) -> str:
        """Return which revision this is: a letter, or that it is not issued."""
        return revision_of(self.issues, self.design, self.program)

    @property
    def date(self) -> str:
        """Return the day of the issue, "" for what is not issued."""
        return self.issues[-1].date if self.issues and self.revision == self.issues[-1].revision else ""

    def block(self, sheet: str) -> tuple[tuple[str, str], ...]:
        """Return the fields of a title block; what is written by hand is empty."""
        return (
            ("Job", self.job), ("Sheet", sheet), ("Revision", self.revision), ("Date", self.date), ("Drawn by", f"pattress {self.version}"), ("Checked by", ""),
            ("Scale", "none"), ("Job and design", self.design), ("Program and plan", self.program[:12]), ("Status", STOP if self.stopped else ""))

    @property
    def note(self) -> str:
        """Return the line at the foot of a sheet."""
        program = f"; program and plan {self.program[:12]}" if self.program else ""
        issued = f"; revision {self.revision}{f', {self.date}' if self.date else ''}" if self.issues else ""
        own = f"; not the stock's but a part of the builder's own file: {', '.join(self.replaced)}" if self.replaced else ""
        return f"{self.job}. Written by pattress {self.version}; job and design {self.design}{program}{issued}{own}."


def imprint_of(design: Design, proof: Proof | None, issues: tuple[Issue, ...] = ()) -> Imprint:
    """Return what the sheets of a design say of themselves; `issues` are those of its pack so far."""
    return Imprint(design.job.job.title, program_version(), design.identity, proof.digest if proof else "", stopped_by(design, proof), issues, design.replaced)


def stopped_by(design: Design, proof: Proof | None) -> str:
    """Return why a design may not be built: checks that fail or are unknown and stop it, which nobody answers for, or a failed proof; "" otherwise."""
    failing = [finding.id for finding in design.unanswered if finding.verdict is Verdict.FAILS]
    unknown = [finding.id for finding in design.unanswered if finding.verdict is not Verdict.FAILS]
    broken = [claim.id for claim in proof.failed] if proof else []
    reasons = [_told(words, ids) for words, ids in (("fails", failing), ("unknown", unknown), ("not kept by the control program", broken)) if ids]
    return f"{STOP}. {'; '.join(reasons)[0].upper()}{'; '.join(reasons)[1:]}." if reasons else ""


def _told(words: str, ids: list[str]) -> str:
    more = f" and {len(ids) - MOST_TOLD} more" if len(ids) > MOST_TOLD else ""
    return f"{words}: {', '.join(ids[:MOST_TOLD])}{more}"
