"""Jobs on all cores of this machine, each in a process that is ready for the next.

Decided: as many jobs are under way as there are processes, so that when one dies it is known which
sites may be to blame; those are tried once more, alone. Held by
tests/many/test_jobs.py::test_a_worker_that_dies_takes_no_other_site_with_it
"""

import gc
import multiprocessing
import os
import threading
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool

from scheduler.many.site_job import FAULTS, OUR_FAULT, SiteJob, SiteOutcome, done

DIED = "its worker died, twice; its calendars are as they were, or whole"


def outcomes_here(
    jobs: Iterable[SiteJob], n_workers: int, do: Callable[[SiteJob], SiteOutcome] = done
) -> Iterator[SiteOutcome]:
    """What came of each job, as they end.

    Args:
        jobs: in any order.
        n_workers: processes at once.
        do: what is done in a worker; a function that other processes can import.
    """
    waiting, suspects = deque(jobs), deque[SiteJob]()
    while waiting:
        with _pool(n_workers) as pool:
            yield from _until_one_dies(pool, waiting, suspects, n_workers, do)
    while suspects:
        job = suspects.popleft()
        with _pool(1) as pool:
            try:
                yield _outcome(pool.submit(do, job), job)
            except BrokenProcessPool:
                yield SiteOutcome(str(job.folder), FAULTS, DIED, (DIED,))


def _pool(n_workers: int) -> ProcessPoolExecutor:
    # no process inherits threads or locks, and each begins alike on every system
    spawn = multiprocessing.get_context("spawn")
    return ProcessPoolExecutor(n_workers, mp_context=spawn, initializer=_ready)


def _ready() -> None:
    """Make a process ready for jobs."""
    # a sixth of the time of a night went into looking for garbage
    gc.freeze()
    gc.set_threshold(20_000, 20, 50)
    threading.Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    """End when the process that gives out the jobs is gone; else it would wait for ever."""
    parent = multiprocessing.parent_process()
    assert parent is not None, "a worker is always started by another process"
    parent.join()
    os._exit(1)


def _outcome(future: Future[SiteOutcome], job: SiteJob) -> SiteOutcome:
    """What came of a job; of an answer that cannot travel between processes, that it is so."""
    try:
        return future.result()
    except BrokenProcessPool:
        raise
    except Exception as error:  # noqa: BLE001  # one bad site stops none
        says = f"a fault of scheduler, not of your files: {type(error).__name__}: {error}"[:300]
        return SiteOutcome(str(job.folder), OUR_FAULT, says, (says,))


def _until_one_dies(
    pool: ProcessPoolExecutor,
    waiting: deque[SiteJob],
    suspects: deque[SiteJob],
    n_workers: int,
    do: Callable[[SiteJob], SiteOutcome],
) -> Iterator[SiteOutcome]:
    under_way: dict[Future[SiteOutcome], SiteJob] = {}
    while waiting or under_way:
        try:
            while waiting and len(under_way) < n_workers:
                under_way[pool.submit(do, waiting[0])] = waiting[0]
                waiting.popleft()
            ended, _ = wait(under_way, return_when=FIRST_COMPLETED)
            for future in ended:
                outcome = _outcome(future, under_way[future])
                del under_way[future]
                yield outcome
        except BrokenProcessPool:
            suspects.extend(under_way.values())
            return
