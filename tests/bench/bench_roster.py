"""How long the roster takes, how good its plans are, and what it proves.

    python -m tests.bench.bench_roster
    python -m tests.bench.bench_roster 500

The yardstick is the serial pass alone (effort 0): each job on the best days still free.
"""

import resource
import sys
import time

from scheduler.holding import read_holding
from scheduler.roster import Problem, Roster, faults_in, solve
from scheduler.season import plan_season
from tests.roster.seasons import season_of_work
from tests.sites import AS_OF, DEMOS, ROOT


def print_solved(name: str, problem: Problem, effort: float) -> None:
    """Time, proof and waiting of the serial pass and of the solver."""
    for label, spent in (("serial pass", 0.0), ("solved", effort)):
        begin = time.process_time()
        roster = solve(problem, effort=spent)
        seconds = time.process_time() - begin
        assert faults_in(problem, roster) == ()
        print(f"{name:28s} {label:12s} {seconds:6.2f} s  {_told(roster)}")


def _told(roster: Roster) -> str:
    last = roster.stages[-1]
    return (
        f"{len(roster.stints)} placed, {len(roster.left_out)} left out, waiting "
        f"{last.value:.0f} days (bound {last.bound:.0f}), {roster.proof}"
    )


def print_large(n_plots: int, n_crews: int, load: float, effort: float) -> None:
    """Many plots: the first plan, and how near to the bound the effort brings it."""
    problem = season_of_work(n_plots, n_crews=n_crews, per_plot=12, load=load, seed=7)
    work_h = sum(job.work_h for job in problem.jobs)
    crew_h = sum(float(worker.hours.sum()) for worker in problem.workers)
    name = f"{n_plots} plots, {work_h / crew_h:.0%} of the hours"
    for label, spent in (("first plan", 0.0), ("solved", effort)):
        begin = time.perf_counter()
        roster = solve(problem, effort=spent)
        seconds = time.perf_counter() - begin
        assert faults_in(problem, roster) == ()
        gap = f"gap {roster.stages[-1].gap:.1%}"
        print(f"{name:28s} {label:12s} {seconds:6.2f} s  {_told(roster)}, {gap}")
        if not effort:
            break
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"{'':28s} peak memory so far {peak:.0f} MB")


def main() -> None:
    """The demo seasons, then invented ones of growing size; asked for 500, only that size."""
    solve(season_of_work(1, seed=1))  # loads the solver
    if "500" in sys.argv:  # more than three crews can do, then enough of them
        print_large(500, 3, 0.15, 0.0)
        print_large(500, 30, 0.15, 0.0)
        return
    for demo in DEMOS:
        plan = plan_season(read_holding(ROOT / "sites" / demo, AS_OF), AS_OF)
        print_solved(demo, plan.problem, 60.0)
    # the demo seasons take 5 to 8 % of their crews' hours
    for load, effort in ((0.15, 60.0), (0.3, 60.0), (0.5, 60.0)):
        print_large(40, 3, load, effort)
    for n_plots, n_crews in ((4, 1), (12, 3)):
        problem = season_of_work(n_plots, n_crews=n_crews, seed=7)
        print_solved(f"{n_plots} plots, {len(problem.jobs)} jobs", problem, 20.0)


if __name__ == "__main__":
    main()
