"""`pattress page`: the whole job on one local web page."""

from pathlib import Path

import click

from pattress.cli.options import job_argument, own_options, reports_errors
from pattress.cli.terminal import ALL_HOLDS, say
from pattress.stock.own import Own


@click.command()
@job_argument
@own_options
@click.option("--port", type=click.IntRange(0, 65535), default=0, help="Where the page listens [default: any free port].")
@click.option("--lan", is_flag=True, help="Also for other devices in your network, with a passphrase.")
@click.option("--no-browser", is_flag=True, help="Print the address only.")
@reports_errors
def page(job: Path, own: Own, port: int, lan: bool, no_browser: bool) -> int:
    """Show and change the job on a web page.

    Only this machine can open it, with the address that is printed; --lan also admits a phone. What you
    change there is written into JOB, comments kept; what you change in JOB shows there at once.
    """
    from pattress.stock.parts import load_parts
    from pattress.web.passphrase import new_passphrase
    from pattress.web.serving import serve

    replaced = load_parts(own.parts).replaced

    def ready(address: str) -> None:
        say(f"The page of {job}: {address}\nEnd it with Ctrl-C.")
        if replaced:
            say(f"warning: a part of your own file stands for the stock's: {', '.join(replaced)}")
        if not no_browser:
            import webbrowser

            webbrowser.open(address)

    serve(job, own, port=port, passphrase=new_passphrase() if lan else "", ready=ready, tell=say)
    return ALL_HOLDS
