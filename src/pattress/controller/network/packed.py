"""Files that lie packed in the bundle, given out as what they were, a part at a time.

Packed is zlib (RFC 1950), which the interpreter's `deflate` reads; it holds as much memory as the
window is wide while a file is given out, no more. A file that is not packed is given out as it lies.
"""

ENDING = ".z"
PART = 256              # bytes given out at once


def parts(name):
    """Yield the content of a file. Raises OSError when there is none."""
    file = content = None
    try:
        try:
            file = open(name + ENDING, "rb")
        except OSError:
            file = content = open(name, "rb")
        if content is None:
            from deflate import ZLIB, DeflateIO

            content = DeflateIO(file, ZLIB)
        part = content.read(PART)
        while part:
            yield part
            part = content.read(PART)
    finally:
        if file is not None:
            file.close()


def length(name):
    """Return the length of what a file gives out. Raises OSError when there is none, or it is cut off."""
    try:
        return sum([len(part) for part in parts(name)])
    except EOFError:
        raise OSError("a packed file is cut off")
