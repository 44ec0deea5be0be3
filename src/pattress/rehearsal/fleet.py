"""Many households of many jobs: lived through here, in processes of this machine, or on others by a scheduler.

A household is a value: its job's plan, its habits and its seed decide everything that happens in
it. So the outcome is the same wherever it is lived through, and however many work at it.
"""

import signal
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import FIRST_COMPLETED, ProcessPoolExecutor, wait
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from pattress.controller.digest import source_digest
from pattress.errors import UseError
from pattress.rehearsal.habits import DAYS_A_YEAR
from pattress.rehearsal.year import Year, live_year

SHORT_WAIT = 0.2        # between two looks at an interrupt [s]
ANSWER_WAIT = 10.0      # for a scheduler to answer [s]


@dataclass(frozen=True, slots=True)
class Household:
    """One home of a job: the plan's table, how often each channel is operated a day, its seed and number, and of what kind its inputs are."""

    job: str
    table: Mapping[str, Any]
    usual: tuple[float, ...]
    seed: int
    number: int
    days: int = DAYS_A_YEAR
    kinds: tuple[str, ...] = ()

    def live(self) -> Year:
        """Return its year."""
        return live_year(self.table, self.usual, seed=self.seed, household=self.number, days=self.days, kinds=self.kinds)


def homes_of(job: str, table: Mapping[str, Any], usual: Sequence[float], *, seed: int, households: int,
             days: int = DAYS_A_YEAR, kinds: Sequence[str] = ()) -> list[Household]:
    """Return so many households of one job."""
    return [Household(job, table, tuple(usual), seed, number, days, tuple(kinds)) for number in range(households)]


def live_all(homes: Sequence[Household], *, workers: int = 1, scheduler: str = "",
             progress: Callable[[int, int], None] | None = None) -> dict[str, tuple[Year, ...]]:
    """Let all households live; return the years of each job, in order.

    With a `scheduler` its workers do it, else `workers` processes of this machine. A keyboard
    interrupt ends it early and keeps all that are done; on this machine also those that live just
    then. `progress` is called with how many are done, of how many. Only from the main thread.
    Raises UseError when the scheduler does not answer or its workers run another pattress.
    """
    done: dict[int, Year] = {}
    if progress:
        progress(0, len(homes))
    with _interrupt_noted() as asked_to_stop:
        if scheduler:
            arriving = _on_others(homes, scheduler, asked_to_stop)
        elif workers > 1:
            arriving = _in_processes(homes, workers, asked_to_stop)
        else:
            arriving = _here(homes, asked_to_stop)
        for place, year in arriving:
            done[place] = year
            if progress:
                progress(len(done), len(homes))
    years: dict[str, tuple[Year, ...]] = {home.job: () for home in homes}
    for place in sorted(done):
        years[homes[place].job] += (done[place],)
    return years


@contextmanager
def _interrupt_noted() -> Iterator[list[int]]:
    """Note a keyboard interrupt in a list: an exception in the middle of a pool's own work could lock it up."""
    noted: list[int] = []
    before = signal.signal(signal.SIGINT, lambda number, frame: noted.append(number))
    try:
        yield noted
    finally:
        signal.signal(signal.SIGINT, before)


def _here(homes: Sequence[Household], asked_to_stop: list[int]) -> Iterator[tuple[int, Year]]:
    for place, home in enumerate(homes):
        if asked_to_stop:
            return
        yield place, home.live()


def _in_processes(homes: Sequence[Household], workers: int, asked_to_stop: list[int]) -> Iterator[tuple[int, Year]]:
    with ProcessPoolExecutor(workers, initializer=_leave_interrupts_to_the_parent) as pool:
        places = {pool.submit(home.live): place for place, home in enumerate(homes)}
        waiting = set(places)
        while waiting:
            ended, waiting = wait(waiting, timeout=SHORT_WAIT, return_when=FIRST_COMPLETED)
            for one in ended:
                yield places[one], one.result()
            if asked_to_stop:
                waiting = {one for one in waiting if not one.cancel()}      # those that run already are let finish


def _leave_interrupts_to_the_parent() -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)


def _on_others(homes: Sequence[Household], address: str, asked_to_stop: list[int]) -> Iterator[tuple[int, Year]]:
    try:
        from distributed import Client
        from distributed import wait as wait_for
    except ImportError as error:
        raise UseError("--scheduler needs Dask distributed, which is not installed\n"
                       "  try: pip install 'pattress[fleet]'") from error
    try:
        client = Client(address, timeout=ANSWER_WAIT)
    except (OSError, TimeoutError, ValueError) as error:
        raise UseError(f"no scheduler answers at {address!r}\n  allowed: an address such as tcp://192.0.2.7:8786, "
                       "as `dask scheduler` prints it") from error
    with client:
        _refuse_other_workers(client, address)
        places = {client.submit(home.live, pure=False): place for place, home in enumerate(homes)}
        waiting = set(places)
        while waiting and not asked_to_stop:
            try:
                ended, waiting = wait_for(waiting, timeout=SHORT_WAIT, return_when=FIRST_COMPLETED)
            except TimeoutError:
                continue
            for one in ended:
                yield places[one], one.result()
        client.cancel(list(waiting))


def _refuse_other_workers(client: Any, address: str) -> None:
    """Raise UseError unless every worker of a scheduler has the control program that this pattress has."""
    found = client.run(source_digest)
    if not found:
        raise UseError(f"the scheduler at {address} has no workers\n  try: dask worker {address}")
    others = sorted(worker for worker, digest in found.items() if digest != source_digest())
    if others:
        raise UseError(f"these workers have another control program than this pattress: {', '.join(others)}\n"
                       "  try: install the same version there, and start them anew")
