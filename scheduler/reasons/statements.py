"""What has been said about unscheduled work: its words, and the work without it. Pure."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from math import ceil, isnan

import numpy as np

from scheduler.files import fields
from scheduler.reasons.question import Draft, Question, Statement
from scheduler.roster import Block, Problem, room_for_all
from scheduler.season import outlook_of
from scheduler.terms import Basis, day_words

MOST_TRIED = 6  # tolerances of frost
FROST_KINDS = (
    "after-last-frost",
    "before-last-frost",
    "harden-before-frost",
    "before-first-frost",
    "after-first-frost",
)
OWN_RULES = ("own-dates", "closed-days", "hire-notice")
NEVER_ASKED = ("not-past",)  # nobody can free a day that has gone by


class _OtherWork(Statement):
    SAYS, FREES = "{title} is wanted too", "leave out {title}"

    def take_back(self, draft: Draft) -> None:
        del draft.visits[self.name]


class _People(Statement):
    SAYS, FREES = "the crew has no more people than it has", "more people on {day}"

    def take_back(self, draft: Draft) -> None:
        draft.workers += [replace(worker, name=f"{worker.name} 2") for worker in draft.workers]
        draft.more_of(*_own_kits(draft.base))


class _CrewDays(Statement):
    SAYS = "nobody works on days other than those in crew.toml"
    FREES = "one more day of crew, {day} (extra, or less off, under [[person]])"

    def take_back(self, draft: Draft) -> None:
        draft.workers = [
            replace(worker, hours=np.full_like(worker.hours, worker.hours.max(initial=0.0)))
            for worker in draft.workers
        ]
        draft.every_day(*_own_kits(draft.base))


class _SawTime(Statement):
    SAYS = "nobody of the crew saws longer than the limit for a day"
    FREES = "somebody else who saws on {day}"

    def take_back(self, draft: Draft) -> None:
        draft.kits[self.name] = replace(draft.kits[self.name], minutes=None)


class _HireCount(Statement):
    SAYS, FREES = "{title} is in one place at a time", "a second {name}"

    def take_back(self, draft: Draft) -> None:
        draft.more_of(self.name)


class _HireDays(Statement):
    SAYS = "{title} comes on its own days only"
    FREES = "have {title} come on {day} (extra, or booked once agreed, under [[hire]])"

    def take_back(self, draft: Draft) -> None:
        draft.every_day(self.name)


class _HeavyRow(Statement):
    SAYS = "crew.toml caps heavy days in a row at {title}"

    def take_back(self, draft: Draft) -> None:
        draft.heavy_in_row = None

    def frees(self, _: Sequence[Block]) -> str:
        """The least cap with which all has room."""
        every = self.asked.problem()
        for cap in range((every.heavy_in_row or 0) + 1, fields.MOST_IN_ROW + 1):
            if room_for_all(replace(every, heavy_in_row=cap)) is not None:
                return f"let {cap} heavy days follow one another (heavy_days_in_row)"
        return "give up the cap on heavy days in a row (heavy_days_in_row)"


class _End(Statement):
    SAYS = "the plan ends on {title}"

    def take_back(self, draft: Draft) -> None:
        draft.n_days = draft.base.season.n_days

    def frees(self, where: Sequence[Block]) -> str:
        return f"let the plan run to {self.asked.day_words(where[0].last)} or later"


class _Rule(Statement):
    """What a rule says of a task."""

    def __init__(self, asked: Question, task_id: str, number: int) -> None:
        # which task it is about is said where it is not the visit in question
        title = "" if task_id == asked.visit_id else f"{asked.placed.titled(task_id)}: "
        super().__init__(asked, task_id, title)
        self.number, self.window = number, asked.windows[task_id]
        self.ruling = self.window.rulings[number]
        self.visit_id = asked.placed.visit_of[task_id]
        rule = asked.placed.holding.rules.rules[self.ruling.rule_id]
        # a rule of the trade is not the grower's to change, but for the tolerance of frost
        self.of_tolerance = rule.kind == "after-last-frost"
        self.can_change = self.of_tolerance or self.ruling.rule_id in OWN_RULES
        plot, frost = self.window.task.plot, asked.outlook.frost
        risks = frost.values() if plot is None else [frost[plot.id]]
        unknown = all(risk.basis == "unknown" for risk in risks)
        self.lacks_frost_dates = unknown and rule.kind in FROST_KINDS

    def take_back(self, draft: Draft) -> None:
        del draft.rulings[self.name][self.number]

    def says(self) -> str:
        fixed = self.window.fixed_first
        if self.ruling.rule_id == "own-dates" and fixed is not None:
            return f"{self.title}your own date for it is {self.asked.day_words(fixed)}"
        return f"{self.title}{self.ruling.words}"

    def frees(self, where: Sequence[Block]) -> str:
        if self.lacks_frost_dates:
            return "name a station record or your own frost dates under [frost] in site.toml"
        return f"{self.title}{self._freed(where)}"

    def _freed(self, where: Sequence[Block]) -> str:
        rule_id, day = self.ruling.rule_id, self.asked.day_words(where[0].first)
        if rule_id == "own-dates":
            begin = f" (it could begin on {day})" if self.visit_id == self.asked.visit_id else ""
            return f"give up your own date{begin}"
        if rule_id == "closed-days":
            return f"open {day}"
        if rule_id == "hire-notice":
            return f"if they agree to come sooner: booked under [[hire]], from {day} on"
        plot = self.window.task.plot
        if self.of_tolerance and plot is not None:
            chances = self.asked.outlook.frost[plot.id].chance_on_or_after
            return self._tolerance_freed([float(chances[block.first]) for block in where])
        return f"set {rule_id} aside in rules.toml, if you know better (from {day} on)"

    def _tolerance_freed(self, chances: list[float]) -> str:
        """The least tolerance of frost that makes room.

        The first frost of autumn goes by the tolerance, too, so each is tried and not read off.
        """
        percents = sorted({ceil(100 * chance) for chance in chances if not isnan(chance)})
        holding = self.asked.outlook.holding
        least = percents[0] if percents else 100
        advised = round(100 * holding.rules.figure("frost-chance-advised"))
        if least > advised:
            return f"nothing safe: the least chance of frost there is {least} %"
        for percent in percents[:MOST_TRIED]:
            if percent <= advised and (day := self._first_with(percent / 100)):
                return (
                    f"accept a chance of frost of {percent} % instead of "
                    f"{100 * holding.site.frost.tolerance:g} % (greater tolerance, from {day} on)"
                )
        return "no greater tolerance of frost: it brings the first frost of autumn nearer, too"

    def _first_with(self, tolerance: float) -> str:
        """The first day that the visit could have with another tolerance; empty without any."""
        asked, holding = self.asked, self.asked.outlook.holding
        frost = replace(holding.site.frost, tolerance=tolerance)
        tried = replace(holding, site=replace(holding.site, frost=frost))
        tasks = tuple(asked.placed.tasks.values())
        outlook = outlook_of(tried, asked.outlook.as_of, tasks)
        room = Question(asked.placed, outlook, asked.visit_id, asked.others).room()
        return "" if room is None else asked.day_words(room[self.visit_id][0].first)


def _own_kits(problem: Problem) -> list[str]:
    return [kit.id for kit in problem.kits if kit.own]


def _of_crew(asked: Question) -> Iterator[Statement]:
    """What crew.toml says of people, machines and firms."""
    names = {hire.id: hire.name for hire in asked.placed.holding.crew.hire}
    hired = [(kit.id, names[kit.id]) for kit in asked.base.kits if not kit.own]
    yield _People(asked)
    yield from (_SawTime(asked, kit_id) for kit_id in _own_kits(asked.base))
    yield from (_HireCount(asked, kit_id, name) for kit_id, name in hired)
    yield from (_HireDays(asked, kit_id, name) for kit_id, name in hired)
    yield _CrewDays(asked)
    cap = asked.base.heavy_in_row
    if cap is not None and any(step.heavy for step in asked.base.steps):
        yield _HeavyRow(asked, title=str(cap))


def statements_of(asked: Question) -> tuple[Statement, ...]:
    """All statements; the grower's own come last, so that they are kept as the reason."""
    rules = [
        _Rule(asked, task_id, number)
        for task_id, rulings in Draft(asked).rulings.items()
        for number, ruling in rulings.items()
        if ruling.rule_id not in NEVER_ASKED
    ]
    return (
        *(_OtherWork(asked, other, asked.placed.titled(other)) for other in asked.others),
        *(rule for rule in rules if rule.ruling.basis is not Basis.PLANNED),
        *_of_crew(asked),
        *(rule for rule in rules if rule.ruling.basis is Basis.PLANNED),
        _End(asked, title=day_words(asked.placed.season.last)),
    )
