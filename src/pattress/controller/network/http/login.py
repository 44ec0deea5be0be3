"""Who may ask: the passphrase of the label, how often it may be tried, and the sessions it opens.

Without a passphrase there is no login, and nothing can be asked over the page: there is no
default credential. The passphrase itself is not on the board, only its PBKDF2 key (RFC 8018,
HMAC-SHA-256). Computing it takes the board long, so it is done a little at a time.
"""

import asyncio
import os
from binascii import hexlify, unhexlify
from hashlib import sha256

LONGEST = 64            # of a passphrase [B]: one block of SHA-256
ROUNDS_AT_ONCE = 8      # then the others have their turn
TRIES, TRY_S = 8, 15    # so many at once; one more is allowed after each TRY_S seconds
SESSIONS = 4            # the one unused longest makes room
SESSION_S = 86_400      # a session ends when it was not used so long, and when the board restarts
BLOCK = 64


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
    """

    def __init__(self, secret, seconds, read_only=False, random=os.urandom):
        self._secret = None
        if secret is not None:
            rounds, salt, key = secret.split(":")
            self._secret = int(rounds), unhexlify(salt), unhexlify(key)
        self.read_only = read_only or secret is None
        self._seconds, self._random = seconds, random
        self._tries, self._tried_at = TRIES, 0
        self._sessions = []             # [token, last used], the one used last at the end

    def may_read(self, token):
        """Return whether the bearer of this session may see the page: all may when it is read-only."""
        return self.read_only or self.is_open(token)

    def may_ask(self, token):
        return not self.read_only and self.is_open(token)

    def is_open(self, token):
        """Return whether a session stands; if so it was used now."""
        now = self._seconds()
        self._sessions = [session for session in self._sessions if now - session[1] < SESSION_S]
        for i, session in enumerate(self._sessions):
            if is_same(session[0].encode(), token.encode()):
                session[1] = now
                self._sessions.append(self._sessions.pop(i))
                return True
        return False

    def wait(self):
        """Return how long no passphrase is looked at [s], 0 when one is."""
        now = self._seconds()
        regained = (now - self._tried_at) // TRY_S
        if regained > 0:
            self._tries = min(TRIES, self._tries + regained)
            self._tried_at += regained * TRY_S
        return 0 if self._tries else TRY_S - (now - self._tried_at)

    async def enter(self, passphrase):
        """Return a new session's token for the right passphrase, "" for a wrong one or while `wait` is not over."""
        if self._secret is None or self.wait() or not 1 <= len(passphrase) <= LONGEST:
            return ""
        self._tries -= 1                # before the long work, so that tries at once are counted too
        rounds, salt, key = self._secret
        if not is_same(await stretched(passphrase, salt, rounds), key):
            return ""
        self._tries = min(TRIES, self._tries + 1)
        token = hexlify(self._random(16)).decode()
        self._sessions = self._sessions[-(SESSIONS - 1):] + [[token, self._seconds()]]
        return token

    def leave(self, token):
        self._sessions = [session for session in self._sessions if session[0] != token]


def form_token(session):
    """Return what a form of this session must carry, so that no other site's form can be sent in its name."""
    return hexlify(sha256(b"form " + session.encode()).digest()[:12]).decode()
