"""A new program that arrives over the network, announced and signed: into the idle slot, or not at all.

What comes after its announcement, over whatever connection::

    the manifest, as long and with the digest as announced
    for each file in the manifest's order: its length, \\n, its content

The sequence is kept on the flash before the first file, so that nothing heard on the network can be said again, not
even to wear the flash. Flash is written a little at a time, only while the loop says that nothing stirs. The former
program runs on until all is there, read back, and the snapshot is saved.
"""

import asyncio
import os
from binascii import hexlify
from hashlib import sha256
from json import loads

from .announcement import CHANGED, CUT_OFF, FLASH, OUTSIDE, TOO_LONG, TOO_SLOW, Refused
from .filling import BESIDE, MANIFEST, clearing, promoting
from .sequence import keeping

PART = 512              # bytes held at once
READ_S = 10             # the other side may be silent for so long
LONGEST_S = 900         # all must be there by then
FILE_LIMIT = 65_536
LOOK_S = 0.05
REPLY_S = 2             # for the answer to go out before the restart
ROOT = "root/"


class Renewed(Exception):
    """No fault: the board restarts with a new program."""


class Source:
    """Bytes as they come, by lines and by parts. `read` returns some, b"" when there are no more."""

    def __init__(self, read, seconds):
        self._read, self._seconds, self._until = read, seconds, seconds() + LONGEST_S
        self._held = b""

    async def _more(self):
        if self._seconds() > self._until:
            raise Refused(TOO_SLOW)
        try:
            data = await asyncio.wait_for(self._read(PART), READ_S)
        except asyncio.TimeoutError:
            raise Refused(TOO_SLOW)
        if not data:
            raise Refused(CUT_OFF)
        return data

    async def line(self, limit):
        """Return a line without its end."""
        while True:
            end = self._held.find(b"\n")
            if end > limit or (end < 0 and len(self._held) > limit):
                raise Refused(TOO_LONG)
            if end >= 0:
                line, self._held = self._held[:end], self._held[end + 1:]
                return line
            self._held += await self._more()

    async def part(self, most):
        """Return 1 to `most` bytes, never more than PART."""
        if not self._held:
            self._held = await self._more()
        most = min(most, PART)
        part, self._held = self._held[:most], self._held[most:]
        return part


class Arriving:
    """Takes a program. `slots` as in `start`, `seconds` since power-up; `is_idle` says whether nothing stirs."""

    def __init__(self, slots, seconds, is_idle):
        self._slots, self._seconds, self._is_idle = slots, seconds, is_idle

    async def take(self, announced, read, joins=False):
        """Take the program that was `announced` (see `Announcements.accept`) and let it start next; return its slot. Raises Refused.

        `read` gives some bytes, b"" when there are no more. `joins`: the program is healthy only if it joins the
        network, as this one has.
        """
        try:
            return await self._take(announced, Source(read, self._seconds), joins)
        except OSError:
            raise Refused(FLASH)
        except ValueError:              # a number that is none: signed nonsense, or a file's length
            raise Refused(CHANGED)

    async def _take(self, announced, source, joins):
        sequence, length, digest = announced
        for _ in keeping(self._slots, sequence):
            await self._quiet()
        slot = self._slots.idle()
        for _ in clearing(self._slots, slot):
            await self._quiet()
        manifest = self._slots.path(slot, BESIDE)
        await self._write(source, manifest, length, digest)
        names = []
        with open(manifest) as file:
            for name, wanted in files_of(file):
                if not is_inside(name):
                    raise Refused(OUTSIDE)
                names.append(name)
                await self._file(source, slot, name, wanted)
        await self._tidy(slot, names)
        await self._renew_start(slot, names)
        for _ in promoting(self._slots, slot, joins):
            await self._quiet()
        return slot

    async def _file(self, source, slot, name, wanted):
        length = int((await source.line(8)).decode())
        if not 0 <= length <= FILE_LIMIT:
            raise Refused(TOO_LONG)
        path = self._slots.path(slot, name)
        if await self._digest(path) == wanted:
            while length:               # it lies there from an earlier time
                length -= len(await source.part(length))
            return
        await self._folders(slot, name)
        await self._write(source, path, length, wanted)

    async def _write(self, source, path, length, wanted):
        """Write `length` bytes that come, and read back what lies there. Raises Refused when it is not as signed."""
        await self._quiet()
        file = open(path, "wb")
        try:
            while length:
                part = await source.part(length)
                await self._quiet()
                file.write(part)
                length -= len(part)
            await self._quiet()
        finally:
            file.close()
        if await self._digest(path) != wanted:
            raise Refused(CHANGED)

    async def _replace(self, name, parts):
        """Let other content take the place of a file on the root: it is whole beside it before it is renamed."""
        beside, total = self._slots.path(name + ".new"), sha256()
        await self._quiet()
        with open(beside, "wb") as file:
            for part in parts:
                total.update(part)
                await self._quiet()
                file.write(part)
            await self._quiet()
        if await self._digest(beside) != hexlify(total.digest()).decode():
            raise Refused(FLASH)
        await self._quiet()
        os.rename(beside, self._slots.path(name))

    async def _renew_start(self, slot, names):
        """Let what starts the board be that of the new program, where it differs; `main.py` last."""
        for name in sorted([name for name in names if name.startswith(ROOT)], key=lambda name: name.endswith("/main.py")):
            path, place = self._slots.path(slot, name), name[len(ROOT):]
            if await self._digest(path) != await self._digest(self._slots.path(place)):
                await self._replace(place, parts_of(path))

    async def _tidy(self, slot, names):
        """Remove what the manifest does not know."""
        inner = [""]
        while inner:
            place = inner.pop()
            for name in os.listdir(self._slots.path(slot, place) if place else self._slots.path(slot)):
                path = self._slots.path(slot, place + name)
                if os.stat(path)[0] & 0x4000:
                    inner.append(place + name + "/")
                elif place + name not in names and name != BESIDE:
                    await self._quiet()
                    os.remove(path)

    async def _folders(self, slot, name):
        place = name.find("/")
        while place >= 0:
            await self._quiet()
            try:
                os.mkdir(self._slots.path(slot, name[:place]))
            except OSError:
                pass                    # it is there
            place = name.find("/", place + 1)

    async def _digest(self, path):
        """Return the SHA-256 of a file in hexadecimal, "" when there is none, with turns of the loop between."""
        total = sha256()
        try:
            for part in parts_of(path):
                total.update(part)
                await asyncio.sleep(0)
        except OSError:
            return ""
        return hexlify(total.digest()).decode()

    async def _quiet(self):
        """Wait until flash may be written."""
        await asyncio.sleep(0)
        while not self._is_idle():
            await asyncio.sleep(LOOK_S)


def is_inside(name):
    """Return whether a file of a manifest lies in its slot and is not the manifest; to the root of the flash go modules only."""
    for part in name.split("/"):
        if part in ("", ".", ".."):
            return False
    if name.startswith(ROOT):
        return "/" not in name[len(ROOT):] and name.rpartition(".")[2] in ("py", "mpy")
    return name not in (MANIFEST, BESIDE)


def parts_of(path):
    """Yield the content of a file a little at a time."""
    with open(path, "rb") as file:
        part = file.read(PART)
        while part:
            yield part
            part = file.read(PART)


def files_of(manifest):
    """Yield name and digest of each file of a manifest, a line at a time: it is written sorted, one entry to a line."""
    is_inside = False
    for line in manifest:
        line = line.strip()
        if line == '"files": {':
            is_inside = True
        elif is_inside and line.startswith("}"):
            return
        elif is_inside:
            for name, digest in loads("{" + line.rstrip(",") + "}").items():
                yield name, digest


async def restart(program):
    """Let the board restart as soon as nothing stirs and the snapshot is saved: then the new program runs, on trial."""
    await asyncio.sleep(REPLY_S)
    while not (program.is_idle() and program.loop.is_saved()):
        await asyncio.sleep(LOOK_S)
    program.loop.stop(Renewed("a new program is there"))
