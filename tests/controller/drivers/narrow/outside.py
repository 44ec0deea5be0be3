"""Memory beside that of the interpreter's collector: it stands for a board's flash, which takes nothing of the memory."""

import host
from uctypes import bytearray_at

PAGE = 65536


def memory(size):
    """Return so many bytes, rounded up to whole pages of the machine, erased."""
    pages = (size + PAGE - 1) // PAGE
    found = bytearray_at(int(host.call("memory", str(pages))), pages * PAGE)
    for at in range(0, len(found), 256):
        found[at:at + 256] = b"\xff" * 256
    return found
