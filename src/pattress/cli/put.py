"""`pattress put` and `pattress report`: a bundle put on a board, and what a board tells of itself."""

from pathlib import Path

import click

from pattress.cli.options import job_argument, json_option, out_option, own_options, reports_errors
from pattress.stock.own import Own

port_option = click.option("--port", help="The serial port of the board, such as /dev/ttyACM0 or COM5.")


@click.command()
@job_argument
@port_option
@click.option("--address", help="Instead, over the network: its address or NAME.local; signed with the job's key.")
@click.option("--wifi", is_flag=True, help="Ask for the home's Wi-Fi and broker; kept beside JOB for its owner only.")
@click.option("--dry-run", "dry", is_flag=True, help="List what would be sent; the board's program is stopped and restarted.")
@own_options
@json_option
@out_option
@reports_errors
def put(job: Path, port: str | None, address: str | None, wifi: bool, dry: bool, own: Own, as_json: bool,
        out: Path | None) -> int:
    """Put the bundle on the board.

    Checks board and interpreter, sends only what changed, reads digests back, and restarts the board. The
    relays open while it is at work. Interrupted at any point, the former program still starts. With
    --address the program runs on until the new one is there, signed and whole.
    """
    from pattress.cli import board

    if address is not None:
        return board.send(job, own, out, address=address, given={"--port": port, "--wifi": wifi, "--dry-run": dry}, as_json=as_json)
    return board.put(job, own, out, port=port, wifi=wifi, dry=dry, as_json=as_json)


@click.command()
@click.option("--port", required=True, help="The serial port of the board, such as /dev/ttyACM0 or COM5.")
@json_option
@reports_errors
def report(port: str, as_json: bool) -> int:
    """Print the state of a running board.

    Last events with their causes, counters, uptime, restarts, memory. Its program runs on, switches act.
    """
    from pattress.cli import board

    return board.tell(port, as_json=as_json)
