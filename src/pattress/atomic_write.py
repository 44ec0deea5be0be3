"""Writing a file whole or not at all: beside its place, then renamed into it."""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import NamedTemporaryFile

from pattress.errors import UseError


def write_atomically(file: Path, content: str | bytes, *, mode: int = 0o644) -> None:
    """Write a file so that a reader, or Ctrl-C, finds the old content or the new, never a piece.

    Folders on the way are made; `mode` says who may read it, from the first byte on. Raises UseError when the place cannot be written.
    """
    data = content.encode() if isinstance(content, str) else content
    with writing(file):
        file.parent.mkdir(parents=True, exist_ok=True)
        with NamedTemporaryFile(dir=file.parent, prefix=f".{file.name}.", delete=False) as beside:
            try:
                beside.write(data)
                beside.close()
                os.chmod(beside.name, mode)
                os.replace(beside.name, file)
            except BaseException:
                Path(beside.name).unlink(missing_ok=True)
                raise


@contextmanager
def writing(place: Path | str) -> Iterator[None]:
    """Turn what keeps a place from being written (a full disk, a folder of somebody else) into a UseError that names it."""
    try:
        yield
    except OSError as error:
        raise UseError(f"{place} cannot be written: {error.strerror}") from error
