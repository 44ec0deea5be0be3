"""Who may ask: the passphrase of the label, how often it may be tried, and the sessions it opens.

Without a passphrase there is no login, and nothing can be asked over the page: there is no
default credential. The passphrase itself is not on the board, only its PBKDF2 key (RFC 8018,
HMAC-SHA-256). Computing it takes the board long, so it is done a little at a time.
"""

import asyncio
import os
from binascii import hexlify, unhexlify
from hashlib import sha256

from .tries import Memory

LONGEST = 64            # of a passphrase [B]: one block of SHA-256
ROUNDS_AT_ONCE = 8      # then the others have their turn
SESSIONS = 4            # the one unused longest makes room
SESSION_S = 86_400      # a session ends when it was not used so long, and when the board restarts
LONGEST_S = 604_800     # and at the latest so long after it was opened
BLOCK = 64
RAW = 128               # bytes that a random one is mixed from
NONCE, SIGNED = 16, 24  # letters of a device's cookie: which device it is, and that we say so


def unguessable(count):
    """Return random bytes, at most 32. An RP2040 gives one bit of its ring oscillator for each: many of them are needed, and mixed."""
    return sha256(os.urandom(RAW)).digest()[:count]


async def stretched(passphrase, salt, rounds):
    """Return the PBKDF2-HMAC-SHA-256 key of 32 bytes (RFC 8018, section 5.2). `passphrase` is 1 to 64 bytes."""
    padded = passphrase + bytes(BLOCK - len(passphrase))
    inner = bytes([byte ^ 0x36 for byte in padded])
    outer = bytes([byte ^ 0x5C for byte in padded])
    block = salt + b"\x00\x00\x00\x01"
    key = bytearray(32)
    for turn in range(rounds):
        block = sha256(outer + sha256(inner + block).digest()).digest()
        for i in range(32):
            key[i] ^= block[i]
        if turn % ROUNDS_AT_ONCE == 0:
            await asyncio.sleep(0)
    return bytes(key)


def is_same(one, other):
    """Compare two secrets of the same length in a time that does not depend on where they differ."""
    if len(one) != len(other):
        return False
    difference = 0
    for i in range(len(one)):
        difference |= one[i] ^ other[i]
    return difference == 0


class Guard:
    """Passphrase, tries and sessions.

    `secret` is `ROUNDS:SALT:KEY`, the last two in hexadecimal, or None; `read_only` forbids
    asking whatever anybody knows. `seconds` returns the seconds since power-up.

    Tries are counted for each peer, so that nobody keeps the others out; and for all together, far above, as
    a peer may have many addresses. A device that logged in once has a cookie which gives it tries of its own and keeps
    its connections from giving way to others: signed, so that nobody can make one, and good for nothing else.

    `memory` is what outlives it, as it is loaded only while somebody looks at the page.
    """

    def __init__(self, secret, seconds, read_only=False, random=unguessable, memory=None):
        self._secret = None
        if secret is not None:
            rounds, salt, key = secret.split(":")
            self._secret = int(rounds), unhexlify(salt), unhexlify(key)
        self.read_only = read_only or secret is None
        self._seconds, self._random = seconds, random
        self._memory = memory or Memory()

    def may_read(self, token):
        """Return whether the bearer of this session may see the page: all may when it is read-only."""
        return self.read_only or self.is_open(token)

    def may_ask(self, token):
        return not self.read_only and self.is_open(token)

    def is_open(self, token):
        """Return whether a session stands; if so it was used now."""
        now = self._seconds()
        self._memory.sessions = [session for session in self._memory.sessions if now - session[1] < SESSION_S and now - session[2] < LONGEST_S]
        for i, session in enumerate(self._memory.sessions):
            if is_same(session[0].encode(), token.encode()):
                session[1] = now
                self._memory.sessions.append(self._memory.sessions.pop(i))
                return True
        return False

    def wait(self, peer="", device=""):
        """Return how long no passphrase is looked at [s], 0 when one is; `device` is the cookie of a device that logged in before."""
        now = self._seconds()
        if self.knows(device):
            return self._memory.tries.wait(device, now)
        return max(self._memory.tries.wait(peer, now), self._memory.all_tries.wait("", now))

    async def enter(self, passphrase, peer="", device=""):
        """Return a new session's token for the right passphrase, "" for a wrong one or while `wait` is not over."""
        if self._secret is None or self.wait(peer, device) or not 1 <= len(passphrase) <= LONGEST:
            return ""
        now = self._seconds()           # counted before the long work, so that tries at once are counted too
        if self.knows(device):
            peer = device
        else:
            self._memory.all_tries.count("", now)
        self._memory.tries.count(peer, now)
        rounds, salt, key = self._secret
        if not is_same(await stretched(passphrase, salt, rounds), key):
            return ""
        token = hexlify(self._random(16)).decode()
        self._memory.sessions = self._memory.sessions[-(SESSIONS - 1):] + [[token, self._seconds(), self._seconds()]]
        return token

    def device(self, known=""):
        """Return the cookie of a device that has logged in: `known` if that is one."""
        return known if self.knows(known) else self._signed(hexlify(self._random(NONCE // 2)).decode())

    def knows(self, device):
        """Return whether this is the cookie of a device that logged in before."""
        return self._secret is not None and is_same(device.encode(), self._signed(device[:NONCE]).encode())

    def _signed(self, nonce):
        return nonce + hexlify(sha256(b"device " + self._secret[2] + nonce.encode()).digest()[:SIGNED // 2]).decode()

    def leave(self, token):
        self._memory.sessions = [session for session in self._memory.sessions if session[0] != token]


def form_token(session):
    """Return what a form of this session must carry, so that no other site's form can be sent in its name."""
    return hexlify(sha256(b"form " + session.encode()).digest()[:12]).decode()
