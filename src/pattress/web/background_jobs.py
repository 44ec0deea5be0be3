"""Background jobs: proof, rehearsal, hand-over in a process of their own, with progress and a way to stop.

One of a kind runs at a time; its last outcome is kept with the version of the job file it was made
from, so that a sheet can say when it is stale. The work is a function of a module that takes `tell`
first, as `tell(words, done, of)`; its arguments and its outcome go between processes.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from multiprocessing import get_context
from multiprocessing.connection import Connection
from threading import RLock, Thread
from time import monotonic
from typing import Any
from weakref import WeakKeyDictionary

from pattress.errors import PattressError
from pattress.web.draft import Draft, Version
from pattress.web.news import News

LEAST_BETWEEN = 0.2          # s between two tellings of progress


@dataclass(frozen=True, slots=True)
class BackgroundJob:
    """A background job as it stands. `done` of `of` parts; `of` is 0 as long as nobody knows.

    `outcome` is what came of it, `trouble` why nothing did, `version` the job it is about.
    """

    kind: str
    version: Version
    number: int = 0
    running: bool = False
    words: str = ""
    done: int = 0
    of: int = 0
    outcome: Any = None
    trouble: str = ""
    seconds: float = 0.0


@dataclass(frozen=True, slots=True)
class BackgroundJobShown:
    """A background job as a sheet prints it. `stale` says that the job has changed since it was made."""

    kind: str
    running: bool
    words: str
    done: int
    of: int
    trouble: str
    took: str
    stale: bool


def background_job_shown(work: BackgroundJob | None, kind: str, now: Version) -> BackgroundJobShown:
    """Return a background job as a sheet prints it, also one that never began."""
    if work is None:
        return BackgroundJobShown(kind, False, "", 0, 0, "", "", False)
    took = f"{work.seconds:.1f} s" if work.outcome is not None else ""
    return BackgroundJobShown(kind, work.running, work.words, work.done, work.of, work.trouble, took, work.version.digest != now.digest)


class BackgroundJobs:
    """The background jobs of one draft. Any thread may call."""

    def __init__(self) -> None:
        self._works: dict[str, BackgroundJob] = {}
        self._processes: dict[str, Any] = {}
        self._lock = RLock()

    def of(self, kind: str) -> BackgroundJob | None:
        """Return a background job as it stands, None when there never was one of this kind."""
        return self._works.get(kind)

    def begin(self, kind: str, version: Version, news: News, work: Callable[..., Any], *arguments: Any) -> bool:
        """Begin a background job in a process of its own; False when one of its kind is running."""
        with self._lock:
            was = self._works.get(kind)
            if was is not None and was.running:
                return False
            number = was.number + 1 if was else 1
            self._works[kind] = BackgroundJob(kind, version, number, running=True, words="begins")
            context = get_context("spawn")
            ours, theirs = context.Pipe(duplex=False)
            process = context.Process(target=_live, args=(theirs, work, arguments), daemon=True)
            process.start()
            theirs.close()
            self._processes[kind] = process
        Thread(target=self._follow, args=(kind, number, ours, process, news), daemon=True).start()
        return True

    def stop(self, kind: str) -> bool:
        """Stop a background job; False when none of its kind is running."""
        with self._lock:
            was = self._works.get(kind)
            if was is None or not was.running:
                return False
            self._works[kind] = replace(was, running=False, trouble="stopped", words="")
            self._processes.pop(kind).terminate()
            return True

    def _follow(self, kind: str, number: int, ours: Connection, process: Any, news: News) -> None:
        began = told = monotonic()
        outcome, trouble = None, "the process ended without a result; is there enough memory?"
        try:
            while True:
                what, value = ours.recv()
                if what != "progress":
                    outcome, trouble = (value, "") if what == "outcome" else (None, value)
                    break
                words, done, of = value
                self._set(kind, number, words=words, done=done, of=of)
                if monotonic() - told >= LEAST_BETWEEN:
                    told = monotonic()
                    news.tell("progress", {"kind": kind, "words": words, "done": done, "of": of})
        except (EOFError, OSError):
            pass
        process.join()
        ours.close()
        self._set(kind, number, running=False, outcome=outcome, trouble=trouble, words="", seconds=monotonic() - began)
        news.tell("look", {})

    def _set(self, kind: str, number: int, **changes: Any) -> None:
        """Change a background job, unless it was stopped in the meantime."""
        with self._lock:
            was = self._works[kind]
            if was.number == number and was.running:
                self._works[kind] = replace(was, **changes)


_OF_DRAFT: WeakKeyDictionary[Draft, BackgroundJobs] = WeakKeyDictionary()


def background_jobs_of(draft: Draft) -> BackgroundJobs:
    """Return the background jobs of a draft."""
    return _OF_DRAFT.setdefault(draft, BackgroundJobs())


def _live(pipe: Connection, work: Callable[..., Any], arguments: tuple[Any, ...]) -> None:
    """Run a background job in this process and send its outcome."""
    def tell(words: str, done: int = 0, of: int = 0) -> None:
        pipe.send(("progress", (words, done, of)))

    try:
        pipe.send(("outcome", work(tell, *arguments)))
    except PattressError as error:
        pipe.send(("trouble", str(error)))
    except Exception as error:               # whatever it is, the page must say that there is no outcome
        pipe.send(("trouble", f"a fault in pattress itself: {type(error).__name__}: {error}"))
        raise
