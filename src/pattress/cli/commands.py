"""The commands. Each works alone, has --json, and ends with 0 (all holds), 1 (a check fails, or an unknown stops the bundle) or 2 (bad input)."""

import json
from pathlib import Path

import click
from click.core import ParameterSource

from pattress.cli.accept import accept
from pattress.cli.adopt import adopt
from pattress.cli.options import job_argument, json_option, out_option, own_options, reports_errors, seed_options
from pattress.cli.put import put, report
from pattress.cli.serve_page import page
from pattress.cli.spoken_names import names
from pattress.cli.terminal import ALL_HOLDS
from pattress.stock.own import Own

EXAMPLE = Path("examples/sewing-room/job.toml")


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(package_name="pattress")
def main() -> None:
    """From one job file to a sized, proven and documented mains controller.

    A job file says what a home has and what its owner wants. `pattress new` writes one to
    start from; `pattress demo` runs every step on an invented example.

    Mains can kill. The verdicts are an engineer's aid, not an approval: local codes and
    licensed practice come first.
    """


@main.command()
@click.argument("file", type=click.Path(path_type=Path), default="job.toml")
@reports_errors
def new(file: Path) -> int:
    """Write a job file to start from.

    It is commented, goes to FILE [default: job.toml], and passes as it is. Prints the boards, their pins,
    and what is printed on them.
    """
    from pattress.cli import line

    line.write_starter(file)
    line.say_boards()
    click.echo(f"\nWritten: {file}. Change it to what the home has, then: pattress check {file}")
    return ALL_HOLDS


@main.command()
@reports_errors
def schema() -> int:
    """Print the JSON Schema of the job file.

    Editors use it to check as you type.
    """
    from pattress.job import job_schema

    click.echo(json.dumps(job_schema(), indent=2))
    return ALL_HOLDS


@main.command()
@job_argument
@own_options
@json_option
@click.option("--all", "everything", is_flag=True, help="Show the figures of the checks that hold, too.")
@click.option("--fix", is_flag=True, help="Propose the cheapest changes after which nothing fails; writes nothing.")
@click.option("--write", is_flag=True, help="With --fix: write the changes into JOB, comments kept.")
@click.option("--prices", type=click.Path(path_type=Path), help="With --fix: your own prices of changes; they win.")
@reports_errors
def check(job: Path, own: Own, as_json: bool, everything: bool, fix: bool, write: bool, prices: Path | None) -> int:
    """Size the job and find pins.

    Answers every electrical question with value, limit and margin. --fix proposes the cheapest changes
    after which nothing fails, and writes them only with --write.
    """
    from pattress.cli import line

    if fix:
        return line.fix(job, own, prices, write=write, as_json=as_json)
    line.refuse_without("--fix", "check", {"--write": write, "--prices": prices})
    return line.check(job, own, as_json=as_json, everything=everything)


@main.command()
@click.argument("before", type=click.Path(path_type=Path), metavar="A")
@click.argument("after", type=click.Path(path_type=Path), metavar="B")
@own_options
@json_option
@reports_errors
def compare(before: Path, after: Path, own: Own, as_json: bool) -> int:
    """Show what moves between two jobs.

    Findings, worst first, then parts and places of the plan, from job A to job B.
    """
    from pattress.cli import line

    return line.compare(before, after, own, as_json=as_json)


@main.command()
@job_argument
@click.argument("finding")
@own_options
@json_option
@reports_errors
def explain(job: Path, finding: str, own: Own, as_json: bool) -> int:
    """Show one finding in full.

    Formula, inputs, sources, what to change. FINDING is the id that check prints in brackets.
    """
    from pattress.cli import line

    return line.explain(job, finding, own, as_json=as_json)


@main.command()
@job_argument
@click.argument("wanted", required=False, metavar="[PART|NET]")
@own_options
@json_option
@click.option("--out", type=click.Path(path_type=Path), help="Write into this folder: the netlist as CSV, and each block as a deck for a circuit simulator.")
@reports_errors
def circuit(job: Path, wanted: str | None, own: Own, as_json: bool, out: Path | None) -> int:
    """Show every part, pin and wire.

    Block by block, with the rules of the circuit that do not hold; or one part, by its designator, or one net, with all
    that lies on it.
    """
    from pattress.cli import circuit as circuits

    return circuits.show(job, wanted, own, out, as_json=as_json)


@main.command()
@job_argument
@own_options
@json_option
@click.option("--export", "folder", type=click.Path(path_type=Path), help="Write each story into this folder: a test, its events, a drawing.")
@click.option("--coverage", is_flag=True, help="Show instead which conditions of the program the proof never reached, and why.")
@click.option("--stuck", is_flag=True, help="Show instead what happens when each relay stays closed.")
@click.option("--together", metavar="KEYS", help="Explore these channels as one, too: keys with commas between, or all.")
@click.option("--memory", metavar="SIZE", help="For what is explored together: memory for its states [default: 1G].")
@click.option("--compact", is_flag=True, help="For the same: keep 64 bits of each state; prints the chance of a missed one.")
@click.option("--workers", type=click.IntRange(1, 256), help="For the same: so many processes [default: one a core].")
@reports_errors
def prove(job: Path, own: Own, as_json: bool, folder: Path | None, coverage: bool, stuck: bool,
          together: str | None, memory: str | None, compact: bool, workers: int | None) -> int:
    """Prove the control program.

    Explores every order of events that it can meet under this job. A failure is printed as its shortest story;
    replay one with rehearse --story.
    """
    from pattress.cli import line

    if stuck:
        from pattress.cli import sticking

        return sticking.show(job, own, as_json=as_json)
    if coverage:
        from pattress.cli import covering

        return covering.cover(job, own, as_json=as_json)
    return line.prove(job, own, folder, as_json=as_json, together=together, memory=memory, compact=compact, workers=workers)


@main.command()
@job_argument
@own_options
@json_option
@out_option
@seed_options
@click.option("--story", type=click.Path(path_type=Path), help="Replay a story of the proof instead: a file of prove --export.")
@click.option("--year", is_flag=True, help="Simulate a year of habits instead: wear, response, nuisances.")
@click.option("--households", type=click.IntRange(1, 100_000), help="With --year: so many households [default: 1].")
@click.option("--workers", type=click.IntRange(1, 256), help="With --year: so many processes [default: one a core].")
@click.option("--scheduler", metavar="ADDRESS", help="With --year: run on the workers of this Dask scheduler.")
@reports_errors
def rehearse(job: Path, own: Own, as_json: bool, out: Path | None, seed: int, days: int, story: Path | None, year: bool,
             households: int | None, workers: int | None, scheduler: str | None) -> int:
    """Simulate days, and draw them.

    A scripted day and random days, each also run under MicroPython, answer by answer. --year counts
    what wears and annoys in many households, of one JOB or all in a folder; Ctrl-C keeps those that are done.
    """
    from pattress.cli import line

    if story:
        from pattress.cli import stories

        return stories.retell(job, own, story, as_json=as_json)
    if year:
        from pattress.cli import year as years

        are_given = click.get_current_context().get_parameter_source("days") is ParameterSource.COMMANDLINE
        return years.live(job, own, seed=seed, households=households or 1, workers=workers, as_json=as_json,
                          days=days if are_given else years.A_YEAR, scheduler=scheduler or "")
    line.refuse_without("--year", "rehearse", {"--households": households, "--workers": workers, "--scheduler": scheduler})
    return line.rehearse(job, own, out, seed=seed, days=days, as_json=as_json)


@main.command()
@job_argument
@own_options
@json_option
@out_option
@click.option("--publish", type=click.Path(path_type=Path), help="Instead: write a folder that another builder can take.")
@click.option("--title", help="With --publish: the title that others read; the job's own stays at home.")
@reports_errors
def bundle(job: Path, own: Own, as_json: bool, out: Path | None, publish: Path | None, title: str | None) -> int:
    """Write the folder for the board.

    Refused while a safety check fails or is unknown and nobody answers for it. --publish writes the design for others,
    without secrets, persons and places; they take it with `pattress adopt`.
    """
    from pattress.cli import line

    if publish:
        return line.publish(job, own, publish, title or "", as_json=as_json)
    line.refuse_without("--publish", "bundle", {"--title": title})
    return line.bundle(job, own, out, as_json=as_json)


@main.command()
@job_argument
@own_options
@json_option
@out_option
@seed_options
@click.option("--prices", type=click.Path(path_type=Path), help="Your prices: currency, and under [part] money by designation.")
@click.option("--label", is_flag=True, help="Write the label with the passphrase, too: a secret, for its owner only.")
@click.option("--issue", metavar="REASON", help="Issue the pack as the next revision, dated, and keep a copy of it.")
@click.option("--delete-personal-data", "delete", is_flag=True, help="Instead: delete this home's keys, results and issued copies; says what, and asks.")
@click.option("--answers", type=click.Path(path_type=Path), multiple=True, help="With it: a file of answers given to adopt goes, too.")
@click.option("--port", default="", help="With it: the board at this serial port is emptied, too.")
@click.option("--yes", "sure", is_flag=True, help="With it: do not ask.")
@reports_errors
def handover(job: Path, own: Own, as_json: bool, out: Path | None, seed: int, days: int, prices: Path | None, label: bool, issue: str | None,
             delete: bool, answers: tuple[Path, ...], port: str, sure: bool) -> int:
    """Write the hand-over page and pack.

    The page: findings, pins, parts, proof and a rehearsed day. The pack: drawings, schedules and test
    sheets for electrician, builder, engineer and household, as HTML, PDF (A4 and Letter), SVG and CSV.
    --delete-personal-data is for when the home itself is handed over.
    """
    from pattress.cli import line

    if delete:
        from pattress.cli import deletion

        return deletion.delete(job, out, answers, port=port, sure=sure, as_json=as_json)
    line.refuse_without("--delete-personal-data", "handover", {"--answers": answers, "--port": port, "--yes": sure})
    return line.handover(job, own, out, seed=seed, days=days, as_json=as_json, prices=prices, label=label, issue=issue)


@main.command()
@click.argument("job", type=click.Path(path_type=Path), default=EXAMPLE)
@own_options
@json_option
@out_option
@seed_options
@reports_errors
def demo(job: Path, own: Own, as_json: bool, out: Path | None, seed: int, days: int) -> int:
    """Run every step on one job.

    Without JOB, an invented example.
    """
    from pattress.cli import line

    return line.demo(job, own, out, seed=seed, days=days, as_json=as_json)


@main.command()
@job_argument
@click.option("--fan", "key", help="Only this fan, by its key.")
@click.option("--samples", default=0, show_default=True, type=click.IntRange(0, 1_000_000),
              help="Draw so many fans, mains and capacitors from what is known.")
@click.option("--seed", default=1, show_default=True, help="Another seed, another draw.")
@own_options
@json_option
@out_option
@reports_errors
def fan(job: Path, key: str | None, samples: int, seed: int, own: Own, as_json: bool, out: Path | None) -> int:
    """Report on the fans.

    Speed and power per step, what the data fix, what to measure next, single faults, other regulators.
    """
    from pattress.cli import fan as fans

    return fans.look(job, key, own, out, samples=samples, seed=seed, as_json=as_json)


@main.group()
def remote() -> None:
    """Learn, decode, send, compare remotes."""


captures_argument = click.argument("file", type=click.Path(path_type=Path))
draw_option = click.option("--draw", type=click.Path(path_type=Path), help="Draw it to this SVG file, too.")


@remote.command("decode")
@captures_argument
@draw_option
@json_option
@reports_errors
def remote_decode(file: Path, draw: Path | None, as_json: bool) -> int:
    """Print every frame in a file.

    FILE holds captures; --draw draws the first with its fields.
    """
    from pattress.cli import remote as remotes

    return remotes.decode(file, draw, as_json=as_json)


@remote.command("learn")
@captures_argument
@click.option("--into", type=click.Path(path_type=Path), help="The job file to write the code into, if three presses agree.")
@click.option("--button", help="The button of that job file, as REMOTE.BUTTON.")
@draw_option
@json_option
@reports_errors
def remote_learn(file: Path, into: Path | None, button: str | None, draw: Path | None, as_json: bool) -> int:
    """Find the code of a button.

    FILE holds several presses of it; --draw draws what the learner saw.
    """
    from pattress.cli import remote as remotes

    return remotes.learn(file, into, button, draw, as_json=as_json)


@remote.command("send")
@click.argument("code")
@click.option("--held", default=0, show_default=True, type=click.IntRange(0, 100), help="So many repeats of a held key.")
@click.option("--toggle", default=0, show_default=True, type=click.IntRange(0, 1), help="The toggle bit, where there is one.")
@json_option
@reports_errors
def remote_send(code: str, held: int, toggle: int, as_json: bool) -> int:
    """Print what a remote sends.

    CODE is such as "nec 0x04:0x08"; printed are carrier, marks and spaces.
    """
    from pattress.cli import remote as remotes

    return remotes.send(code, held=held, toggle=toggle, as_json=as_json)


@remote.command("buttons")
@click.argument("keymap", type=click.Path(path_type=Path))
@json_option
@reports_errors
def remote_buttons(keymap: Path, as_json: bool) -> int:
    """List the buttons of a keymap file.

    KEYMAP is of the kernel's form, as under /usr/lib/udev/rc_keymaps; codes are as the job file writes them.
    """
    from pattress.cli import remote as remotes

    return remotes.buttons(keymap, as_json=as_json)


@remote.command("compare")
@job_argument
@click.argument("keymaps", nargs=-1, type=click.Path(path_type=Path))
@json_option
@reports_errors
def remote_compare(job: Path, keymaps: tuple[Path, ...], as_json: bool) -> int:
    """Say which remotes collide.

    Which buttons of other remotes (KEYMAPS of the kernel's form) trigger those of JOB, and free addresses.
    A keymap that cannot be read is skipped and named.
    """
    from pattress.cli import remote as remotes

    return remotes.compare(job, keymaps, as_json=as_json)


main.add_command(accept)
main.add_command(adopt)
main.add_command(names)
main.add_command(page)
main.add_command(put)
main.add_command(report)
