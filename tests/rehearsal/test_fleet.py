"""Many households: the same outcome here, in processes, and on the workers of a scheduler; what an interrupt leaves."""

import os
import signal
import subprocess
import sys

import pytest
from distributed import LocalCluster

from pattress.errors import UseError
from pattress.rehearsal.fleet import homes_of, live_all

from .plans import one_lamp, sewing_room

USUAL = (8.0, 6.0, 4.0, 2.0, 5.0, 6.0, 4.0)


def homes(seed=3):
    """Return the homes of a fleet of two jobs."""
    return [*homes_of("room", sewing_room(), USUAL, seed=seed, households=3, days=4), *homes_of("lamp", one_lamp(), (8.0,), seed=seed, households=2, days=4)]


@pytest.fixture(scope="module")
def alone():
    return live_all(homes())


def cluster(workers):
    return LocalCluster(n_workers=workers, threads_per_worker=1, processes=True, host="127.0.0.1", dashboard_address=":0")


def test_households_differ_and_so_do_seeds(alone):
    assert {job: len(years) for job, years in alone.items()} == {"room": 3, "lamp": 2}
    assert len({year.closings for year in alone["room"]}) == 3
    assert live_all(homes(seed=4)) != alone


def test_processes_of_this_machine_change_nothing(alone):
    told = []
    assert live_all(homes(), workers=2, progress=lambda done, of: told.append((done, of))) == alone
    assert told == [(done, 5) for done in range(6)]


@pytest.mark.parametrize("workers", [1, 2])
def test_workers_of_a_scheduler_change_nothing(alone, workers):
    told = []
    with cluster(workers) as others:
        assert live_all(homes(), scheduler=others.scheduler_address, progress=lambda done, of: told.append((done, of))) == alone
    assert told == [(done, 5) for done in range(6)]


def test_a_worker_with_another_program_is_refused(monkeypatch):
    with cluster(1) as others:
        monkeypatch.setattr("pattress.rehearsal.fleet.source_digest", lambda: str(os.getpid()))    # another one in each process
        with pytest.raises(UseError, match=r"^these workers have another control program than this pattress: tcp://127"):
            live_all(homes(), scheduler=others.scheduler_address)


def test_nobody_at_the_address_is_said(monkeypatch):
    monkeypatch.setattr("pattress.rehearsal.fleet.ANSWER_WAIT", 0.5)
    with pytest.raises(UseError, match=r"^no scheduler answers at 'tcp://127.0.0.1:9'\n  allowed: an address such as"):
        live_all(homes(), scheduler="tcp://127.0.0.1:9")


def test_an_address_that_is_none_is_said(monkeypatch):
    with pytest.raises(UseError, match=r"^no scheduler answers at 'nonsense://1'"):
        live_all(homes(), scheduler="nonsense://1")


def test_without_dask_it_is_said_what_to_install(monkeypatch):
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(UseError, match=r"^--scheduler needs Dask distributed, which is not installed\n  try: pip install 'pattress\[fleet\]'$"):
        live_all(homes(), scheduler="tcp://127.0.0.1:9")


INTERRUPTED = """
import sys
from tests.rehearsal.plans import one_lamp
from pattress.rehearsal.fleet import homes_of, live_all
years = live_all(homes_of("lamp", one_lamp(), (8.0,), seed=1, households=400, days=5), {how},
                 progress=lambda done, of: print(done, file=sys.stderr, flush=True))
print(len(years["lamp"]))
"""


def interrupted(how):
    process = subprocess.Popen([sys.executable, "-c", INTERRUPTED.format(how=how)], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    try:
        for line in process.stderr:
            if int(line) >= 2:
                break
        process.send_signal(signal.SIGINT)
        said, _ = process.communicate(timeout=30)
    finally:
        process.kill()
    assert process.returncode == 0
    return int(said)


@pytest.mark.parametrize("workers", [1, 2])
def test_an_interrupt_keeps_what_is_done(workers):
    assert 2 <= interrupted(f"workers={workers}") < 400


def test_an_interrupt_keeps_what_others_have_done():
    with cluster(1) as others:
        assert 2 <= interrupted(f"scheduler={others.scheduler_address!r}") < 400
