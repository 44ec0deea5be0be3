"""`pattress accept`: somebody answers for a finding, by name and with a reason."""

from pathlib import Path

import click

from pattress.cli.options import job_argument, json_option, own_options, reports_errors
from pattress.stock.own import Own


@click.command()
@job_argument
@click.argument("finding")
@click.option("--reason", required=True, help="Why it may be built all the same; printed on every sheet.")
@click.option("--by", required=True, help="Who answers for it; printed on every sheet.")
@own_options
@json_option
@reports_errors
def accept(job: Path, finding: str, reason: str, by: str, own: Own, as_json: bool) -> int:
    """Answer for a finding.

    Writes into JOB that you answer for FINDING, which fails, or is unknown and stops the bundle. Measure it,
    or find the sheet, before you do: accept is for what nobody can settle.
    """
    from pattress.cli import line

    return line.accept(job, finding, own, reason=reason, by=by, as_json=as_json)
