"""Running the page: sockets, the printed address, a clean end."""

import asyncio
import os
import socket
from collections.abc import Callable
from ipaddress import ip_address
from pathlib import Path
from typing import Any

import uvicorn

from pattress.errors import UseError
from pattress.stock.own import Own
from pattress.web.access import Access
from pattress.web.application import application
from pattress.web.draft import Draft
from pattress.web.news import News

LOOPBACK, EVERYWHERE = "127.0.0.1", "0.0.0.0"
NOWHERE = ("192.0.2.1", 9)       # of TEST-NET-1 (RFC 5737, from memory): a route to it is asked for, nothing is sent


class Server(uvicorn.Server):
    """A server that ends the open streams before it waits for its connections."""

    def __init__(self, config: uvicorn.Config, news: News):
        super().__init__(config)
        self.news = news

    def handle_exit(self, sig: int, frame: Any) -> None:
        self.news.end()
        super().handle_exit(sig, frame)


def serve(
    job: Path, own: Own, *, port: int, passphrase: str = "", ready: Callable[[str], None], tell: Callable[[str], None],
) -> None:
    """Serve the page of a job file until Ctrl-C.

    With a passphrase it listens on all addresses of this machine, otherwise on loopback only.
    `ready` is called with the address once the page answers, `tell` with a line for the terminal.
    Raises JobError, StockError or UseError before anything is served.
    """
    draft, news = Draft(job, own), News()
    listening = _listen(EVERYWHERE if passphrase else LOOPBACK, port)
    port = listening.getsockname()[1]
    access = Access(application(draft, news), port=port, passphrase=passphrase, names=_own_names() if passphrase else (),
                tell=lambda address: tell(f"For another browser: {address}"))
    if passphrase:
        tell(f"In your network: http://{_own_address()}:{port}/  passphrase: {passphrase}")
        tell("What goes to and fro there is not encrypted. Stop the page when it is not needed.")
    config = uvicorn.Config(access, lifespan="on", log_level="error", access_log=False, server_header=False, timeout_graceful_shutdown=2)
    asyncio.run(_run(Server(config, news), listening, lambda: ready(access.address)))


async def _run(server: Server, listening: socket.socket, ready: Callable[[], None]) -> None:
    serving = asyncio.create_task(server.serve([listening]))
    while not server.started and not serving.done():
        await asyncio.sleep(0.01)
    if server.started:
        ready()
    try:
        await serving
    except (KeyboardInterrupt, asyncio.CancelledError):
        pass


def _listen(host: str, port: int) -> socket.socket:
    try:
        return socket.create_server((host, port))
    except OSError as error:
        raise UseError(f"port {port} cannot be used: {os.strerror(error.errno) if error.errno is not None else error}\n  allowed: another number after --port, or 0 for any that is free") from None


def _own_names() -> tuple[str, ...]:
    name = socket.gethostname().casefold()
    return (name, f"{name}.local")


def _own_address() -> str:
    """Return the address by which others in the network reach this machine, as far as it knows."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asking:
        try:
            asking.connect(NOWHERE)
            return str(ip_address(asking.getsockname()[0]))
        except OSError:
            return socket.gethostname()
