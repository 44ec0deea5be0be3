"""The sequence of the newest signed program: kept in two places on the flash, never lowered.

Each place holds the number and the CRC-32 of its digits. The higher whole one counts, so damage to one place lowers
nothing. Where neither is whole the sequence is unknown, which is not 0: then no program is taken over the network
until one was put over USB. `slots` as in `start`. The workbench sends this file over the serial link, too: it imports
nothing of the board's.
"""

import os
from binascii import crc32

PLACES = ("sequence.0", "sequence.1")
LONGEST = 40            # bytes of a place


def newest(slots):
    """Return the highest sequence that is whole in one of the places, None when none is."""
    found = None
    for place in PLACES:
        number = held(slots.path(place))
        if number is not None and (found is None or number > found):
            found = number
    return found


def keeping(slots, number):
    """Yield before each operation on the flash that keeps a sequence, or the higher one that is kept, in both places.

    Raises OSError when the flash did not keep it.
    """
    known = newest(slots)
    if known is not None and known > number:
        number = known
    for place in PLACES:
        path = slots.path(place)
        if held(path) != number:
            yield
            with open(path + ".new", "wb") as file:
                file.write(written(number))
            if held(path + ".new") != number:
                raise OSError("the sequence was not kept")
            yield
            os.rename(path + ".new", path)


def written(number):
    """Return what a place holds of a sequence."""
    digits = str(number).encode()
    return digits + b" " + str(crc32(digits)).encode()


def held(path):
    """Return the sequence in a place, None when it is not there as it was written."""
    try:
        with open(path, "rb") as file:
            content = file.read(LONGEST)
        number = int(content.split(b" ")[0].decode())
    except (OSError, ValueError):
        return None
    return number if content == written(number) else None
