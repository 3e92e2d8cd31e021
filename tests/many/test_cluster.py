"""Many holdings on a real dask scheduler and workers, on loopback."""

import importlib
import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from scheduler.commands.app import app
from scheduler.many import ClusterError, SiteJob, SiteOutcome, outcomes_on_cluster
from tests.bench.holdings import make_holdings
from tests.sites import ROOT

pytestmark = pytest.mark.slow
AS_OF = ("--as-of", "2027-02-01")
START_S = 60.0


@contextmanager
def started(*args: str) -> Iterator[subprocess.Popen[bytes]]:
    """A process of dask that ends with the test."""
    command = [sys.executable, "-m", f"distributed.cli.{args[0]}", *args[1:]]
    process = subprocess.Popen(command, cwd=ROOT, stderr=subprocess.DEVNULL)
    try:
        yield process
    finally:
        process.send_signal(signal.SIGTERM)
        try:
            process.wait(10)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()


@contextmanager
def cluster(n_workers: int, folder: Path) -> Iterator[tuple[str, list[subprocess.Popen[bytes]]]]:
    """A scheduler and so many workers of one thread each; its address, and the workers."""
    told = folder / "cluster.json"
    boss = ("dask_scheduler", "--host", "127.0.0.1", "--port", "0", "--no-dashboard")
    with ExitStack() as stack:
        stack.enter_context(started(*boss, "--scheduler-file", str(told)))
        until = time.monotonic() + START_S
        while not told.exists():
            assert time.monotonic() < until, "the scheduler of dask does not start"
            time.sleep(0.1)
        time.sleep(0.5)  # the file is written whole
        address: str = json.loads(told.read_text(encoding="utf-8"))["address"]
        work = ("dask_worker", address, "--nthreads", "1", "--no-dashboard")
        here = ("--local-directory", str(folder))
        workers = [stack.enter_context(started(*work, *here)) for _ in range(n_workers)]
        if workers:
            client: Any = importlib.import_module("distributed").Client(address)
            with client:
                client.wait_for_workers(n_workers, timeout=START_S)
        yield address, workers


@pytest.fixture(scope="module")
def sites(tmp_path_factory: pytest.TempPathFactory) -> Path:
    top = tmp_path_factory.mktemp("night")
    make_holdings(top, 3, most_plots=1)
    return top / "sites"


def files_in(folder: Path) -> dict[Path, bytes]:
    return {p.relative_to(folder): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def test_a_night_with_a_worker_killed_is_whole_and_the_same(sites: Path, tmp_path: Path) -> None:
    with cluster(2, tmp_path) as (address, workers):
        args = ["write", str(sites), "--to", str(tmp_path / "far"), "--cluster", address, *AS_OF]
        command = [sys.executable, "-m", "scheduler", *args]
        with subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, text=True) as night:
            assert night.stdout is not None
            first = night.stdout.readline()
            killed = children_of(workers[0].pid)  # the worker itself, below its nurse
            for child in killed:
                os.kill(child, signal.SIGKILL)
            rest = night.stdout.read()
            assert night.wait(120) in (0, 1)
    assert killed
    assert "events of work" in first
    assert (first + rest).count("events of work") == 3
    here = CliRunner().invoke(app, ["write", str(sites), "--to", str(tmp_path / "here"), *AS_OF])
    assert here.exit_code in (0, 1)
    assert files_in(tmp_path / "far") == files_in(tmp_path / "here")


def children_of(pid: int) -> list[int]:
    """Processes that a process has started (Linux)."""
    path = Path(f"/proc/{pid}/task/{pid}/children")
    return [int(child) for child in path.read_text().split()] if path.exists() else []


def test_a_worker_of_another_version_is_refused_in_words(
    sites: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Here is taken for another make: the workers are the same for all tests."""
    now = datetime(2027, 2, 1, tzinfo=UTC)
    job = SiteJob("check", sites / "holding-0000", date(2027, 2, 1), sites, now, 600.0)
    with cluster(1, tmp_path) as (address, _):
        outcomes: list[SiteOutcome] = list(outcomes_on_cluster([job], address))
        assert [outcome.code in (0, 1) for outcome in outcomes] == [True]
        module = importlib.import_module("scheduler.many.cluster")
        other = module.make()
        monkeypatch.setattr(module, "_here", lambda: "scheduler 9.9")
        with pytest.raises(ClusterError, match="of another make") as caught:
            list(outcomes_on_cluster([job], address))
    assert other in str(caught.value)
    assert "here it is scheduler 9.9" in str(caught.value)


def test_a_cluster_that_is_not_there_is_told(sites: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("scheduler.many.cluster.CONNECT_S", 1.0)
    begin = time.monotonic()
    result = CliRunner().invoke(
        app, ["check", str(sites), "--cluster", "tcp://127.0.0.1:9", *AS_OF]
    )
    assert result.exit_code == 2
    assert "no cluster answers at tcp://127.0.0.1:9" in result.stderr
    assert time.monotonic() - begin < 60


def test_a_cluster_without_workers_is_told(sites: Path, tmp_path: Path) -> None:
    with cluster(0, tmp_path) as (address, _):
        result = CliRunner().invoke(app, ["check", str(sites), "--cluster", address, *AS_OF])
    assert result.exit_code == 2
    assert "the cluster has no workers" in result.stderr
