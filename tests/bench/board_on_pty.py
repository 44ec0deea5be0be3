"""A simulated board at a serial port: the board's interpreter behind a pseudo-terminal, littlefs2 in a file as its flash.

What a person would plug in is `port`. The interpreter is the real one with its real console, raw
and pasted lines and all; `machine` and the block device are stand-ins, see `power_up.py`.
"""

import fcntl
import json
import os
import pty
import select
import subprocess
import sys
import termios
import threading
import time
import tty
from contextlib import contextmanager
from pathlib import Path

POWER_UP = Path(__file__).with_name("power_up.py")
START = "import sys; from micropython_run import run_main; sys.exit(run_main(sys.argv[1:]))"
SECTOR, SECTORS = 4096, 256
POWERED = b"powered\n"      # said by `power_up.py`; before it nothing is let through
RESET = b"reset now"        # said by it, too
PWRON_RESET, WDT_RESET = 1, 3       # as RP2040 and RP2350 tell them: a restart by the program, too, is the watchdog's


class BoardOnPty:
    """A board that can be plugged in, pulled out and switched off. Use it as a context.

    `world` goes to `power_up.py`; `left` is how many bytes may still pass to the board, None for any.
    """

    def __init__(self, folder: Path, **world):
        self.flash, self.world = folder / "flash.bin", {"chip": "RP2040", **world}
        if not self.flash.exists():
            self.flash.write_bytes(b"\xff" * (SECTOR * SECTORS))
        self.left, self.carried = None, 0
        self.lives, self._cause = 0, PWRON_RESET
        self.said = b""             # all that the board ever sent
        self._outer = self._slave = self._inner = self._process = None
        self._stop = threading.Event()

    def __enter__(self):
        self._outer, self._slave = pty.openpty()
        tty.setraw(self._slave)
        self.port = os.ttyname(self._slave)
        self._pump = threading.Thread(target=self._carry, daemon=True)
        self._pump.start()
        wait_until(lambda: self.lives, 30)
        return self

    def __exit__(self, *raised):
        self.off()

    def off(self):
        """Pull it out, and with it the power: at once, and for good."""
        self._stop.set()
        self._pump.join()

    @property
    def is_off(self):
        return self._stop.is_set()

    def _carry(self):
        while not self._stop.is_set():
            self._begin()
            recent = b""
            while not self._stop.is_set():
                ready, _, _ = select.select([self._outer, self._inner], [], [], 0.02)
                if self._outer in ready and not self._to_board():
                    break
                if self._inner in ready:
                    try:
                        data = os.read(self._inner, 4096)
                    except OSError:                     # it restarts
                        break
                    recent = recent[-len(RESET):] + data
                    self.said += data
                    os.write(self._outer, data)
                    if RESET in recent:
                        self._cause = WDT_RESET
                        break
            self._process.kill()
            self._process.wait()
            os.close(self._inner)
        os.close(self._outer)
        os.close(self._slave)

    def _to_board(self):
        data = os.read(self._outer, 4096)
        self.carried += len(data)
        if self.left is not None:
            data = data[:self.left]
            self.left -= len(data)
            if not self.left:
                self._stop.set()                        # pulled out, and with it the power
        try:
            os.write(self._inner, data)
        except OSError:
            return False
        return True

    def _begin(self):
        self._inner, slave = pty.openpty()
        mode = termios.tcgetattr(slave)
        mode[1] &= ~termios.OPOST                       # a board's console sends what is printed
        mode[3] &= ~termios.ECHO
        termios.tcsetattr(slave, termios.TCSANOW, mode)

        def own_terminal():
            os.setsid()
            fcntl.ioctl(0, termios.TIOCSCTTY, 0)

        world = json.dumps(self.world | {"flash": str(self.flash), "cause": self._cause})
        program = f"world = {world!r}\n" + POWER_UP.read_text("utf-8")
        self._process = subprocess.Popen(
            [sys.executable, "-P", "-c", START, "micropython", "-X", "heapsize=1M", "-i", "-c", program],
            stdin=slave, stdout=slave, stderr=slave, preexec_fn=own_terminal, env=os.environ | {"MICROPYPATH": ".frozen", "TERM": "dumb"})
        os.close(slave)
        said = b""
        while not said.endswith(POWERED):
            if not select.select([self._inner], [], [], 30)[0]:
                raise RuntimeError(f"the simulated board does not come up: {said!r}")
            said += os.read(self._inner, 1)
        select.select([self._inner], [], [], 5)       # its console or its program is up: an interrupt before would end it
        self.lives += 1


@contextmanager
def restarted_after(board):
    """Let work at a board end only when the board has restarted, unless it was pulled out."""
    lives = board.lives
    try:
        yield
    finally:
        wait_until(lambda: board.lives > lives or board.is_off)


def wait_until(is_so, seconds=30.0):
    """Return whether something became so in time."""
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        if is_so():
            return True
        time.sleep(0.02)
    return False
