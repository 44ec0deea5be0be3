"""A bundle signed for the network: its announcement, and what follows (`controller/announcement.py`, `arriving.py` say of what it is made).

HMAC-SHA-256 (RFC 2104) with the job's own key. Whoever hears it can neither change it nor say it again.
"""

import hmac
from collections.abc import Iterator
from hashlib import sha256
from pathlib import Path

from pattress.bundle.manifest import NAME, verify

WORD, FORMAT = "pattress", 2


def announcement(manifest: bytes, *, key: str, sequence: int) -> str:
    """Return what announces a manifest: its sequence, length and digest, and the signature of all that.

    `key` is hexadecimal, as in the job's secrets; `sequence` must be higher than any before.
    """
    said = f"{WORD} {FORMAT} {sequence} {len(manifest)} {sha256(manifest).hexdigest()}"
    return f"{said} {hmac.new(bytes.fromhex(key), said.encode(), sha256).hexdigest()}"


def announced(folder: Path) -> Iterator[tuple[str, bytes]]:
    """Yield (name, bytes) of what follows a bundle's announcement, in the order in which it is sent: first the manifest as it is.

    Raises Damaged when the bundle is not what its manifest says.
    """
    names = verify(folder).files
    yield NAME, (folder / NAME).read_bytes()
    for name in sorted(names):
        content = (folder / name).read_bytes()
        yield name, b"%d\n" % len(content) + content
