"""A bundle signed for the network: the stream that a controller takes (`controller/arriving.py` says of what it is made).

HMAC-SHA-256 (RFC 2104) with the job's own key. Whoever hears it can neither change it nor say it again.
"""

import hmac
from collections.abc import Iterator
from hashlib import sha256
from pathlib import Path

from pattress.bundle.manifest import NAME, verify

WORD, FORMAT = "pattress", 1


def signed_head(manifest: bytes, *, key: str, sequence: int) -> bytes:
    """Return the first line of a stream: sequence, length and digest of a manifest, and the signature of all that.

    `key` is hexadecimal, as in the job's secrets; `sequence` must be higher than any before.
    """
    said = f"{WORD} {FORMAT} {sequence} {len(manifest)} {sha256(manifest).hexdigest()}".encode()
    return said + b" " + hmac.new(bytes.fromhex(key), said, sha256).hexdigest().encode() + b"\n"


def signed_stream(folder: Path, *, key: str, sequence: int) -> Iterator[tuple[str, bytes]]:
    """Yield (name, bytes) of a bundle, signed, piece by piece in the order in which they are sent.

    Raises Damaged when the bundle is not what its manifest says.
    """
    names = verify(folder).files
    manifest = (folder / NAME).read_bytes()
    yield NAME, signed_head(manifest, key=key, sequence=sequence) + manifest
    for name in sorted(names):
        content = (folder / name).read_bytes()
        yield name, b"%d\n" % len(content) + content
