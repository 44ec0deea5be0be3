"""Whether a program may come over the network now: it must be announced, signed with the key of the job, and newer.

The announcement is one field of the request's head, so that whoever has no key is heard no further than that::

    pattress 2 SEQUENCE LENGTH DIGEST SIGNATURE

LENGTH and DIGEST (SHA-256) are those of the manifest that follows. The signature is HMAC-SHA-256 (RFC 2104, FIPS 180-4;
checked with RFC 4231) over all before it: it names the manifest, and the manifest every file, so nothing unsigned is
ever taken. SEQUENCE must rise: an announcement that was heard is spent, whatever becomes of its program, so
that nothing heard on the network can be said again. One that nobody heard is refused once a newer one came.
"""

from binascii import unhexlify
from hashlib import sha256

from .sequence import newest

FIRST, FORMAT = b"pattress", b"2"
MANIFEST_LIMIT = 32_768
BLOCK = 64

# Why a program is refused, in the order of the numbers in the ring of events.
UNSIGNED, OLDER, CHANGED, CUT_OFF, TOO_SLOW, TOO_LONG, FLASH, BUSY, TRIAL, UNKNOWN, OUTSIDE = range(11)
REASONS = ("not signed with the key of this controller", "not newer than the newest one", "not as signed", "cut off",
           "too slow", "longer than a program", "the flash did not keep it", "another one is arriving",
           "the newest one is still on trial", "the number of the newest one is lost here, put one over USB",
           "a file outside its place")


class Refused(Exception):
    """What is announced or arrives is not taken; `number` is a place in REASONS."""

    def __init__(self, number):
        super().__init__(REASONS[number])
        self.number = number


class Announcements:
    """Judges one announcement after the other. `slots` as in `start`, `key` 1 to 64 bytes; `is_busy` while a program arrives."""

    def __init__(self, slots, key):
        self._slots, self._key, self._newest = slots, key, newest(slots)
        self.is_busy = False

    def accept(self, line):
        """Return (sequence, length, digest) of the manifest that may come now; from then on it `is_busy`. Raises Refused.

        Reads flash, but writes nothing.
        """
        sequence, length, digest = announced(line, self._key)
        if self._newest is None:
            raise Refused(UNKNOWN)
        if sequence <= self._newest:
            raise Refused(OLDER)
        self._newest = sequence         # spent, though it may be refused below
        if self.is_busy:
            raise Refused(BUSY)
        if self._slots.record()["trial"] and len(self._slots.whole()) > 1:      # the other slot holds the proven one
            raise Refused(TRIAL)
        if length > MANIFEST_LIMIT:
            raise Refused(TOO_LONG)
        self.is_busy = True
        return sequence, length, digest


def announced(line, key):
    """Return (sequence, length, digest) of an announcement. Raises Refused before anything in it is believed."""
    said, _, signed = line.rpartition(b" ")
    try:
        signed = unhexlify(signed)
    except ValueError:
        signed = b""
    if not is_same(signature(key, said), signed):
        raise Refused(UNSIGNED)
    first, form, sequence, length, digest = said.split(b" ")
    if first != FIRST or form != FORMAT:
        raise Refused(UNSIGNED)
    return int(sequence), int(length), digest.decode()


def signature(key, message):
    """Return the HMAC-SHA-256 of a message; the key is 1 to 64 bytes."""
    padded = key + bytes(BLOCK - len(key))
    inner = sha256(bytes([byte ^ 0x36 for byte in padded]) + message).digest()
    return sha256(bytes([byte ^ 0x5C for byte in padded]) + inner).digest()


def is_same(one, other):
    """Compare in a time that does not depend on where they differ."""
    difference = len(one) ^ len(other)
    for i in range(min(len(one), len(other))):
        difference |= one[i] ^ other[i]
    return difference == 0
