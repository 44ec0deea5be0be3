"""What the program tells over the serial console, without being stopped.

The line `report` is answered with lines that begin with the same word: one JSON object each,
then `report end`. Anything else that is typed is left alone. It is told a line at a time,
with turns of the loop between. No setting and no secret is in it.
"""

import asyncio
import select
import sys

LOOK_MS = 100           # between two looks at the console
WORD = "report"
LONGEST = 32            # letters of a line that are looked at


class Console:
    """What is typed, letter by letter. Raises OSError when there is no console."""

    def __init__(self):
        self._poll, self._line = select.poll(), ""
        self._poll.register(sys.stdin, select.POLLIN)

    def is_asked(self):
        """Take what was typed since; return whether a line of it asks for the report. Raises EOFError when the console is gone."""
        for _ in range(LONGEST):
            if not self._has_letter():
                break
            letter = sys.stdin.read(1)
            if not letter:
                raise EOFError
            if letter not in "\r\n":
                self._line = (self._line + letter)[:LONGEST]
                continue
            line, self._line = self._line, ""
            if line == WORD:
                return True
        return False

    def _has_letter(self):
        for _ in self._poll.ipoll(0):
            return True
        return False


async def answer(program):
    """Answer the console until it is gone."""
    try:
        console = Console()
        while True:
            if console.is_asked():
                while not program.is_idle():        # what is not loaded yet would hold the processor
                    await asyncio.sleep_ms(LOOK_MS)
                from . import report        # costs memory; seldom

                for line in report.told(program, "full"):
                    print(WORD, line)
                    await asyncio.sleep_ms(0)
                del report
                program.let_go("report")
            await asyncio.sleep_ms(LOOK_MS)
    except (OSError, EOFError):
        pass
