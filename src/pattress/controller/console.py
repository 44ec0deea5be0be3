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


async def answer(program):
    """Answer the console until it is gone."""
    console = select.poll()
    try:
        console.register(sys.stdin, select.POLLIN)
    except OSError:                     # there is none
        return
    line = ""
    while True:
        if not has_letter(console):
            await asyncio.sleep_ms(LOOK_MS)
            continue
        letter = sys.stdin.read(1)
        if not letter:
            return
        if letter not in "\r\n":
            line = (line + letter)[:LONGEST]
        else:
            if line == WORD:
                await report(program)
            line = ""


def has_letter(console):
    for _ in console.ipoll(0):
        return True
    return False


async def report(program):
    """Print state, counters and last events."""
    while not program.is_idle():        # what is not loaded yet would hold the processor
        await asyncio.sleep_ms(LOOK_MS)
    from json import dumps

    from .network import records

    desk, loop, slots = program.desk, program.loop, program.site.slots
    record = slots.record()
    print(WORD, dumps({
        "bundle": slots.bundle(program.site.slot), "slot": program.site.slot, "trial": record["trial"], "fell_back": record["fell_back"],
        "modules run in place": __name__.startswith("c."), "longest gap between turns [ms]": loop.worst_gap,
        "turns taken by the stand-by": loop.taken_over}))
    await asyncio.sleep_ms(0)
    print(WORD, records.counts_record(desk).decode())
    for event in desk.events():
        await asyncio.sleep_ms(0)
        print(WORD, records.event_record(desk, event).decode())
    print(WORD, "end")

