"""The passphrase of one controller: made for its label, and the record of it that the board keeps.

PBKDF2 with HMAC-SHA-256 (RFC 8018). The record does not give the passphrase back.
"""

from hashlib import pbkdf2_hmac
from secrets import choice, token_bytes

LETTERS = "23456789abcdefghjkmnpqrstuvwxyz"     # no letter that a label can make look like another
GROUPS, GROUP = 4, 4                            # 31 ** 16: 79 bits
ROUNDS = 1000                                   # what a board can do in some tenths of a second; the length does the rest
LONGEST = 64


def new_passphrase() -> str:
    """Return a passphrase for a label, e.g. `k7rm-2xqf-9b3t-wn6e`, from the system's source of secrets."""
    return "-".join("".join(choice(LETTERS) for _ in range(GROUP)) for _ in range(GROUPS))


def passphrase_record(passphrase: str, *, rounds: int = ROUNDS, salt: bytes | None = None) -> str:
    """Return `ROUNDS:SALT:KEY` as `controller.network.http.login.Guard` reads it.

    Raises ValueError when the passphrase is not 8 to 64 bytes of UTF-8.
    """
    content = passphrase.encode()
    if not 8 <= len(content) <= LONGEST:
        raise ValueError(f"passphrase must be 8 to {LONGEST} bytes, found {len(content)}")
    salt = token_bytes(16) if salt is None else salt
    return f"{rounds}:{salt.hex()}:{pbkdf2_hmac('sha256', content, salt, rounds).hex()}"
