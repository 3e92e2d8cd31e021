"""Jobs on a cluster, by dask.distributed: the same function, on machines that share folders.

Decided: workers of another version are refused before anything is sent, because their plans could
differ from those of here. One that joins later is not asked. Held by
tests/many/test_cluster.py::test_a_worker_of_another_version_is_refused_in_words
"""

import hashlib
from collections.abc import Iterable, Iterator
from functools import cache
from importlib import import_module
from importlib.metadata import version
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from scheduler.many.site_job import FAULTS, SiteJob, SiteOutcome, done

CONNECT_S = 10.0
RETRIES = 2  # a job whose worker dies is done by another, so often
BY_WHICH_PLANS_DIFFER = ("numpy", "ortools", "skyfield", "icalendar", "jinja2")


def _here() -> str:
    """The make of this machine."""
    return make()


class ClusterError(Exception):
    """The cluster cannot be used, in words."""


@cache
def make() -> str:
    """What a worker's plans depend on: our own code, and the libraries it computes with."""
    root = Path(__file__).parent.parent
    code = hashlib.sha256()
    for path in sorted(p for p in root.rglob("*") if p.suffix in (".py", ".toml", ".html")):
        code.update(path.relative_to(root).as_posix().encode() + path.read_bytes())
    libraries = " ".join(f"{name} {version(name)}" for name in BY_WHICH_PLANS_DIFFER)
    return f"scheduler {version('scheduler')} ({code.hexdigest()[:12]}), {libraries}"


def outcomes_on_cluster(jobs: Iterable[SiteJob], address: str) -> Iterator[SiteOutcome]:
    """What came of each job, as they end.

    Args:
        jobs: their folders are such as all workers see.
        address: of the scheduler of dask, such as ``tcp://10.0.0.5:8786``.

    Raises:
        ClusterError: there is no cluster, or its workers are of another make.
    """
    if find_spec("distributed") is None:
        raise ClusterError("--cluster needs dask.distributed: pip install 'scheduler[cluster]'")
    dask: Any = import_module("distributed")

    try:
        client = dask.Client(address, timeout=CONNECT_S)
    except (OSError, ValueError) as error:
        raise ClusterError(f"no cluster answers at {address}: {error}") from error
    with client:
        _refuse_strangers(client)
        job_of = {client.submit(done, job, pure=False, retries=RETRIES): job for job in jobs}
        for future in dask.as_completed(job_of):
            failed, folder = future.exception(), str(job_of[future].folder)
            if failed is None:
                yield future.result()
            else:
                says = f"no worker could end it: {type(failed).__name__}"
                yield SiteOutcome(folder, FAULTS, says, (says,))


def _refuse_strangers(client: Any) -> None:  # noqa: ANN401  # the library is loaded for it alone
    """Refuse a cluster without workers, or with some that would plan otherwise."""
    try:
        makes: dict[str, str] = client.run(make)
    except Exception as error:  # a worker without our code cannot even read the question
        raise ClusterError(f"a worker has no scheduler like the one here: {error}") from error
    if not makes:
        raise ClusterError("the cluster has no workers")
    for worker, its_make in makes.items():
        if its_make != _here():
            raise ClusterError(
                f"the worker {worker} is of another make: {its_make}; here it is {_here()}. "
                "Install the same on all"
            )
