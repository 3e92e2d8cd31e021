"""How long the roster takes, how long visits lie open, and what it proves.

    python -m tests.bench.bench_roster

The peer is the same season stated to OR-tools CP-SAT the plain textbook way, solved in the same
run on one thread as ours: an interval for each step over working time in half hours, as long as
the crew takes for it, and the sum of the spans made least. It knows the crew by its size alone,
and no aim but this.
"""

import math
import time
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
from ortools.sat.python import cp_model

from scheduler.holding import read_holding
from scheduler.reasons import plan_season
from scheduler.roster import Order, Problem, Roster, Step, solve
from scheduler.roster.check import faults_in
from scheduler.roster.solve import effort_for
from scheduler.words.roster_sheet import preference_tables, roster_table
from tests.roster.seasons import AFTERCARE, RELEASE, season_of_work
from tests.sites import AS_OF, DEMOS, ROOT, grown, planned

TICKS = 2  # in an hour
PEER_S = 60.0


@dataclass(frozen=True)
class Stretch:
    """A step of the peer: its time, its first and last tick, its first and last day."""

    time: cp_model.IntervalVar
    begin: cp_model.IntVar
    end: cp_model.IntVar
    first: cp_model.IntVar
    last: cp_model.IntVar


class Peer:
    """A season the textbook way.

    Args:
        problem: the season.
    """

    def __init__(self, problem: Problem) -> None:
        self.problem, self.model = problem, cp_model.CpModel()
        hours = np.array([worker.hours for worker in problem.workers])
        longest_h = hours.max(axis=0)  # of the person who works longest on each day
        self.day_of = np.repeat(np.arange(len(longest_h)), (TICKS * longest_h).astype(int))
        self.people = max(round(float(hours.sum() / longest_h.sum())), 1)
        self.steps = {step.id: self._stretch(step) for step in problem.steps}
        self._limits()
        for order in problem.orders:
            self._order(order)
        self.spans = [
            self.steps[visit.steps[-1].id].last - self.steps[visit.steps[0].id].first + 1
            for visit in problem.visits
            if visit.lies_open
        ]
        self.model.minimize(sum(self.spans))

    def _team(self, step: Step) -> int:
        return max(step.n_people, min(step.team_max, self.people))

    def _stretch(self, step: Step) -> Stretch:
        length = math.ceil(TICKS * step.work_h / self._team(step))
        kits = [kit for kit in self.problem.kits if step.uses.get(kit.id)]
        able = np.logical_and.reduce([step.workable, *(kit.units > 0 for kit in kits)])
        ticks = cp_model.Domain.from_values(np.flatnonzero(able[self.day_of]).tolist())
        begin, end = (self.model.new_int_var_from_domain(ticks, "") for _ in range(2))
        first, last = (
            self.model.new_int_var(0, self.problem.season.n_days - 1, "") for _ in range(2)
        )
        interval = self.model.new_fixed_size_interval_var(begin, length, "")
        self.model.add(end == begin + length - 1)
        for tick, day in ((begin, first), (end, last)):
            self.model.add_element(tick, self.day_of.tolist(), day)
        if step.fixed_first is not None:
            self.model.add(first == step.fixed_first)
        return Stretch(interval, begin, end, first, last)

    def _limits(self) -> None:
        """People, the ground of each plot, kit."""
        steps, of = self.problem.steps, self.steps
        teams = [self._team(step) for step in steps]
        self.model.add_cumulative(
            [of[step.id].time for step in steps], teams, max(self.people, *teams)
        )
        for plot in sorted({step.plot for step in steps} - {""}):
            self.model.add_no_overlap([of[step.id].time for step in steps if step.plot == plot])
        for kit in self.problem.kits:
            users = [step for step in steps if step.uses.get(kit.id)]
            self.model.add_cumulative(
                [of[step.id].time for step in users],
                [step.uses[kit.id] for step in users],
                int(kit.units.max()),
            )

    def _order(self, order: Order) -> None:
        before, after = self.steps[order.before], self.steps[order.after]
        self.model.add(after.begin > before.end)
        self.model.add(after.first >= before.last + order.min_days)
        if order.within_days is not None:
            self.model.add(after.first <= before.last + order.within_days)

    def solve(self) -> tuple[str, float, float]:
        """The state, the sum of the spans and its bound."""
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.max_time_in_seconds = PEER_S
        status = solver.solve(self.model)
        found = status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
        value = solver.objective_value if found else math.nan
        return solver.status_name(status).lower(), value, solver.best_objective_bound


def open_days(problem: Problem, roster: Roster) -> int:
    """Sum of the spans of the visits that lie open."""
    visits = problem.visit_by_id
    return sum(v.span_days for v in roster.visits if visits[v.visit_id].lies_open)


def print_beside_peer(name: str, problem: Problem) -> None:
    """Time and spans of ours and of the peer."""
    begin = time.perf_counter()
    roster = solve(problem)
    ours_s = time.perf_counter() - begin
    assert faults_in(problem, roster) == ()
    begin = time.perf_counter()
    state, value, bound = Peer(problem).solve()
    peer_s = time.perf_counter() - begin
    ours = open_days(problem, roster)
    print(f"{name}: {len(problem.visits)} visits of {len(problem.steps)} steps")
    print(
        f"  ours {ours_s:6.2f} s  {ours} open days, {roster.proof}, "
        f"{len(roster.left_out)} left out (at most 2 s wanted)"
    )
    print(f"  peer {peer_s:6.2f} s  {value:.0f} open days (bound {bound:.0f}), {state}")
    print(f"  ours to peer: {ours_s / peer_s:.2f} of the time, {ours / value:.2f} of the days")


def print_large(load: float) -> None:
    """Forty plots: the first plan, the one given out, and what ten times the effort brings."""
    kinds = (*RELEASE, *AFTERCARE)
    problem = season_of_work(40, n_crews=3, kinds=kinds, load=load, seed=7)
    work_h = sum(step.work_h for step in problem.steps)
    whole = effort_for(problem)
    print(f"40 plots, {len(problem.visits)} visits, {work_h:.0f} h of work")
    for label, effort in (("first plan", 0.0), ("plan", None), ("10 times", 10 * whole)):
        begin, cpu = time.perf_counter(), time.process_time()
        roster = solve(problem, effort=effort)
        seconds, cpu = time.perf_counter() - begin, time.process_time() - cpu
        assert faults_in(problem, roster) == ()
        stage = roster.stage("open_days")
        print(
            f"  {label:10s} {seconds:6.2f} s ({cpu:.2f} s of the processor)  "
            f"{len(roster.left_out)} left out, {stage.value:.0f} open days "
            f"(bound {stage.bound:.0f}, gap {stage.gap:.1%}), {roster.proof}"
        )


def print_growth() -> None:
    """The command on a demo with its first plot copied: its time beside that of the demo alone."""
    least_s = 0.0
    for n_plots in (0, 2, 4, 8, 16):
        with TemporaryDirectory() as folder:
            site = grown(Path(folder), n_plots)
            begin = time.perf_counter()
            plan = planned(site)
            assert [roster_table(plan), *preference_tables(plan.placed)]
            seconds = time.perf_counter() - begin
        problem, roster = plan.placed.problem, plan.placed.roster
        assert faults_in(problem, roster) == ()
        least_s = least_s or seconds
        gaps = ", ".join(
            f"{stage.aim.name} {stage.gap:.1%}" for stage in roster.stages if stage.gap
        )
        print(
            f"branasol +{n_plots} plots, {len(problem.visits)} visits: {seconds:6.2f} s, "
            f"{seconds / least_s:.1f} times; {roster.proof}, "
            f"{len(roster.left_out)} left out; gaps: {gaps or 'none'}"
        )


def main() -> None:
    """The demo seasons beside the peer, a demo that grows, forty plots with more to do."""
    solve(season_of_work(1))  # loads the solver
    for demo in DEMOS:
        plan = plan_season(read_holding(ROOT / "sites" / demo, AS_OF), AS_OF)
        print_beside_peer(demo, plan.placed.problem)
    print_growth()
    for load in (0.15, 0.3, 0.5, 0.7):  # the last two are more than the first plan finds room for
        print_large(load)


if __name__ == "__main__":
    main()
