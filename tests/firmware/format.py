"""Runs under the interpreter of a PC: writes `image`, a littlefs2 as a board's firmware mounts it, with all from `files`.

Reads one line: the number of its sectors.
"""

import os
import sys

import vfs

SECTOR, PAGE = 4096, 256        # as the firmware's own start mounts it
COUNT, SIZE, ERASE = 4, 5, 6
IS_FOLDER = 0x4000              # in the mode of a file
BLANK = b"\xff" * SECTOR


class Image:
    """A block device in a file."""

    def __init__(self, name, sectors):
        self.sectors, self.file = sectors, open(name, "w+b")
        for _ in range(sectors):
            self.file.write(BLANK)

    def readblocks(self, number, buffer, offset=0):
        self.file.seek(number * SECTOR + offset)
        self.file.readinto(buffer)

    def writeblocks(self, number, buffer, offset=0):
        self.file.seek(number * SECTOR + offset)
        self.file.write(buffer)

    def ioctl(self, operation, number):
        if operation == ERASE:
            self.writeblocks(number, BLANK)
        return {COUNT: self.sectors, SIZE: SECTOR}.get(operation, 0)


def copy(there, here):
    for name in os.listdir(there):
        from_path, to_path = there + "/" + name, here + "/" + name
        if os.stat(from_path)[0] & IS_FOLDER:
            os.mkdir(to_path)
            copy(from_path, to_path)
        else:
            with open(from_path, "rb") as source, open(to_path, "wb") as target:
                target.write(source.read())


image = Image("image", int(sys.stdin.readline()))
vfs.VfsLfs2.mkfs(image, progsize=PAGE)
vfs.mount(vfs.VfsLfs2(image, progsize=PAGE), "/made")
copy("files", "/made")
vfs.umount("/made")
image.file.close()
