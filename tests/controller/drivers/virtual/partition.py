"""Stands in for a board's read-only partition: flash in blocks, and what the interpreter's `vfs` does with it.

`memory` is the flash. A write clears bits only, an erase sets those of one block. Of the operation
that is `left` operations ahead a part is done, then nothing more: `tear` gives the share of
what is done, in quarters, and from which end; the next write raises `error`.
"""

import sys

SIZE = 4096
FAILED = -5


class Partition:
    def __init__(self, memory):
        self.memory, self.left, self.tear = memory, -1, (4, False)
        self.is_off, self.error = False, OSError
        self.operations = 0

    def ioctl(self, operation, argument):
        if operation == 4:
            return len(self.memory) // SIZE
        if operation == 5:
            return SIZE
        if operation == 6:
            at = argument * SIZE
            start, end = self._done(at, at + SIZE)
            self.memory[start:end] = b"\xff" * (end - start)
            return FAILED if self.is_off else 0
        return 0

    def readblocks(self, block, buffer, offset=0):
        at = block * SIZE + offset
        buffer[:] = self.memory[at:at + len(buffer)]

    def writeblocks(self, block, buffer, offset=0):
        at = block * SIZE + offset
        start, end = self._done(at, at + len(buffer))
        if self.is_blank(start, end):
            self.memory[start:end] = buffer[start - at:end - at]
        else:
            for place in range(start, end):
                self.memory[place] &= buffer[place - at]
        if self.is_off:
            raise self.error(5)

    def is_blank(self, start, end):
        return bytes(self.memory[start:end]) == b"\xff" * (end - start)

    def _done(self, start, end):
        """Return from where to where an operation reaches the flash."""
        if self.is_off:
            return start, start
        self.operations += 1
        self.left -= 1
        if self.left:
            return start, end
        self.is_off = True
        quarters, is_from_the_end = self.tear
        part = (end - start) * quarters // 4
        return (end - part, end) if is_from_the_end else (start, start + part)


class Vfs:
    """The interpreter's `vfs` on a board with the partition. What lay in it at power-up is mounted."""

    def __init__(self, partition):
        import vfs

        self.real, self.partition = vfs, partition
        self.umount = vfs.umount
        try:
            vfs.mount(vfs.VfsRom(partition.memory), "/rom")
        except OSError:
            pass                        # there is no image

    def rom_ioctl(self, *asked):
        return self.partition if asked == (2, 0) else -22

    def VfsRom(self, partition):
        return self.real.VfsRom(partition.memory)

    def mount(self, *given):
        return self.real.mount(*given)


def have(memory):
    """Give the board a partition; return it."""
    partition = Partition(memory)
    sys.modules["vfs"] = Vfs(partition)
    return partition
