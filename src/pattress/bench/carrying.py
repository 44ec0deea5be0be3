"""Carries a signed bundle to a controller over the home's network.

One request to the controller's own page service, whose head announces the bundle; the rest is sent when the controller
says so (100, RFC 9110, section 10.1.1). It takes the bundle when nothing stirs there, so the sender may wait long; it stops as
soon as the controller says no.
"""

import select
import socket
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import BinaryIO

from pattress.bench.errors import LinkError, NotTaken
from pattress.bundle.signing import announced, announcement

PORT = 80
CONNECT_S = 10
ANSWER_S = 30           # to the announcement; the controller loads what it needs for that
SILENT_S = 900          # as long as a controller gives a bundle
PIECE = 1024
PATH = "/program"
LONGEST_LINE = 4096     # of an answer's head
GO_ON, DONE = 100, 200
WITHOUT_KEY = "it takes no program over the network: it has no key, or is no controller of this kind"
SAID = {401: WITHOUT_KEY, 404: WITHOUT_KEY, 417: "its program is older and takes a new one over USB only",
        503: "all its connections are in use, try again in a moment"}      # what a status means here; others say it themselves


def carry(
    address: str, folder: Path, *, key: str, sequence: int, progress: Callable[[str], None] = lambda words: None,
) -> str:
    """Send the bundle in `folder` to a controller and return the slot it lies in; the controller then restarts by itself.

    `address` is a host, with `:port` when it is not 80; `key` and `sequence` as in
    `bundle.signing`. Raises LinkError when nobody answers there, NotTaken with the controller's
    own words when it refuses, Damaged when the bundle is not whole.
    """
    pieces = list(announced(folder))
    host, _, port = address.partition(":")
    length = sum(len(content) for _, content in pieces)
    head = (f"POST {PATH} HTTP/1.1\r\nHost: {address}\r\nContent-Type: application/octet-stream\r\n"
            f"Announcement: {announcement(pieces[0][1], key=key, sequence=sequence)}\r\nExpect: 100-continue\r\n"
            f"Content-Length: {length}\r\nConnection: close\r\n\r\n").encode()
    try:
        with socket.create_connection((host, int(port or PORT)), CONNECT_S) as link, link.makefile("rb") as answers:
            link.settimeout(ANSWER_S)
            link.sendall(head)
            status, said = _answer(answers)
            if status == GO_ON:
                link.settimeout(SILENT_S)
                _send(link, pieces, length, progress)
                status, said = _answer(answers)
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or str(error) or type(error).__name__
        raise LinkError(f"the controller at {address} cannot be reached: {why}\n"
                        "  nearest: is it in this network, and was its Wi-Fi set with pattress put JOB --port PORT --wifi?") from error
    if status == DONE:
        return said.split()[0]
    raise NotTaken(f"the controller at {address} refuses: {SAID.get(status, said)}; the former program runs on")


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
            done += len(part)
        progress(f"{name}: {done}/{length}")


def _parts(content: bytes) -> Iterator[bytes]:
    for at in range(0, len(content), PIECE):
        yield content[at:at + PIECE]


def _answer(answers: BinaryIO) -> tuple[int, str]:
    """Return status and text of the next answer; one that lets the sender go on has no text."""
    words = answers.readline(LONGEST_LINE).split(b" ", 2)
    while answers.readline(LONGEST_LINE).strip():
        pass
    if len(words) < 2 or not words[1].isdigit():
        raise OSError("it closed the connection without an answer")
    status = int(words[1])
    return status, "" if status == GO_ON else answers.read().decode(errors="replace").strip()
