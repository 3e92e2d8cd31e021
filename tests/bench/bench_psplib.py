"""Published instances of project scheduling: what is met, what is proven, how long it takes.

    python -m tests.bench.bench_psplib FOLDER [--bounds optima_rcpsp.csv] [--effort 15]

FOLDER holds ``.sm`` files of PSPLIB (Kolisch and Sprecher 1996, EJOR 96:205-216). One worker,
a fixed seed, a limit of deterministic effort for each file.
"""

import argparse
import time
from dataclasses import dataclass
from pathlib import Path

from scheduler.roster import faults_in, solve
from tests.roster.psplib import bounds_of, makespan, problem_of, read_instance

BOUNDS = "optima_rcpsp.csv"


@dataclass(frozen=True)
class Result:
    """One file."""

    name: str
    days: int
    bound: int
    published: tuple[int, int] | None
    seconds: float

    @property
    def proven(self) -> bool:
        return self.days == self.bound

    @property
    def met(self) -> bool:
        return self.published is not None and self.days <= self.published[1]


def solved(path: Path, published: tuple[int, int] | None, effort: float) -> Result:
    """Solve one file; the checker must find no fault in the answer."""
    problem = problem_of(read_instance(path.read_text(encoding="latin-1")))
    begin = time.perf_counter()
    roster = solve(problem, effort=effort)
    seconds = time.perf_counter() - begin
    assert faults_in(problem, roster) == ()
    days = makespan(roster)
    stage = roster.stage("waiting_days")
    least = days - int(stage.value - stage.bound + 1e-6)
    if published is not None:
        assert least <= published[1], f"{path.name}: bound {least} above the published {published}"
        assert days >= published[0], f"{path.name}: {days} below the published {published}"
    return Result(path.name, days, least, published, seconds)


def main() -> None:
    """A line for each file that is not met and proven or takes long, then the totals."""
    asked = argparse.ArgumentParser()
    asked.add_argument("folder", type=Path)
    asked.add_argument("--bounds", type=Path)
    asked.add_argument("--effort", type=float, default=15.0)
    given = asked.parse_args()
    beside = (given.folder / BOUNDS, given.folder.parent / BOUNDS)
    table = given.bounds or next((path for path in beside if path.exists()), None)
    published = bounds_of(table) if table else {}
    paths = sorted(given.folder.glob("*.sm"))
    if not paths:
        asked.error(f"no .sm files in {given.folder}")
    results = [solved(path, published.get(path.name), given.effort) for path in paths]
    for result in results:
        if not (result.proven and (result.met or not published)) or result.seconds > 1:
            print(_line(result))
    _print_totals(results)


def _line(r: Result) -> str:
    told = f"published {r.published}, {r.seconds:.2f} s"
    return f"{r.name:14s} {r.days:4d} (bound {r.bound}), {told}"


def _print_totals(results: list[Result]) -> None:
    known = [(r, r.published) for r in results if r.published is not None]
    n_met, n_proven = sum(r.met for r, _ in known), sum(r.proven for r in results)
    print(f"{len(results)} files: {n_proven} proven, {n_met} of {len(known)} published values met")
    ours, theirs = sum(r.days for r, _ in known), sum(bounds[1] for _, bounds in known)
    print(f"sum of days {ours}, sum of the published upper bounds {theirs}")
    seconds = [r.seconds for r in results]
    print(f"{sum(seconds):.1f} s in all, {max(seconds):.2f} s at most")


if __name__ == "__main__":
    main()
