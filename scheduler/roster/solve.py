"""From a problem to a roster, and what the plan comes to: preferences met or missed, hire."""

from collections.abc import Iterator
from itertools import chain

from scheduler.roster.aims import POINT_PARTS, Costs, Plan, blocks_of, costs_of, points_of
from scheduler.roster.check import BrokenRuleError, faults_in
from scheduler.roster.names import stints_of
from scheduler.roster.order import Choices, circles_of, followers, tied, tightened, with_followers
from scheduler.roster.placements import Block, Packer, waits_in
from scheduler.roster.problem import Problem
from scheduler.roster.result import HireUse, Preference, Proof, Roster, VisitDays
from scheduler.roster.search import Search
from scheduler.roster.serial import Serial
from scheduler.roster.teams import CrewTeams

EFFORT = 1.0  # of the solver, two to five seconds of the clock: 200 visits and fewer
EFFORT_VISITS = 200


def effort_for(problem: Problem) -> float:
    """The effort that a problem is given where none is told: with more visits in proportion."""
    return EFFORT * max(1.0, len(problem.visits) / EFFORT_VISITS)


def solve(problem: Problem, *, effort: float | None = None) -> Roster:
    """Put the work on the crew's days.

    The same problem and effort give the same roster on every machine, as long as nobody
    interrupts.

    Args:
        problem: visits, order, people, kit.
        effort: deterministic effort for all aims together, in the solver's own unit; 0 gives
            the first plan of the serial pass, None takes ``effort_for``.

    Returns:
        A roster that keeps every hard rule. What does not fit is in ``left_out``; visits on
        a circle of the order are in ``circles`` too. Ctrl-C during the search gives the
        best plan so far, with ``proof`` "stopped"; before there is a plan it goes on up.

    Raises:
        BrokenRuleError: the plan found breaks a hard rule; the program is at fault.
    """
    roster = Solving(problem).run(effort_for(problem) if effort is None else effort)
    if faults := faults_in(problem, roster):
        raise BrokenRuleError(faults)
    return roster


class Solving:
    """One run, from windows to names."""

    def __init__(self, problem: Problem) -> None:
        self.problem, self.crew = problem, CrewTeams(problem)
        self.packer = Packer(problem, self.crew)
        pairs = [(order.before, order.after) for order in problem.orders]
        self.circles = circles_of(problem.by_id, pairs)
        knots = {problem.visit_of[step_id].id for step_id in chain(*self.circles)}
        never = with_followers(knots, followers(tied(problem, problem.visit_by_id)))
        every = {v.id: self.packer.blocks(v) for v in problem.visits if v.id not in never}
        self.least_span = {v: min(b.span_days for b in bs) for v, bs in every.items() if bs}
        some = tightened(every, problem, all_in=False)
        self.some = {visit_id: blocks for visit_id, blocks in some.items() if blocks}
        self.costs = costs_of(problem, self.some)
        self.search = self._search()

    def _search(self) -> Search:
        """The search, from a first plan with all of the work if there is one."""
        full = tightened(self.some, self.problem, all_in=True)
        plan = self._serial(full) if all(full.values()) else {}
        all_in = len(plan) == len(full)
        if not all_in:
            plan = max(plan, self._serial(self.some), key=len)
        choices = full if all_in else self.some
        return Search(self.problem, self.crew, choices, self.costs, plan, all_in=all_in)

    def _serial(self, choices: Choices) -> dict[str, Block]:
        return Serial(self.problem, self.crew, choices, self.costs).run()

    def run(self, effort: float) -> Roster:
        """Search, and give the hours names."""
        search = self.search
        search.run(effort)
        stints = stints_of(self.crew, search.plan)
        assert isinstance(stints, tuple), "the plan was given names before"
        stages = search.stages()
        proof: Proof = "stopped" if search.stopped else "gap"
        if all(stage.gap == 0 for stage in stages):
            proof = "proven"
        return Roster(
            tuple(self._days(block) for _, block in sorted(search.plan.items())),
            stints,
            tuple(visit.id for visit in self.problem.visits if visit.id not in search.plan),
            self.circles,
            proof,
            stages,
            tuple(preferences_of(self.costs, search.plan)),
            tuple(hires_of(self.problem, search.plan)),
            search.spent,
        )

    def _days(self, block: Block) -> VisitDays:
        visit_id, waits = block.visit.id, tuple(waits_in(block, self.packer))
        least = self.least_span[visit_id]
        return VisitDays(visit_id, block.first, block.last, block.span_days, least, waits)


def hires_of(problem: Problem, plan: Plan) -> Iterator[HireUse]:
    """Blocks of days of the kit; a day is paid once, whoever uses it."""
    for kit in (kit for kit in problem.kits if not kit.own):
        for days in blocks_of(kit, problem, plan):
            yield HireUse(kit.id, tuple(days), len(days) * kit.cost_day)


def preferences_of(costs: Costs, plan: Plan) -> Iterator[Preference]:
    """What became of every visit that has preferred days and a place in the plan, by id."""
    for visit_id, here in sorted(plan.items()):
        if any(step.points.any() for step in here.visit.steps):
            points = points_of(here)
            best = points + costs[visit_id][here.first].lost / POINT_PARTS
            yield Preference(visit_id, points, best)
