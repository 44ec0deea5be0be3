"""A copy of a bundle's modules in the board's read-only partition, from which the interpreter runs them in place.

From files on the flash a module is taken into memory; in a ROM file system (MicroPython
documentation, "Working with ROMFS") it stays where it lies. The copy makes nothing new
possible: the slot remains what starts, and its own files serve where there is no such partition.

`partition` is what `vfs.rom_ioctl(2, 0)` gives on boards whose flash is written in blocks: read, written
and erased like any block device, and a write at an offset erases nothing (MicroPython
documentation, `vfs.AbstractBlockDev`). The image holds a label, which says whose copy it is, then
the modules. The mark that makes an image of it is made void before anything is erased, and written
when all blocks were read back: cut anywhere, there is the old copy, the new one, or none.
"""

import os
import sys

ROM = "/rom"                    # where the interpreter shows the partition at power-up
COPY, LABEL = "c", "bundle"     # the package in it, a third beside the slots; the file that says whose copy it is
MAGIC, VOID, BLANK = b"\xd2\xcd\x31", bytes(3), b"\xff\xff\xff"     # the mark that makes an image of it; written over; not yet written
DATA, FOLDER, FILE = 2, 4, 5    # kinds of records
BLOCKS, BLOCK_SIZE, ERASE = 4, 5, 6
PAGE = 256                      # of flash; nothing smaller is written
KINDS = ("mpy", "z")            # what the program loads, and hands out from beside its modules
IS_FOLDER = 0x4000              # in the mode of a file


def package(vfs, slots, slot, feed):
    """Return the package with the copy of a slot's modules, made anew when it is another's; the slot when the board has no such partition."""
    partition, bundle = vfs.rom_ioctl(2, 0), slots.bundle(slot).encode()
    if not hasattr(partition, "writeblocks"):       # a number instead says that there is none
        return slot
    if copied() != bundle:
        try:
            vfs.umount(ROM)
        except OSError:                 # there was no image to mount
            pass
        fill(partition, (LABEL, bundle), slots.path(slot), COPY, feed)
        vfs.mount(vfs.VfsRom(partition), ROM)
    if ROM not in sys.path:
        sys.path.insert(0, ROM)
    return COPY


def copied():
    """Return the label of the copy that the partition holds: the digest of its bundle; b"" when it holds none."""
    try:
        with open(ROM + "/" + LABEL, "rb") as file:
            return file.read()
    except OSError:
        return b""


def fill(partition, label, folder, package, feed):
    """Make the partition hold the modules of the bundle in `folder`, as a folder named `package`.

    `label` is name and content of the file that comes first. `feed` is called before each block.
    Raises OSError when there is too little room or the flash does not keep it.
    """
    size = partition.ioctl(BLOCK_SIZE, 0)
    pieces = image(label, folder, package)
    if _length(pieces) > size * partition.ioctl(BLOCKS, 0):
        raise OSError("the modules do not fit into the read-only partition")
    block, found = bytearray(size), bytearray(size)
    _mark(partition, VOID)
    for number in blocks(pieces, block):
        if not number:
            block[:len(MAGIC)] = BLANK
        feed()
        partition.ioctl(ERASE, number)
        partition.writeblocks(number, block, 0)
        partition.readblocks(number, found)
        if found != block:
            raise OSError("the read-only partition did not keep what was written")
    _mark(partition, MAGIC)


def _mark(partition, mark):
    """Write over the mark at the beginning and nothing else: what stays blank in a page is not changed."""
    partition.writeblocks(0, mark + b"\xff" * (PAGE - len(mark)), 0)


def blocks(pieces, block):
    """Fill `block` again and again; yield the number of each, the last one padded with zeros."""
    number = at = 0
    view = memoryview(block)
    for head, path, length in pieces:
        for part in _parts(head, path):
            while part:
                taken = min(len(part), len(block) - at)
                view[at:at + taken] = part[:taken]
                part, at = part[taken:], at + taken
                if at == len(block):
                    yield number
                    number, at = number + 1, 0
    if at:
        view[at:] = bytes(len(block) - at)
        yield number


def _parts(head, path):
    yield head
    if path:
        with open(path, "rb") as file:
            part = file.read(PAGE)
            while part:
                yield part
                part = file.read(PAGE)


def image(label, folder, package):
    """Return the image in pieces, each (bytes, path of a file that follows or None, its length)."""
    name, content = label
    inner = _file(name, content, None, len(content)) + _folder(package, folder, is_top=True)
    length = _length(inner)
    number = _number(length)
    if (len(MAGIC) + len(number) + length) % 2:
        number = b"\x80" + number           # the whole must be even
    return [(MAGIC + number, None, 0)] + inner


def _folder(name, path, is_top=False):
    """Return a folder with all that is loaded from it. On the top lies also what is not: for the root, and of other kinds."""
    inner = []
    for entry in sorted(os.listdir(path)):
        below = path + "/" + entry
        status = os.stat(below)
        if status[0] & IS_FOLDER:
            if not (is_top and entry == "root"):
                inner += _folder(entry, below)
        elif entry.rpartition(".")[2] in KINDS:
            inner += _file(entry, b"", below, status[6])
    return [(_number(FOLDER) + _number(len(_name(name)) + _length(inner)) + _name(name), None, 0)] + inner


def _file(name, content, path, length):
    data = _number(DATA) + _number(length)
    head = _number(FILE) + _number(len(_name(name)) + len(data) + length) + _name(name) + data
    return [(head + content, path, 0 if path is None else length)]


def _name(name):
    return _number(len(name)) + name.encode()


def _length(pieces):
    return sum([len(head) + length for head, _, length in pieces])


def _number(value):
    """Return a whole number in groups of seven bits, the highest first, all but the last marked."""
    coded = bytes((value & 0x7F,))
    while value > 0x7F:
        value >>= 7
        coded = bytes((value & 0x7F | 0x80,)) + coded
    return coded
