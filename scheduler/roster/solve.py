"""From a problem to a roster."""

from collections.abc import Sequence
from itertools import chain

from scheduler.roster.aims import aims_of, parts_in_one
from scheduler.roster.check import BrokenRuleError, faults_in
from scheduler.roster.costs import costs_of
from scheduler.roster.limits import Limit, limits_of
from scheduler.roster.names import stints_of
from scheduler.roster.order import Choices, circles, followers, tied, tightened, with_followers
from scheduler.roster.parts import parts_of
from scheduler.roster.placements import Block, Packer, waits_in
from scheduler.roster.problem import Problem
from scheduler.roster.report import Preferred, hires_of
from scheduler.roster.result import Proof, Roster, Stage, VisitDays, Wait
from scheduler.roster.search import Search
from scheduler.roster.serial import Serial
from scheduler.roster.teams import Crew

EFFORT = 1.0  # of the solver, two to five seconds of the clock: 200 visits and fewer
EFFORT_VISITS = 200


def effort_for(problem: Problem) -> float:
    """The effort that a problem is given where none is told: with more visits in proportion."""
    return EFFORT * max(1.0, len(problem.visits) / EFFORT_VISITS)


def solve(
    problem: Problem, *, effort: float | None = None, seconds: float | None = None
) -> Roster:
    """Put the work on the crew's days.

    The same problem and effort give the same roster on every machine, as long as no limit
    by the clock is set and nobody interrupts.

    Args:
        problem: visits, order, people, kit.
        effort: deterministic effort for all aims together, in the solver's own unit; 0 gives
            the first plan of the serial pass, None takes ``effort_for``.
        seconds: limit by the clock for each model; None is the reproducible default.

    Returns:
        A roster that keeps every hard rule. What does not fit is in ``left_out``; visits on
        a circle of the order are in ``circles`` too. Ctrl-C during the search gives the
        best plan so far, with ``proof`` "stopped"; before there is a plan it goes on up.

    Raises:
        BrokenRuleError: the plan found breaks a hard rule; the program is at fault.
    """
    roster = Solving(problem).run(effort_for(problem) if effort is None else effort, seconds)
    if faults := faults_in(problem, roster):
        raise BrokenRuleError(faults)
    return roster


class Solving:
    """One run, from windows to names.

    Args:
        problem: visits, order, people, kit.
    """

    def __init__(self, problem: Problem) -> None:
        self.problem, self.crew = problem, Crew(problem)
        self.stopped = False
        self.packer = Packer(problem, self.crew)
        self.circles = circles(problem)
        knots = {problem.visit_of[step_id].id for step_id in chain(*self.circles)}
        never = with_followers(knots, followers(tied(problem, problem.visit_by_id)))
        every = {v.id: self.packer.blocks(v) for v in problem.visits if v.id not in never}
        self.least_span = {v: min(b.span_days for b in bs) for v, bs in every.items() if bs}
        some = tightened(every, problem, all_in=False)
        self.some = {visit_id: blocks for visit_id, blocks in some.items() if blocks}
        self.aims = aims_of(problem)
        full = tightened(self.some, problem, all_in=True)
        self.costs = costs_of(problem, self.some)
        self.plan = self._serial(full) if all(full.values()) else {}
        self.all_in = bool(full) and len(self.plan) == len(full)
        self.choices = full
        if not self.all_in:
            self.choices = self.some
            self.plan = max(self.plan, self._serial(self.some), key=len)

    def _serial(self, choices: Choices) -> dict[str, Block]:
        return Serial(self.problem, self.crew, choices, self.costs).run()

    def run(self, effort: float, seconds: float | None) -> Roster:
        """Search part by part, and put the parts together."""
        searches = self.searches()
        spent, left = 0.0, sum(map(_size, searches))
        for search in searches:
            share = 0.0 if self.stopped else (effort - spent) * _size(search) / left
            self._run(search, share, seconds)
            spent, left = spent + search.spent, left - _size(search)
        return self._roster(searches, spent)

    def _run(self, search: Search, effort: float, seconds: float | None) -> None:
        """Search; where somebody stops it, keep what there is and ask no further."""
        try:
            search.run(effort, seconds)
        except KeyboardInterrupt:
            self.stopped = True
            search.run(0.0, None)

    def searches(self) -> list[Search]:
        """One search for each part, the smaller parts first."""
        limits = limits_of(self.problem, self.choices, self.crew)
        parts = parts_of(self.problem, self.choices, limits)
        number = {visit_id: n for n, part in enumerate(parts) for visit_id in part}
        own: list[list[Limit]] = [[] for _ in parts]
        for limit in limits:
            own[number[limit.uses[0][0]]].append(limit)
        return [self._search(part, of) for part, of in zip(parts, own, strict=True)]

    def _search(self, part: list[str], limits: list[Limit]) -> Search:
        return Search(
            self.problem,
            self.crew,
            {visit_id: self.choices[visit_id] for visit_id in part},
            self.costs,
            self.aims,
            self.all_in or all(visit_id in self.plan for visit_id in part),
            {visit_id: self.plan[visit_id] for visit_id in part if visit_id in self.plan},
            limits,
        )

    def _roster(self, searches: list[Search], spent: float) -> Roster:
        plan = {visit_id: p for search in searches for visit_id, p in search.plan.items()}
        stints = stints_of(self.crew, plan)
        assert isinstance(stints, tuple), "every part was given names before"
        stages = tuple(self._stage(searches, n) for n in range(len(self.aims)))
        return Roster(
            tuple(self._days(block) for _, block in sorted(plan.items())),
            stints,
            tuple(visit.id for visit in self.problem.visits if visit.id not in plan),
            self.circles,
            self._proof(stages),
            stages,
            tuple(Preferred(self.problem, self.crew, self.some, self.costs, plan).all()),
            tuple(hires_of(self.problem, plan)),
            spent,
        )

    def _days(self, block: Block) -> VisitDays:
        waits = (Wait(s.day, s.step.id, s.why) for s in waits_in(block, self.packer))
        least = self.least_span[block.visit.id]
        return VisitDays(
            block.visit.id, block.first, block.last, block.span_days, least, tuple(waits)
        )

    def _proof(self, stages: Sequence[Stage]) -> Proof:
        if all(stage.gap == 0 for stage in stages):
            return "proven"
        return "stopped" if self.stopped else "gap"

    def _stage(self, searches: list[Search], n: int) -> Stage:
        """The parts of one aim together, and the visits that can stand nowhere."""
        aim = self.aims[n]
        nowhere = sum(
            aim == f"fit-{visit.importance}" and visit.id not in self.choices
            for visit in self.problem.visits
        )
        value = nowhere + sum(search.reached[n].value for search in searches)
        bound = nowhere + sum(search.reached[n].bound for search in searches)
        parts = parts_in_one(aim)
        return Stage(aim, value / parts, bound / parts)


def _size(search: Search) -> int:
    return sum(map(len, search.choices.values()))
