"""Where a visit could stand, asked of the roster under some of the statements about it. Pure."""

from abc import ABC, abstractmethod
from collections.abc import Hashable, Iterable, Sequence
from dataclasses import replace

import numpy as np

from scheduler.roster import (
    Block,
    CrewTeams,
    Packer,
    Problem,
    Step,
    Stop,
    Visit,
    followers,
    only_rules,
    room_for_all,
    with_followers,
)
from scheduler.season import Outlook, Placed, problem_of, with_own_days
from scheduler.terms import day_words
from scheduler.windows import window_of

MOST_BEGINS = 14  # days on which a visit is tried to be begun
SHORT_OF = ("nobody", "team", "short", "kit-away")  # what keeps a step from a day, rules aside


class Question:
    """A visit, what it waits for and other work, about which statements can be taken back.

    The order of work is no statement of the grower's and always holds. The outlook is that of a
    season that ends later; ``others`` are visits that are wanted too.
    """

    def __init__(
        self, placed: Placed, outlook: Outlook, visit_id: str, others: Sequence[str] = ()
    ) -> None:
        self.placed, self.outlook = placed, outlook
        self.visit_id, self.others = visit_id, others
        waits_for = followers((after, before) for before, after in placed.problem.ties)
        wanted = with_followers({visit_id}, waits_for).union(others)
        windows = {
            task_id: window_of(task, outlook.facts)
            for task_id, task in placed.tasks.items()
            if placed.visit_of[task_id] in wanted
        }
        self.windows = with_own_days(windows, placed.groups, outlook.holding)
        links = tuple(
            link for link in placed.links if {link.before, link.after} <= self.windows.keys()
        )
        packed = placed.problem.packed  # what the plan has packed need not be packed anew
        self.base = only_rules(problem_of(outlook, self.windows, links, {}, placed.groups, packed))
        self.drawn: dict[Hashable, Visit] = {}  # by what is not taken back of it

    def problem(self, taken_back: "Iterable[Statement]" = ()) -> Problem:
        """The work, and only those statements about it that are not taken back."""
        draft = Draft(self)
        for statement in taken_back:
            statement.take_back(draft)
        return draft.problem()

    def room(self, taken_back: "Iterable[Statement]" = ()) -> dict[str, list[Block]] | None:
        """Where each visit could stand without some statements; None where one cannot."""
        return room_for_all(self.problem(taken_back))

    def day_words(self, day: int) -> str:
        """A day number of the longer season in words."""
        return day_words(self.base.season.date_of(day))

    def short_day(self, where: Sequence[Block]) -> str:
        """The day on which a visit lacks people or kit, were it to begin where it first could."""
        every = self.problem()
        packer, visit = Packer(every, CrewTeams(every)), every.visit_by_id[where[0].visit.id]
        for block in where[:MOST_BEGINS]:
            stop = packer.begun(visit, block.first)
            if isinstance(stop, Stop) and stop.why in SHORT_OF and stop.day > block.first:
                return self.day_words(stop.day)
        return self.day_words(where[0].first)


class Draft:
    """What the roster is to be asked, while statements are taken back one by one."""

    def __init__(self, asked: Question) -> None:
        self.base, self.drawn = asked.base, asked.drawn
        self.visits = dict(asked.base.visit_by_id)
        self.rulings = {
            task_id: {n: ruling for n, ruling in enumerate(window.rulings) if ruling.closed.any()}
            for task_id, window in asked.windows.items()
        }
        self.n_days = asked.placed.season.n_days  # of the plan
        self.workers = list(asked.base.workers)
        self.kits = {kit.id: kit for kit in asked.base.kits}
        self.heavy_in_row = asked.base.heavy_in_row

    def more_of(self, *kit_ids: str) -> None:
        """Let there be enough of some kits for all the work on each of their days."""
        for kit_id in kit_ids:
            units = self.kits[kit_id].units
            more = np.where(units > 0, units + len(self.rulings), 0)
            self.kits[kit_id] = replace(self.kits[kit_id], units=more, minutes=None)

    def every_day(self, *kit_ids: str) -> None:
        """Let some kits come each day, as much of them as on their best."""
        for kit_id in kit_ids:
            kit = self.kits[kit_id]
            units, minutes = np.full_like(kit.units, kit.units.max(initial=0)), kit.minutes
            if minutes is not None:
                minutes = np.full_like(minutes, minutes.max(initial=0))
            self.kits[kit_id] = replace(kit, units=units, minutes=minutes)

    def problem(self) -> Problem:
        """What is left of the question."""
        visits = list(map(self._visit, self.visits.values()))
        wanted = {step.id for visit in visits for step in visit.steps}
        orders = (order for order in self.base.orders if {order.before, order.after} <= wanted)
        return replace(
            self.base,
            visits=tuple(visits),
            orders=tuple(orders),
            workers=tuple(self.workers),
            kits=tuple(self.kits.values()),
            heavy_in_row=self.heavy_in_row,
        )

    def _visit(self, visit: Visit) -> Visit:
        key = (visit.id, self.n_days, *(frozenset(self.rulings[step.id]) for step in visit.steps))
        if key not in self.drawn:
            self.drawn[key] = replace(visit, steps=tuple(map(self._step, visit.steps)))
        return self.drawn[key]

    def _step(self, step: Step) -> Step:
        rulings = self.rulings[step.id].values()
        closed = np.arange(self.base.season.n_days) >= self.n_days
        for ruling in rulings:
            closed |= ruling.closed
        own = any(ruling.rule_id == "own-dates" for ruling in rulings)
        return replace(step, open=~closed, fixed_first=step.fixed_first if own else None)


class Statement(ABC):
    """One thing that the grower, or the rule book, has said.

    The name is the id of the visit, task or kit that it is about, empty where it is about none;
    the title is the same in the grower's words.
    """

    SAYS = ""  # its words, with {title}
    FREES = ""  # what the grower can change about it, with {title}, {name} and {day}

    def __init__(self, asked: Question, name: str = "", title: str = "") -> None:
        self.asked, self.name, self.title = asked, name, title
        self.visit_id = asked.visit_id  # the visit that it keeps out
        self.can_change = True  # whether it is the grower's to change
        self.lacks_frost_dates = False  # whether it waits for frost dates that nothing tells

    @abstractmethod
    def take_back(self, draft: Draft) -> None:
        """Leave it out of a draft."""

    def says(self) -> str:
        """It in the grower's words."""
        return self.SAYS.format(title=self.title)

    def frees(self, where: Sequence[Block]) -> str:
        """What the grower can change about it, by the visit's blocks without it."""
        day = self.asked.short_day(where)
        return self.FREES.format(title=self.title, name=self.name, day=day)
