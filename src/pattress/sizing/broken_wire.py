"""A wire to a contact that breaks.

Answers, for each float and leak contact: would anybody notice? A broken wire reads as open, and these contacts keep
still for months, so nobody sees that one of them has fallen silent. What opens and closes every day is not asked
about: a door that never closes any more is soon seen. Left out: a wire that is shorted, which reads as closed.
"""

from pattress.finding import COMMON_PRACTICE, Finding, Sense, Verdict
from pattress.finding import Input as PutIn
from pattress.job.model import Input, Job

SILENT = ("float", "leak")       # kinds that keep still for months (common practice, no source)


def findings(job: Job) -> tuple[Finding, ...]:
    """Return, for every float and leak contact, whether a broken wire would be noticed."""
    return tuple(_noticed(key, contact) for key, contact in job.input.items() if contact.kind in SILENT)


def _noticed(key: str, contact: Input) -> Finding:
    return Finding(
        id=f"broken_wire.input_{key}", question=f"Would a broken wire at {contact.name} be noticed?", subject=f"input.{key}.kind",
        verdict=Verdict.TIGHT, value=None, limit=None, sense=Sense.AT_LEAST, formula="a broken wire reads as open",
        inputs=(PutIn("kind", contact.kind, f"input.{key}.kind"),), sources=(COMMON_PRACTICE,),
        change=('choose a contact that is closed when all is well, and say "open" in the rule',),
        detail=f"A {contact.what} keeps still for months: with a broken wire it reads as open from then on, and nobody sees it. "
               "One that is closed when all is well tells a broken wire as it tells trouble.",
        covers_not="a wire that is shorted, which reads as closed", safety=False,
    )
