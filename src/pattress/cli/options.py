"""What every command shares: its options and arguments, and how an error becomes words and an exit code."""

import errno
import sys
from collections.abc import Callable
from functools import wraps
from pathlib import Path
from typing import Any, ParamSpec, TypeVar

import click

from pattress.cli.terminal import ALL_HOLDS, BAD_INPUT, say
from pattress.stock.own import Own

P = ParamSpec("P")
R = TypeVar("R")


def reports_errors(command: Callable[P, int | None]) -> Callable[P, None]:
    """Turn the errors of the package, Ctrl-C and a full disk into a message on stderr and the exit code of bad input."""

    @wraps(command)
    def opened(*args: P.args, **kwargs: P.kwargs) -> None:
        from pattress.errors import PattressError

        try:
            sys.exit(command(*args, **kwargs) or ALL_HOLDS)
        except PattressError as error:
            words = str(error)
        except KeyboardInterrupt:
            words = "\nstopped; no file is half written"
        except OSError as error:
            if error.errno == errno.EPIPE:             # whoever reads, such as `head`, has had enough
                raise
            words = f"{error.filename or 'what is printed'} cannot be written or read: {error.strerror}"
            sys.stdout = None                          # else the interpreter tries once more, and says so
        say(words, err=True)
        sys.exit(BAD_INPUT)

    return opened


job_argument = click.argument("job", type=click.Path(path_type=Path))
json_option = click.option("--json", "as_json", is_flag=True, help="Print JSON on stdout and nothing else there.")
out_option = click.option("--out", type=click.Path(path_type=Path), help="Folder for results [default: out/NAME-OF-JOB].")


def own_options(command: Callable[..., R]) -> Callable[..., R]:
    """Add the options of every command that takes a person's own parts and boards; the command gets both as `own`."""

    @click.option("--parts", type=click.Path(path_type=Path), help="Your own parts file; it wins over stock.")
    @click.option("--boards", type=click.Path(path_type=Path), multiple=True, help="A file of a board of your own, may be given again.")
    @wraps(command)
    def taken(*args: Any, parts: Path | None, boards: tuple[Path, ...], **kwargs: Any) -> R:
        return command(*args, own=Own(parts, boards), **kwargs)

    return taken


def seed_options(command: Callable[..., R]) -> Callable[..., R]:
    """Add the options of every command that rehearses."""
    command = click.option("--seed", default=1, show_default=True, help="Another seed, another day.")(command)
    return click.option("--days", default=1, show_default=True, type=click.IntRange(1, 3650), help="Random days to rehearse; a year is 365.")(command)
