"""`pattress names`: which names of a home a voice assistant may take for another."""

from pathlib import Path

import click

from pattress.cli.options import job_argument, json_option, reports_errors
from pattress.plural import counted


@click.command()
@job_argument
@json_option
@reports_errors
def names(job: Path, as_json: bool) -> int:
    """Compare the spoken names by sound.

    Which names of loads and fans may be taken for one another, or for a command, number, group or room, and better ones.
    """
    from pattress.cli.plain import plain
    from pattress.cli.terminal import A_CHECK_FAILS, ALL_HOLDS, print_json, say
    from pattress.finding import Verdict
    from pattress.job import load
    from pattress.spoken import clashes as spoken
    from pattress.spoken.clashes import SOUNDS

    home = load(job)
    found, guessed = spoken.clashes(home), spoken.guessed(home)
    if as_json:
        print_json({"job": str(job), "clashes": plain(found), "guessed": list(guessed)})
    else:
        for clash in found:
            say(f"{str(clash.verdict):<8} {clash.told}\n         {clash.advice}")
        known = spoken.names(home)
        say(f"{chr(10) if found else ''}{job}: {counted(len(known), 'name')} of {counted(len({name.thing for name in known}), 'thing')}, "
            f"{len(found)} to look at.")
        if guessed:
            say(f"Not in the dictionary, sounds guessed from the spelling: {', '.join(guessed)}")
        say(SOUNDS)
    return A_CHECK_FAILS if any(clash.verdict is Verdict.FAILS for clash in found) else ALL_HOLDS
