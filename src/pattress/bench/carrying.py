"""Carries a signed bundle to a controller over the home's network.

One request to the controller's own page service. The controller takes it when nothing stirs there, so
the sender may wait long; it stops as soon as the controller says no.
"""

import select
import socket
from collections.abc import Callable, Iterator
from pathlib import Path

from pattress.bench.errors import LinkError, NotTaken
from pattress.bundle.signing import signed_stream

PORT = 80
CONNECT_S = 10
SILENT_S = 900          # as long as a controller gives a bundle
PIECE = 1024
PATH = "/program"


def carry(
    address: str, folder: Path, *, key: str, sequence: int, progress: Callable[[str], None] = lambda words: None,
) -> str:
    """Send the bundle in `folder` to a controller and return the slot it lies in; the controller then restarts by itself.

    `address` is a host, with `:port` when it is not 80; `key` and `sequence` as in
    `bundle.signing`. Raises LinkError when nobody answers there, NotTaken with the controller's
    own words when it refuses, Damaged when the bundle is not whole.
    """
    pieces = list(signed_stream(folder, key=key, sequence=sequence))
    host, _, port = address.partition(":")
    length = sum(len(content) for _, content in pieces)
    head = (f"POST {PATH} HTTP/1.1\r\nHost: {address}\r\nContent-Type: application/octet-stream\r\n"
            f"Content-Length: {length}\r\nConnection: close\r\n\r\n").encode()
    try:
        with socket.create_connection((host, int(port or PORT)), CONNECT_S) as link:
            link.settimeout(SILENT_S)
            _send(link, [("", head), *pieces], length, progress)
            status, said = _answer(link)
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or str(error) or type(error).__name__
        raise LinkError(f"the controller at {address} cannot be reached: {why}\n"
                        "  nearest: is it in this network, and was its Wi-Fi set with pattress put JOB --port PORT --wifi?") from error
    if status == 200:
        return said.split()[0]
    if status in (401, 404):
        said = "it takes no program over the network: it has no key, or is no controller of this kind"
    raise NotTaken(f"the controller at {address} refuses: {said}; the former program runs on")


def _send(link: socket.socket, pieces: list[tuple[str, bytes]], length: int, progress: Callable[[str], None]) -> None:
    done = 0
    for name, content in pieces:
        for part in _parts(content):
            if select.select([link], [], [], 0)[0]:
                return                  # it answers before it has all: a refusal
            try:
                link.sendall(part)
            except (BrokenPipeError, ConnectionResetError):
                return                  # its answer says why
            done += len(part) if name else 0
        if name:
            progress(f"{name}: {done}/{length}")


def _parts(content: bytes) -> Iterator[bytes]:
    for at in range(0, len(content), PIECE):
        yield content[at:at + PIECE]


def _answer(link: socket.socket) -> tuple[int, str]:
    """Return status and text of the answer."""
    data = b""
    while True:
        part = link.recv(4096)
        if not part:
            break
        data += part
    head, _, body = data.partition(b"\r\n\r\n")
    words = head.split(b" ", 2)
    if len(words) < 3 or not words[1].isdigit():
        raise OSError("it closed the connection without an answer")
    return int(words[1]), body.decode(errors="replace").strip()
