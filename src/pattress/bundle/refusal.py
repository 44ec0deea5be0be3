"""Whether a bundle may be written: no safety check fails without somebody answering for it."""

from collections.abc import Iterable, Mapping

from pattress.bundle.errors import Refused
from pattress.finding import Finding, Verdict
from pattress.job.model import Acceptance


def refusals(findings: Iterable[Finding], accepted: Mapping[str, Acceptance]) -> tuple[Finding, ...]:
    """Return the safety checks that fail and are not accepted, in the order given.

    `accepted` maps the id of a finding to who answers for it and why. A check that is unknown
    or tight does not refuse a bundle: it is printed on every sheet.
    """
    return tuple(
        finding for finding in findings
        if finding.safety and finding.verdict is Verdict.FAILS and finding.id not in accepted)


def refuse(findings: Iterable[Finding], accepted: Mapping[str, Acceptance]) -> None:
    """Raise Refused, naming each check and the two ways on, when `refusals` finds any."""
    found = refusals(findings, accepted)
    if not found:
        return
    if len(found) == 1:
        lines = ["no bundle: 1 safety check fails and nobody answers for it"]
    else:
        lines = [f"no bundle: {len(found)} safety checks fail and nobody answers for them"]
    for finding in found:
        lines.append(f"  fails  {finding.question}  [{finding.id}]")
        lines += [f"         Change: {change}" for change in finding.change[:1]]
    lines.append(f'  or accept it in the job file: [accept."{found[0].id}"] with reason, by and date; '
                 "every sheet will say so")
    raise Refused("\n".join(lines))
