"""A small job that passes, and a way to see what is said when a part of it is changed."""

import pytest

from pattress.job import JobError, read

FLAT = '''\
[job]
title = "Flat"

[supply]
system = "230 V 50 Hz"
earthing = "TT"

[feed.lights]
device = { kind = "miniature circuit-breaker", curve = "B", rating = "6 A" }
cable = { section = "1.5 mm2", length = "15 m" }

[load.pendant]
name = "Pendant"
kind = "LED driver"
power = "9 W"
feed = "lights"
run = { section = "1.5 mm2", length = "6 m" }

[fan.study]
name = "Study fan"
motor = "unknown"
power = "60 W"
steps = 3
feed = "lights"
run = { section = "1.5 mm2", length = "6 m" }

[switch.door]
name = "Door"
kind = "latching"
does = ["toggle pendant", "up study"]

[regulator.study]
name = "Study"
fan = "study"
positions = 3

[remote.sofa]
name = "Sofa"

[remote.sofa.button]
power = { code = "nec 0x04:0x08", does = "toggle pendant" }
stop = { does = "off everything" }

[board]
type = "rp2040-wifi"
'''


@pytest.fixture
def flat() -> str:
    """Return the text of a small job that passes."""
    return FLAT


@pytest.fixture
def said():
    """Return a function that gives what is said about the small job after some replacements, "" when it passes."""

    def say(*changes: tuple[str, str], text: str = FLAT) -> str:
        for old, new in changes:
            assert text.count(old) >= 1, f"{old!r} is not in the job"
            text = text.replace(old, new, 1)
        try:
            read(text, "flat.toml")
        except JobError as error:
            return str(error)
        return ""

    return say
