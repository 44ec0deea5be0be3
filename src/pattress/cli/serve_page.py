"""`pattress page`: the whole job on one local web page."""

from pathlib import Path

import click

from pattress.cli.options import job_argument, own_options, reports_errors
from pattress.cli.terminal import ALL_HOLDS
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
    from pattress.web.passphrase import new_passphrase
    from pattress.web.serving import serve

    def ready(address: str) -> None:
        click.echo(f"The page of {job}: {address}\nEnd it with Ctrl-C.")
        if not no_browser:
            import webbrowser

            webbrowser.open(address)

    serve(job, own, port=port, passphrase=new_passphrase() if lan else "", ready=ready, tell=click.echo)
    return ALL_HOLDS
