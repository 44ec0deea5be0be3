"""Runs under MicroPython: flash for littlefs2 whose power is cut in the middle of an operation."""

import micropython

SECTOR, SECTORS = 512, 64
FAILED = -5


class Flash:
    """Sectors that must be erased before they are programmed; of the operation that is cut a part is done."""

    def __init__(self, content=None, sectors=SECTORS):
        self.content = content or bytearray(b"\xff" * (SECTOR * sectors))
        self.sectors = sectors
        self.left, self.halves = -1, 0      # operations until the cut, and how much of the last is done
        self.is_off = False

    @micropython.native
    def readblocks(self, block, buffer, offset=0):
        at = block * SECTOR + offset
        for i in range(len(buffer)):        # an abandoned file is closed by the collector, where nothing may be made
            buffer[i] = self.content[at + i]

    @micropython.native
    def writeblocks(self, block, buffer, offset=0):
        at = block * SECTOR + offset
        for i in range(self._done(len(buffer))):
            self.content[at + i] &= buffer[i]
        return FAILED if self.is_off else 0

    def ioctl(self, operation, argument):
        if operation == 4:
            return self.sectors
        if operation == 5:
            return SECTOR
        if operation == 6:
            at = argument * SECTOR
            for i in range(at, at + self._done(SECTOR)):
                self.content[i] = 0xFF
            return FAILED if self.is_off else 0
        return 0

    def _done(self, length):
        """Return how many bytes of an operation reach the flash."""
        if self.is_off:
            return 0
        self.left -= 1
        if self.left:
            return length
        self.is_off = True
        return length * self.halves // 2
