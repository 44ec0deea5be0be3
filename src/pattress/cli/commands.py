"""The commands. Each works alone, has --json, and ends with 0 (all holds), 1 (a check fails) or 2 (bad input)."""

import json
import sys
from functools import wraps
from pathlib import Path

import click

EXAMPLE = Path("examples/sewing-room/job.toml")
ALL_HOLDS, A_CHECK_FAILS, BAD_INPUT = 0, 1, 2


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(package_name="pattress")
def main() -> None:
    """From one job file to a sized, proven and documented mains controller.

    A job file says what a home has and what its owner wants. `pattress new` writes one to
    start from; `pattress demo` runs the whole line on an invented example.

    Mains can kill. The verdicts are an engineer's aid, not an approval: local codes and
    licensed practice come first.
    """


def door(command):
    """Turn the errors of the house into a message on stderr and the exit code of bad input."""

    @wraps(command)
    def opened(*args, **kwargs):
        from pattress.errors import PattressError

        try:
            sys.exit(command(*args, **kwargs) or ALL_HOLDS)
        except PattressError as error:
            click.echo(str(error), err=True)
            sys.exit(BAD_INPUT)

    return opened


job_argument = click.argument("job", type=click.Path(path_type=Path))
parts_option = click.option("--parts", type=click.Path(path_type=Path), help="Your own parts file; it wins over stock.")
json_option = click.option("--json", "as_json", is_flag=True, help="Print JSON on stdout and nothing else there.")
out_option = click.option("--out", type=click.Path(path_type=Path), help="Folder for results [default: out/NAME-OF-JOB].")


def seed_options(command):
    """Add the options of every command that rehearses."""
    command = click.option("--seed", default=1, show_default=True, help="Another seed, another day.")(command)
    return click.option("--days", default=1, show_default=True, type=click.IntRange(1, 3650), help="Random days to rehearse.")(command)


@main.command()
@click.argument("file", type=click.Path(path_type=Path), default="job.toml")
@door
def new(file: Path) -> int:
    """Write a commented job file to start from, at FILE [default: job.toml]."""
    from pattress.cli import line

    line.write_starter(file)
    click.echo(f"Written: {file}. Change it to what the home has, then: pattress check {file}")
    return ALL_HOLDS


@main.command()
@door
def schema() -> int:
    """Print the JSON Schema of the job file, for editors that check as you type."""
    from pattress.job import job_schema

    click.echo(json.dumps(job_schema(), indent=2))
    return ALL_HOLDS


@main.command()
@job_argument
@parts_option
@json_option
@click.option("--all", "everything", is_flag=True, help="Show the figures of the checks that hold, too.")
@click.option("--fix", is_flag=True, help="Propose the cheapest changes after which nothing fails; writes nothing.")
@click.option("--write", is_flag=True, help="With --fix: write the changes into JOB, comments kept.")
@click.option("--prices", type=click.Path(path_type=Path), help="With --fix: your own prices of changes; they win.")
@door
def check(job: Path, parts: Path | None, as_json: bool, everything: bool, fix: bool, write: bool, prices: Path | None) -> int:
    """Size the job and find pins: every electrical question, with value, limit and margin."""
    from pattress.cli import line

    if fix:
        return line.fix(job, parts, prices, write=write, as_json=as_json)
    line.refuse_without_fix({"--write": write, "--prices": prices})
    return line.check(job, parts, as_json=as_json, everything=everything)


@main.command()
@click.argument("before", type=click.Path(path_type=Path), metavar="A")
@click.argument("after", type=click.Path(path_type=Path), metavar="B")
@parts_option
@json_option
@door
def compare(before: Path, after: Path, parts: Path | None, as_json: bool) -> int:
    """Show which findings, parts and places of the plan move from job A to job B, worst first."""
    from pattress.cli import line

    return line.compare(before, after, parts, as_json=as_json)


@main.command()
@job_argument
@click.argument("finding")
@parts_option
@json_option
@door
def explain(job: Path, finding: str, parts: Path | None, as_json: bool) -> int:
    """Show one FINDING whole: formula, numbers put in, sources, what to change."""
    from pattress.cli import line

    return line.explain(job, finding, parts, as_json=as_json)


@main.command()
@job_argument
@parts_option
@json_option
@door
def prove(job: Path, parts: Path | None, as_json: bool) -> int:
    """Explore every order of events that the control program can meet under this job."""
    from pattress.cli import line

    return line.prove(job, parts, as_json=as_json)


@main.command()
@job_argument
@parts_option
@json_option
@out_option
@seed_options
@door
def rehearse(job: Path, parts: Path | None, as_json: bool, out: Path | None, seed: int, days: int) -> int:
    """Live through a scripted day and random days, under two interpreters, and draw them."""
    from pattress.cli import line

    return line.rehearse(job, parts, out, seed=seed, days=days, as_json=as_json)


@main.command()
@job_argument
@parts_option
@json_option
@out_option
@door
def bundle(job: Path, parts: Path | None, as_json: bool, out: Path | None) -> int:
    """Write the folder that goes on the board. Refused while a safety check fails unaccepted."""
    from pattress.cli import line

    return line.bundle(job, parts, out, as_json=as_json)


@main.command()
@job_argument
@parts_option
@json_option
@out_option
@seed_options
@door
def handover(job: Path, parts: Path | None, as_json: bool, out: Path | None, seed: int, days: int) -> int:
    """Write the hand-over page: findings, pins, parts, proof and a rehearsed day, in one file."""
    from pattress.cli import line

    return line.handover(job, parts, out, seed=seed, days=days, as_json=as_json)


@main.command()
@click.argument("job", type=click.Path(path_type=Path), default=EXAMPLE)
@parts_option
@json_option
@out_option
@seed_options
@door
def demo(job: Path, parts: Path | None, as_json: bool, out: Path | None, seed: int, days: int) -> int:
    """Take JOB through the whole line; without JOB, an invented example."""
    from pattress.cli import line

    return line.demo(job, parts, out, seed=seed, days=days, as_json=as_json)
