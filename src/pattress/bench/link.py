"""The serial link to a board's interpreter: open, run a line there, read what it printed, restart.

The only module that knows `mpremote`. It stops the program that runs, which opens every relay, by an
interrupt and not by a soft restart, after which nobody would feed the watchdog. However the work
ends the board is restarted, and a board that hears nothing any more restarts by itself.
"""

import io
import struct
from collections.abc import Callable
from contextlib import redirect_stdout
from pathlib import Path
from time import monotonic, sleep
from typing import Any

from pattress.bench.errors import LinkError, NotTaken
from pattress.bundle.contents import CONTROLLER

OPEN_S = 15.0           # a board that restarts is back at its port by then
ANSWER_S = 20.0         # longest silence of a board that works: it erases flash and adds up digests
TRY_S = 3.0             # a Ctrl-C that comes while the board starts may be lost: ask again
PAUSE_S = 0.2
RESTART = (b"\r\x03\x01", b"import machine\nmachine.reset()\n\x04")     # out of whatever was cut short, then the command
PROMPT, PROMPT_S = b"raw REPL; CTRL-B to exit\r\n>", 3.0      # what the interpreter says when it takes lines, and for how long it is waited for [s]
AGENT = Path(__file__).with_name("upload_agent.py")
SENT = (CONTROLLER / "filling.py", CONTROLLER / "sequence.py", AGENT)       # the board runs them all


class Link:
    """A board at a port, its interpreter waiting for lines. Use it as a context; at its end the board restarts.

    `told` is called with each line that is run, before it is sent; for tests.
    """

    def __init__(self, port: str, *, wait: float = OPEN_S, told: Callable[[str], None] = lambda line: None):
        self.port, self._wait, self._told = port, wait, told
        self._transport: Any = None

    def __enter__(self) -> "Link":
        until = monotonic() + self._wait
        while True:
            try:
                self._transport = opened(self.port)
                self._transport.serial.timeout = PAUSE_S
                with redirect_stdout(io.StringIO()):        # the library prints what it could not use
                    self._transport.enter_raw_repl(soft_reset=False, timeout_overall=TRY_S)
                self._transport.serial.timeout = ANSWER_S
                break
            except failures() as error:
                self.close()
                if monotonic() >= until or isinstance(error, FileNotFoundError):
                    raise _silent(self.port, words_of(error)) from error
            sleep(PAUSE_S)
        try:
            self.run("\n".join(file.read_text("utf-8") for file in SENT))
        except BaseException:
            self.restart()
            raise
        return self

    def __exit__(self, *raised: object) -> None:
        self.restart()

    def run(self, line: str) -> str:
        """Run Python on the board and return what it printed.

        Raises LinkError when the link is cut or nothing comes for ANSWER_S, NotTaken with the last
        line of the board's own words when the code raised there.
        """
        self._told(line)
        try:
            with redirect_stdout(io.StringIO()):
                said, complaint = self._transport.exec_raw(f"{line}\ntouch()", timeout=ANSWER_S)
        except failures() as error:
            raise LinkError(f"the link at {self.port} was cut: {words_of(error)}") from error
        if complaint:
            words = complaint.decode(errors="replace").strip().splitlines()
            raise NotTaken(f"the board at {self.port} says: {words[-1] if words else 'nothing'}")
        return str(said.decode(errors="replace"))

    def restart(self) -> None:
        """Restart the board, if it is still there: it starts what its record says. The link is closed."""
        if self._transport is None:
            return
        try:
            for words, answer in zip(RESTART, (PROMPT, b""), strict=True):
                self._transport.serial.write(words)
                self._transport.serial.flush()
                if answer:              # one that is busy takes its time; one that never answers is told all the same
                    self._transport.serial.timeout = PROMPT_S
                    self._transport.read_until(1, answer, timeout=PROMPT_S, timeout_overall=PROMPT_S)
                sleep(PAUSE_S)
        except failures():
            pass                        # pulled out, or gone before the port has all
        self.close()

    def close(self) -> None:
        """Let go of the port; the board stays as it is."""
        if self._transport is not None:
            try:
                self._transport.close()
            except OSError:
                pass                    # it was pulled out
            self._transport = None


def ports() -> list[str]:
    """Return the serial ports of this machine that a board may be at."""
    from serial.tools import list_ports

    return sorted(port.device for port in list_ports.comports() if port.vid is not None)


def refuse_absent(port: str) -> None:
    """Raise LinkError when a port is the path of nothing."""
    if port.startswith("/") and not Path(port).exists():
        raise _silent(port, "there is no such port")


def _silent(port: str, why: str) -> LinkError:
    return LinkError(f"no interpreter answers at {port}: {why}\n  nearest: {', '.join(ports()) or 'no serial port is there'}")


def opened(port: str) -> Any:
    """Return a transport at a port; the program there runs on. Raises one of `failures`."""
    from mpremote.transport_serial import SerialTransport

    if port.startswith("/") and not Path(port).exists():
        raise FileNotFoundError("there is no such port")
    return SerialTransport(port, timeout=ANSWER_S)


def failures() -> tuple[type[Exception], ...]:
    """Return what a link that does not work raises."""
    from mpremote.transport import TransportError

    return TransportError, OSError, struct.error      # a port that closes in the middle of an answer gives too few bytes


def words_of(error: Exception) -> str:
    """Return what a failure says, its name when it says nothing."""
    return str(error).strip() or type(error).__name__
