"""The job file as the page holds it: its text, the design that follows, and the way back.

The file is the truth. An edit becomes a text, the text is read as the command line reads it, and
only then is the file replaced, whole. When somebody else has written the file in the meantime,
that text is taken up first and nothing is overwritten.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from hashlib import sha256
from pathlib import Path as FilePath
from threading import RLock
from typing import Any

from pattress.atomic_write import rewrite
from pattress.design import Design, boards_of, build, refuse_slips
from pattress.design.rewriting import edited
from pattress.job import Job, JobError, Source, read
from pattress.job.problem import Path
from pattress.job.reading import BYTE_ORDER_MARK, text_as_written
from pattress.job.syntax import document
from pattress.refusal import Refusal, as_found
from pattress.stock.boards import Boards, load_boards
from pattress.stock.own import NOTHING, Own
from pattress.stock.parts import Parts, load_parts
from pattress.stock.record import StockError
from pattress.stock.tolerances import straying

MOST_STEPS_BACK = 200

Edit = tuple[Path, Any]            # where, and the new TOML value; None takes the key away
Stamp = tuple[int, int, int] | None            # what tells a file from an earlier state of it; None when there is none


class WrittenMeanwhile(Exception):
    """The file was written by somebody else since it was read; the draft holds that text now."""


@dataclass(frozen=True, eq=False)
class Version:
    """One text of the job file and everything that follows from it; `board_stamp` is that of the job's own board file when it was read."""

    text: str
    design: Design
    board_stamp: Stamp

    @cached_property
    def digest(self) -> str:
        """Return what tells this version from any other: its text, and the board where a file of its own gives it."""
        return digest_of(self.text + (repr(self.design.board) if self.design.job.board.file else ""))

    @cached_property
    def table(self) -> dict[str, Any]:
        """Return the document as the file writes it, before any reading of units."""
        return table_of(self.text)


class Draft:
    """The job file in the making. Every method may be called from any thread.

    Raises JobError or StockError when the file cannot be used to begin with.
    """

    def __init__(self, file: FilePath, own: Own = NOTHING):
        self.file, self.own = file, own
        self._parts, self._boards = load_parts(own.parts), load_boards(own.boards)
        self._lock = RLock()
        self._back: list[str] = []
        self._forth: list[str] = []
        self._texts: dict[str, str] = {}
        self.trouble: JobError | None = None       # of the file as it stands; `now` is the last text that could be read
        self.now = self._version(text_as_written(file), None)
        self._keep()

    @property
    def state(self) -> str:
        """Return what tells what a tab should show from anything else: the version, and trouble with the file."""
        return state_of(self.now, self.trouble)

    @property
    def stamps(self) -> tuple[Stamp, Stamp]:
        """Return what tells the files that the version is read from, the job's and its board's, from an earlier state of them."""
        return _stamp(self.file), self._board_stamp(self.now.design.job)

    @property
    def can_undo(self) -> bool:
        """Return whether there is a way back."""
        return bool(self._back)

    @property
    def can_redo(self) -> bool:
        """Return whether something undone can be done again."""
        return bool(self._forth)

    def text_of(self, digest: str) -> str | None:
        """Return a text that the page has shown, None when it is not known any more."""
        return self._texts.get(digest)

    def look(self) -> bool:
        """Take up the file if somebody else has written it; return whether anything is new.

        A file that cannot be read leaves the last good version standing and `trouble` told.
        """
        with self._lock:
            try:
                text = text_as_written(self.file)
                if text == self.now.text and self._board_stamp(self.now.design.job) == self.now.board_stamp:
                    was, self.trouble = self.trouble, None
                    return was is not None
                fresh = self._version(text, self.now.design)
            except JobError as error:
                was, self.trouble = self.trouble, error
                return was is None or str(was) != str(error)
            if text == self.now.text:                # only the board file is another
                self.now = fresh
                self._keep()
            else:
                self._take(fresh)
            return True

    def trial(self, edits: Sequence[Edit], times: float = 1.0) -> Version:
        """Return the version that edits would give, writing nothing, with parts that stray so many times as far as their sheets say.

        Raises JobError or UseError.
        """
        parts = self._parts if times == 1.0 else straying(self._parts, times)
        return self._version(edited(self.now.text, tuple(edits), str(self.file)), self.now.design, parts)

    def write(self, edits: Sequence[Edit], over: Version | None = None) -> Version:
        """Write edits into the file and return the new version.

        Raises JobError when the job would not be usable with them, UseError when they cannot be
        written, WrittenMeanwhile when the file is not the one that was read, or the draft not
        the version `over` any more.
        """
        with self._lock:
            self._still(over)
            fresh = self.trial(edits)
            self._save(fresh.text)
            self._take(fresh)
            return fresh

    def replace(self, text: str, over: Version | None = None) -> Version:
        """Write a whole text; raises as `write` does."""
        with self._lock:
            self._still(over)
            fresh = self._version(text, self.now.design)
            self._save(text)
            self._take(fresh)
            return fresh

    def undo(self) -> Version:
        """Go one text back; does nothing at the first."""
        return self._step(self._back, self._forth)

    def redo(self) -> Version:
        """Go one text forth again; does nothing at the last."""
        return self._step(self._forth, self._back)

    def _step(self, steps: list[str], others: list[str]) -> Version:
        with self._lock:
            if not steps:
                return self.now
            fresh = self._version(steps[-1], self.now.design)
            self._save(fresh.text)
            others.append(self.now.text)
            steps.pop()
            self.now = fresh
            self._keep()
            return fresh

    def _still(self, over: Version | None) -> None:
        if over is not None and over is not self.now:
            raise WrittenMeanwhile

    def _save(self, text: str) -> None:
        if self.look() or self.trouble is not None:
            raise WrittenMeanwhile
        rewrite(self.file, text)

    def _take(self, fresh: Version) -> None:
        self._back = [*self._back, self.now.text][-MOST_STEPS_BACK:]
        self._forth.clear()
        self.now = fresh
        self._keep()

    def _keep(self) -> None:
        self.trouble = None
        self._texts[self.now.digest] = self.now.text
        while len(self._texts) > MOST_STEPS_BACK:
            del self._texts[next(iter(self._texts))]

    def _board_stamp(self, job: Job) -> Stamp:
        return _stamp(self.file.parent / job.board.file) if job.board.file else None

    def _version(self, text: str, earlier: Design | None, parts: Parts | None = None) -> Version:
        parts = self._parts if parts is None else parts
        job, source = read(text.removeprefix(BYTE_ORDER_MARK), str(self.file))
        stamp = self._board_stamp(job)           # before the file is read: what is written meanwhile is seen at the next look
        boards = self._boards_of(job, source, earlier)
        refuse_slips(job, source, parts, boards)
        return Version(text, build(job, parts, boards, earlier), stamp)

    def _boards_of(self, job: Job, source: Source, earlier: Design | None) -> Boards:
        """Return the boards the job can name, those of the version before where they are the same; raises JobError."""
        try:
            boards = boards_of(job, source, self._boards)
        except StockError as error:
            first, _, rest = str(error).partition("\n")
            raise JobError([source.problem(("board", "file"), Refusal(f"{as_found(job.board.file)}, which cannot be used: {first}", rest.strip().removeprefix("allowed: ")))]) from None
        before = earlier.results["boards"] if earlier is not None else boards
        return before if before == boards else boards


def _stamp(file: FilePath) -> Stamp:
    try:
        found = file.stat()
    except OSError:
        return None
    return found.st_mtime_ns, found.st_size, found.st_ino


def state_of(version: Version, trouble: JobError | None) -> str:
    """Return what tells a page of this version, with this trouble told, from any other."""
    return version.digest + (digest_of(str(trouble)) if trouble else "")


def digest_of(text: str) -> str:
    """Return what tells a text from any other."""
    return sha256(text.encode()).hexdigest()[:20]


def table_of(text: str) -> dict[str, Any]:
    """Return the document in a text that was read before."""
    return document(text.removeprefix(BYTE_ORDER_MARK).replace("\r\n", "\n"), "")
