"""The passphrase of one controller: made for its label, and the record of it that the board keeps.

PBKDF2 with HMAC-SHA-256 (RFC 8018). The record does not give the passphrase back.
"""

import re
from hashlib import pbkdf2_hmac
from hmac import compare_digest
from secrets import choice, token_bytes

LETTERS = "23456789abcdefghjkmnpqrstuvwxyz"     # no letter that a label can make look like another
GROUPS, GROUP = 4, 4                            # 31 ** 16: 79 bits
ROUNDS = 1000                                   # what a board can do in some tenths of a second; the length does the rest
LONGEST = 64
LEAST_GUESSES = 14          # powers of ten that one of a person's own must cost whoever has a stolen board: at 5e5 tries a second six years


def new_passphrase() -> str:
    """Return a passphrase for a label, e.g. `k7rm-2xqf-9b3t-wn6e`, from the system's source of secrets."""
    return "-".join("".join(choice(LETTERS) for _ in range(GROUP)) for _ in range(GROUPS))


def passphrase_record(passphrase: str, *, rounds: int = ROUNDS, salt: bytes | None = None) -> str:
    """Return `ROUNDS:SALT:KEY` as `controller.network.http.login.Guard` reads it.

    Raises ValueError when the passphrase is not 8 to 64 bytes of UTF-8, or is one of a person's own that is soon guessed.
    """
    content = passphrase.encode()
    if not 8 <= len(content) <= LONGEST:
        raise ValueError(f"passphrase must be 8 to {LONGEST} bytes, found {len(content)}")
    if not _is_made(passphrase) and (found := _guesses(passphrase)) < LEAST_GUESSES:
        raise ValueError(f"passphrase is guessed within 10^{found:.0f} tries\n  allowed: one that takes 10^{LEAST_GUESSES}, such as five words drawn at random; or delete the line, and one is made")
    salt = token_bytes(16) if salt is None else salt
    return f"{rounds}:{salt.hex()}:{pbkdf2_hmac('sha256', content, salt, rounds).hex()}"


def is_of(record: str, passphrase: str) -> bool:
    """Return whether a record is that of a passphrase."""
    rounds, salt, key = record.split(":")
    return compare_digest(pbkdf2_hmac("sha256", passphrase.encode(), bytes.fromhex(salt), int(rounds)).hex(), key)


def _is_made(passphrase: str) -> bool:
    """Return whether a passphrase has the form of those made here, which none of a person's own has by chance."""
    return re.fullmatch("-".join([f"[{LETTERS}]{{{GROUP}}}"] * GROUPS), passphrase) is not None


def _guesses(passphrase: str) -> float:
    """Return how many tries a passphrase takes, as a power of ten: the estimate of zxcvbn (D. Wheeler, USENIX Security 2016)."""
    from zxcvbn import zxcvbn  # costs time

    return float(zxcvbn(passphrase)["guesses_log10"])
