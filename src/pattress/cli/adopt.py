"""`pattress adopt`: make a published job one's own."""

from pathlib import Path

import click

from pattress.cli.options import json_option, own_options, reports_errors
from pattress.stock.own import Own


@click.command()
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--answers", type=click.Path(path_type=Path), help="Take the answers from this file and ask nothing.")
@click.option("--into", type=click.Path(path_type=Path), default="my-job.toml", show_default=True, help="The job file to write.")
@click.option("--list", "listed", is_flag=True, help="Print every point as an answers file to fill in; writes nothing.")
@own_options
@json_option
@reports_errors
def adopt(folder: Path, answers: Path | None, into: Path, listed: bool, own: Own, as_json: bool) -> int:
    """Make a published job your own.

    FOLDER was written by `pattress bundle JOB --publish FOLDER`. Asks for your mains, loads, fan and
    remote, checks everything anew, and says which verdicts move. Nothing is written before the last answer.
    """
    from pattress.cli import repeat

    return repeat.adopt(folder, answers, into, own, listed=listed, as_json=as_json)
