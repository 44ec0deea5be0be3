"""Writing a file whole or not at all: beside its place, then renamed into it."""

import os
import stat
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


def rewrite(file: Path, content: str | bytes) -> None:
    """Write a file that a person keeps, whole or not at all: where it really lies, should `file` be a link, and readable for whom it was.

    Raises UseError when it cannot be written.
    """
    real = Path(os.path.realpath(file))
    with writing(file):
        mode = stat.S_IMODE(real.stat().st_mode)
    write_atomically(real, content, mode=mode)


def write_inside(folder: Path, place: str | Path, content: str | bytes, *, mode: int = 0o644) -> Path:
    """Write a file at a place in a folder, whole or not at all, and return its path.

    Raises UseError when it cannot be written, or when a folder on the way is a link: what it leads to is not of this folder.
    """
    refuse_links(folder, place)
    write_atomically(folder / place, content, mode=mode)
    return folder / place


def refuse_links(folder: Path, place: str | Path) -> None:
    """Raise UseError when a folder on the way from `folder` to a place in it is a link."""
    for part in list((folder / place).parents)[: len(Path(place).parts) - 1]:
        if part.is_symlink():
            raise UseError(f"{part} is a link to another folder, and nothing is written through it\n  allowed: take the link away, or choose another folder")


@contextmanager
def writing(place: Path | str) -> Iterator[None]:
    """Turn what keeps a place from being written (a full disk, a folder of somebody else) into a UseError that names it."""
    try:
        yield
    except OSError as error:
        raise UseError(f"{place} cannot be written: {error.strerror}") from error
