"""Whether a bundle may be written: no safety check fails, or stays unknown, without somebody answering for it."""

from collections.abc import Iterable, Mapping

from pattress.bundle.errors import Refused
from pattress.finding import Finding, Verdict
from pattress.job.model import Acceptance
from pattress.plural import counted


def refusals(findings: Iterable[Finding], accepted: Mapping[str, Acceptance]) -> tuple[Finding, ...]:
    """Return the safety checks that stop a design and are not accepted, in the order given.

    `accepted` maps the id of a finding to who answers for it and why. A check that is unknown
    stops like one that fails, unless only the site can settle it: then it, and what is tight, is
    printed on every sheet.
    """
    return tuple(finding for finding in findings if finding.stops and finding.id not in accepted)


def refuse(findings: Iterable[Finding], accepted: Mapping[str, Acceptance]) -> None:
    """Raise Refused, naming each check and the ways on, when `refusals` finds any."""
    found = refusals(findings, accepted)
    if not found:
        return
    lines = [f"no bundle: {_counted(found)}"]
    for finding in found:
        lines.append(f"  {finding.verdict.value:7}  {finding.question}  [{finding.id}]")
        settle = [f"settle {one.key}: {one.measure}" for one in finding.assumptions[:1]] if finding.verdict is Verdict.UNKNOWN else []
        lines += [f"         Change: {change}" for change in (*settle, *finding.change)[:1]]
    lines.append(f'  or accept it in the job file: [accept."{found[0].id}"] with reason, by and date; every sheet will say so.\n'
                 f'  `pattress accept JOB {found[0].id} --reason "..." --by "..."` writes that line')
    raise Refused("\n".join(lines))


def _counted(found: tuple[Finding, ...]) -> str:
    fails = sum(finding.verdict is Verdict.FAILS for finding in found)
    words = [counted(number, one, many) for number, one, many in (
        (fails, "safety check fails", "safety checks fail"), (len(found) - fails, "safety check is unknown", "safety checks are unknown")) if number]
    return f"{' and '.join(words)}, and nobody answers for {'it' if len(found) == 1 else 'them'}"
