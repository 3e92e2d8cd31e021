"""A night over many invented holdings, with a worker killed on the way, against single runs.

    python -m tests.bench.bench_night [NUMBER] [COMPARED]

Prints what one holding costs by its number of plots, the wall time on all cores, the memory of a
worker, and whether COMPARED of them are the same, byte for byte, as single runs write them.

A million holdings, reckoned from 1,000 (two slow cores shared with other work, a worker killed;
3.3 plots a holding; CPU of 1.19 s in the middle, of 3.78 s on average, as the few with many plots
or much work without a place cost most; at most 328 MB a worker):

- CPU: 1,050 hours a night. In six hours that is 175 such cores, with 60 GB of memory for them. A
  region of 10,000 holdings is a job for two of them, and needs no other region.
- Shared data: ephemeris and rule book come with the package. The record of a station, 30 years in
  0.2 MB, is read once by each worker that has its holdings: sorted by station, 30,000 stations are
  6 GB read once a night.
- Bytes: 8.8 calendars of together 0.30 MB and 32 pages of 0.71 MB, with their rows for programs, a
  holding: 0.3 TB of calendars and 0.7 TB of pages, as objects behind private links. The calendar
  written last is the memory of revisions, so it is read before it is written: 0.3 TB each way.
  Calendars that have not changed are not written again.
- Requests: a holding's phones hold three of its calendars and ask for each once in six hours, as
  they hint, or once a day: 3 to 12 million a day, 35 to 140 a second, nearly all answered by the
  ETag alone.
- What is missing for it: a queue that gives out regions, reading and writing of objects in the
  place of folders (``ways_out``), and somebody who looks at exit codes 2 and 3.
"""

import json
import os
import signal
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from itertools import chain
from pathlib import Path

from tests.bench.holdings import AS_OF, ROOT, make_holdings

KILLED_AFTER = 20  # outcomes
N_GROWTH = 40  # holdings
DAY = ("--as-of", str(AS_OF))


def night(
    sites: list[Path], out: Path, n_workers: int, *, kill: bool
) -> Iterator[dict[str, object]]:
    """What is told of each holding, a worker being killed on the way."""
    command = [sys.executable, "-m", "scheduler", "write", *map(str, sites), "--to", str(out)]
    command += ["--jobs", str(n_workers), "--json", *DAY]
    with subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, text=True) as run:
        assert run.stdout is not None
        for number, line in enumerate(run.stdout, start=1):
            told = json.loads(line)
            told["memory_mb"] = max(map(memory_mb, children_of(run.pid)), default=0.0)
            yield told
            if kill and number == KILLED_AFTER:
                os.kill(children_of(run.pid)[-1], signal.SIGKILL)


def children_of(pid: int) -> list[int]:
    """Processes that a process has started (Linux), those that track resources aside."""
    files = Path(f"/proc/{pid}/task").glob("*/children")
    children = [child for file in files for child in file.read_text(encoding="utf-8").split()]
    return [int(child) for child in children if b"resource_tracker" not in command_of(child)]


def command_of(pid: str) -> bytes:
    """The command line of a process."""
    with suppress(OSError):
        return Path(f"/proc/{pid}/cmdline").read_bytes()
    return b""


def memory_mb(pid: int) -> float:
    """The most memory that a process has held."""
    with suppress(OSError):
        for line in Path(f"/proc/{pid}/status").read_text(encoding="utf-8").splitlines():
            if line.startswith("VmHWM"):
                return int(line.split()[1]) / 1024
    return 0.0


def files_in(folder: Path) -> dict[Path, bytes]:
    """Every file below a folder."""
    return {p.relative_to(folder): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def compared(sites: list[Path], out: Path, single: Path) -> int:
    """How many holdings differ from what single runs write of them."""

    def differs(site: Path) -> bool:
        command = [sys.executable, "-m", "scheduler", "write", str(site)]
        to = ["--to", str(single / site.name), *DAY]
        subprocess.run([*command, *to], cwd=ROOT, capture_output=True, check=False)
        return files_in(single / site.name) != files_in(out / site.name)

    with ThreadPoolExecutor(os.cpu_count()) as pool:
        return sum(pool.map(differs, sites))


def is_whole(calendar: bytes) -> bool:
    """Whether nothing of a calendar is missing at its end or between."""
    begun, ended = (calendar.count(b"\r\n%s:VEVENT" % word) for word in (b"BEGIN", b"END"))
    return (
        calendar.startswith(b"BEGIN:VCALENDAR\r\n")
        and begun == ended
        and (calendar.endswith(b"END:VCALENDAR\r\n"))
    )


def print_costs(told: list[dict[str, object]]) -> None:
    """What one holding costs, and how that grows with its plots."""
    by_plots: dict[int, list[float]] = {}
    for each in told:
        text = (Path(str(each["site"])) / "plots.toml").read_text(encoding="utf-8")
        by_plots.setdefault(text.count("\n[[plot]]\n"), []).append(float(str(each["cpu_s"])))
    cpu_s = sorted(chain(*by_plots.values()))
    print(f"one holding: {statistics.median(cpu_s):.2f} s in the middle")
    print(f"nine in ten below {cpu_s[int(0.9 * len(cpu_s))]:.2f} s, at most {cpu_s[-1]:.1f} s")
    for plots, costs in sorted(by_plots.items()):
        print(f"  {plots:2} plots: {statistics.median(costs):.2f} s ({len(costs)} holdings)")


def print_growth(sites: list[Path], folder: Path, n_workers: int) -> None:
    """How the time grows with the number of holdings, and shrinks with that of workers."""
    for n, workers in ((N_GROWTH // 2, 1), (N_GROWTH, 1), (N_GROWTH, n_workers)):
        begin = time.monotonic()
        told = list(night(sites[:n], folder / f"growth-{n}-{workers}", workers, kill=False))
        print(f"  {len(told)} holdings, {workers} workers: {time.monotonic() - begin:.0f} s")


def main() -> None:
    """Make the holdings, run the night, and compare."""
    n = int(sys.argv[1]) if len(sys.argv) > 1 else 100
    n_compared = int(sys.argv[2]) if len(sys.argv) > 2 else 10
    with tempfile.TemporaryDirectory() as top:
        folder = Path(top)
        sites = make_holdings(folder, n)
        begin = time.monotonic()
        n_workers = os.cpu_count() or 1
        told = list(night([folder / "sites"], folder / "out", n_workers, kill=True))
        wall_s = time.monotonic() - begin
        cpu_s = [float(str(each["cpu_s"])) for each in told]
        codes = [str(each["code"]) for each in told]
        used = sum(cpu_s) / wall_s / n_workers
        print(f"{len(told)} holdings, {n_workers} workers, one of them killed: {wall_s:.0f} s")
        print(f"of the processor {sum(cpu_s):.0f} s, {used:.0%} of what there was")
        print_costs(told)
        print("exit codes: " + ", ".join(f"{codes.count(c)} of {c}" for c in sorted(set(codes))))
        print(f"memory of a worker: {max(float(str(e['memory_mb'])) for e in told):.0f} MB")
        written = [path for path in (folder / "out").rglob("*") if path.is_file()]
        for ending in (".ics", ".html", ".json"):
            sizes = [path.stat().st_size for path in written if path.suffix == ending]
            print(f"  {len(sizes) / n:.1f} {ending} a holding, {sum(sizes) / n / 1e6:.2f} MB")
        print_growth(sites, folder, n_workers)
        step = max(1, len(sites) // max(1, n_compared))
        chosen = sites[::step][:n_compared]
        differ = compared(chosen, folder / "out", folder / "single")
        whole = sum(1 for site in sites if (folder / "out" / site.name / "work.ics").exists())
        print(f"{whole} of {n} have their calendars")
        calendars = [path.read_bytes() for path in written if path.suffix == ".ics"]
        print(f"{sum(map(is_whole, calendars))} of {len(calendars)} calendars are whole")
        print(f"{differ} of {len(chosen)} differ from what single runs write")


if __name__ == "__main__":
    main()
