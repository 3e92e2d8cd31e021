"""Work without a place: which statements conflict, and what would free it. Pure."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from functools import cached_property
from math import ceil

import numpy as np

from scheduler.files import fields
from scheduler.holding import FrostPolicy, dayrules
from scheduler.reasons.statements import Conflict, Statement
from scheduler.roster import (
    Block,
    Crew,
    Kit,
    Packer,
    Problem,
    Rooms,
    Step,
    Stop,
    Visit,
    Worker,
    followers,
    proven_full,
    smallest,
    with_followers,
)
from scheduler.season import Outlook, Placed, outlook_of, problem_of, with_own_days
from scheduler.sky import SkyRangeError
from scheduler.terms import Basis, Ruling, day_words
from scheduler.windows import Facts, TaskWindow, window_of

# Past the end of the plan, to see whether a later end would help: not into the next round.
LONGER_DAYS, LEAST_LONGER_DAYS = 184, 31
MOST_OTHERS = 40  # pieces of other work that are asked about
MOST_TRIED = 6  # tolerances of frost
MOST_BEGINS = 14  # days on which a visit is tried to be begun
FROST_KINDS = (
    "after-last-frost",
    "before-last-frost",
    "harden-before-frost",
    "before-first-frost",
    "after-first-frost",
)
OWN_RULES = ("own-dates", "closed-days", "hire-notice")
SHORT_OF = ("nobody", "team", "short", "kit-away")  # what keeps a step from a day, rules aside
NEVER_ASKED = ("not-past",)  # nobody can free a day that has gone by


class Conflicts:
    """What keeps work without a place, visit by visit.

    The order of work is no statement of the grower's and always holds.

    Args:
        placed: the season.
    """

    def __init__(self, placed: Placed) -> None:
        self.placed, self.rooms = placed, Rooms()

    @cached_property
    def outlook(self) -> Outlook:
        """Sky and frost of a season that ends later, where the tables reach so far."""
        holding, first = self.placed.holding, self.placed.season.first
        last = self.placed.season.last
        whole_year = min(last + timedelta(days=LONGER_DAYS), first + timedelta(days=364))
        later = max(last + timedelta(days=LEAST_LONGER_DAYS), whole_year)
        plan = replace(holding.plan, says=replace(holding.plan.says, last=later))
        tasks = tuple(self.placed.tasks.values())
        try:
            return outlook_of(replace(holding, plan=plan), self.placed.outlook.as_of, tasks)
        except SkyRangeError:
            return self.placed.outlook

    def of(self, visit_id: str) -> Conflict | None:
        """Why a visit has no place; None where it is not proven that it cannot have one."""
        question = _Question(self.placed, self.outlook, self.rooms, visit_id, ())
        room = question.room(frozenset(question.statements))
        if room is not None:
            others = _others(self.placed, room)
            question = _Question(self.placed, self.outlook, self.rooms, visit_id, others)
        every = question.statements
        if question.room(frozenset(every)) is not None:
            return None
        kept = smallest(every, lambda some: question.room(some) is None)
        if not kept or not proven_full(question.problem(frozenset(kept))):
            return None
        free = [(said, question.room(frozenset(every) - question.given_up(said))) for said in kept]
        freed = {said: question.meant(said, room) for said, room in free if room is not None}
        changed = [*filter(question.can_change, freed)] or freed
        frees = tuple(question.frees(said, freed[said]) for said in changed)
        return Conflict(tuple(map(question.says, kept)), frees)


def _others(placed: Placed, room: dict[str, list[Block]]) -> tuple[str, ...]:
    """Visits that stand near days which the visit, or what it waits for, could have; by day."""
    reach = (placed.problem.heavy_in_row or 0) + 1
    days = {day for blocks in room.values() for block in blocks for day in block.days}
    near = [
        visit_id
        for visit_id, visit in placed.visits.items()
        if visit_id not in room
        and not days.isdisjoint(range(visit.first - reach, visit.last + reach + 1))
    ]
    return tuple(near[:MOST_OTHERS])


class _Question:
    """A visit, what it waits for and other work, of which statements can be left out.

    Args:
        placed: the season.
        outlook: sky and frost of a season that ends later.
        rooms: what was asked before.
        visit_id: the visit without a place.
        others: other visits that are wanted too.
    """

    def __init__(
        self,
        placed: Placed,
        outlook: Outlook,
        rooms: Rooms,
        visit_id: str,
        others: tuple[str, ...],
    ) -> None:
        self.placed, self.outlook, self.rooms = placed, outlook, rooms
        self.visit_id, self.others = visit_id, others
        waits_for = followers((after, before) for before, after in placed.problem.ties)
        self.chain = with_followers({visit_id}, waits_for)  # the visit and all it waits for
        self.n_days = placed.season.n_days
        self.windows = self._windows()
        links = tuple(
            link for link in placed.links if {link.before, link.after} <= set(self.windows)
        )
        self.base = problem_of(self.outlook, self.windows, links, {}, placed.groups)

    def _windows(self) -> dict[str, TaskWindow]:
        seen = self.outlook
        facts = Facts(seen.holding, seen.season, seen.sky, seen.frost, seen.as_of)
        wanted = {*self.chain, *self.others}
        mine = {t for t, visit_id in self.placed.visit_of.items() if visit_id in wanted}
        found = {t: window_of(task, facts) for t, task in self.placed.tasks.items() if t in mine}
        return with_own_days(found, self.placed.groups, seen.holding)

    @cached_property
    def statements(self) -> tuple[Statement, ...]:
        """All of them; the grower's own come last, so that they are kept as the reason."""
        hired = [kit.id for kit in self.base.kits if not kit.own]
        return (
            *(Statement("work", task_id) for task_id in self.others),
            *self._rules(planned=False),
            Statement("people"),
            *(Statement("own-kit", kit.id) for kit in self.base.kits if kit.own),
            *(Statement("hire-count", kit_id) for kit_id in hired),
            *(Statement("hire-days", kit_id) for kit_id in hired),
            Statement("crew-days"),
            *([Statement("heavy-row")] if self._capped else []),
            *self._rules(planned=True),
            Statement("end"),
        )

    def _rules(self, *, planned: bool) -> Iterator[Statement]:
        for task_id, window in self.windows.items():
            for n, ruling in enumerate(window.rulings):
                asked = ruling.closed.any() and ruling.rule_id not in NEVER_ASKED
                if asked and (ruling.basis is Basis.PLANNED) is planned:
                    yield Statement("rule", task_id, n)

    @property
    def _capped(self) -> bool:
        """Whether heavy days in a row are capped, and any of the work is heavy."""
        return self.base.heavy_in_row is not None and any(step.heavy for step in self.base.steps)

    def room(self, kept: frozenset[Statement]) -> dict[str, list[Block]] | None:
        """Where each visit could stand under some of the statements; None where one cannot."""
        return self.rooms.for_all(self.problem(kept))

    def meant(self, one: Statement, room: dict[str, list[Block]]) -> list[Block]:
        """The blocks of the visit that a statement is about."""
        about = self.placed.visit_of[one.about] if one.kind == "rule" else self.visit_id
        return room[about]

    def problem(self, kept: frozenset[Statement]) -> Problem:
        """The work, and only some of the statements about it."""
        visits = [
            self._visit(visit, kept)
            for visit in self.base.visits
            if visit.id in self.chain or Statement("work", visit.id) in kept
        ]
        there = {step.id for visit in visits for step in visit.steps}
        orders = [order for order in self.base.orders if {order.before, order.after} <= there]
        workers = [w for worker in self.base.workers for w in self._worker(worker, kept)]
        kits = [self._kit(kit, kept) for kit in self.base.kits]
        capped = Statement("heavy-row") in kept
        return replace(
            self.base,
            visits=tuple(visits),
            orders=tuple(orders),
            workers=tuple(workers),
            kits=tuple(kits),
            heavy_in_row=self.base.heavy_in_row if capped else None,
        )

    def _visit(self, visit: Visit, kept: frozenset[Statement]) -> Visit:
        return replace(visit, steps=tuple(self._step(step, kept) for step in visit.steps))

    def _step(self, step: Step, kept: frozenset[Statement]) -> Step:
        window, days = self.windows[step.id], np.arange(self.base.season.n_days)
        closed = days >= self.n_days if Statement("end") in kept else days < 0
        own = False
        for n, ruling in enumerate(window.rulings):
            if Statement("rule", step.id, n) in kept or ruling.rule_id in NEVER_ASKED:
                closed = closed | ruling.closed
                own |= ruling.rule_id == "own-dates"
        fixed = step.fixed_first if own else None
        return replace(step, open=~closed, fixed_first=fixed)

    def _worker(self, worker: Worker, kept: frozenset[Statement]) -> Iterator[Worker]:
        if Statement("crew-days") not in kept:
            daily = np.full(worker.hours.shape, float(worker.hours.max(initial=0.0)))
            worker = replace(worker, hours=daily)
        yield worker
        if Statement("people") not in kept:
            yield replace(worker, name=f"{worker.name} 2")

    def _kit(self, kit: Kit, kept: frozenset[Statement]) -> Kit:
        units, minutes = kit.units, kit.minutes
        people, days = (
            (Statement("people"), Statement("crew-days"))
            if kit.own
            else (Statement("hire-count", kit.id), Statement("hire-days", kit.id))
        )
        if days not in kept:
            units = np.full(units.shape, int(units.max(initial=0)))
            most = 0 if minutes is None else int(minutes.max(initial=0))
            minutes = None if minutes is None else np.full(minutes.shape, most)
        if people not in kept:
            units, minutes = np.where(units > 0, units + len(self.windows), 0), None
        if kit.own and Statement("own-kit", kit.id) not in kept:
            minutes = None
        return replace(kit, units=units, minutes=minutes)

    def _ruling(self, one: Statement) -> Ruling:
        return self.windows[one.about].rulings[one.number]

    def _of(self, one: Statement) -> str:
        """Which task a statement is about, where it is not the visit in question."""
        return "" if one.about == self.visit_id else f"{self.placed.titled(one.about)}: "

    def _hired(self, kit: str) -> str:
        return {hire.id: hire.name for hire in self.placed.holding.crew.hire}.get(kit, kit)

    def says(self, one: Statement) -> str:
        """A statement in the grower's words."""
        if one.kind == "rule":
            return f"{self._of(one)}{self._rule_words(one)}"
        if one.kind == "work":
            return f"{self.placed.titled(one.about)} is wanted too"
        end = day_words(self.placed.season.last)
        return {
            "people": "the crew has no more people than it has",
            "crew-days": "nobody works on days other than those in crew.toml",
            "own-kit": "nobody of the crew saws for longer than is told for a day",
            "hire-count": f"{self._hired(one.about)} is in one place at a time",
            "hire-days": f"{self._hired(one.about)} comes on its own days only",
            "heavy-row": f"crew.toml caps heavy days in a row at {self.base.heavy_in_row}",
            "end": f"the plan ends on {end}",
        }[one.kind]

    def _rule_words(self, one: Statement) -> str:
        ruling = self._ruling(one)
        fixed = self.windows[one.about].fixed_first
        if ruling.rule_id == "own-dates" and fixed is not None:
            return f"your own date for it is {day_words(self.base.season.date_of(fixed))}"
        return ruling.words

    def can_change(self, one: Statement) -> bool:
        """Whether it is the grower's to change; a rule of the trade is not, but for tolerance."""
        if one.kind != "rule":
            return True
        ruling = self._ruling(one)
        return ruling.rule_id in OWN_RULES or isinstance(
            self.placed.holding.rules.rules[ruling.rule_id], dayrules.AfterLastFrostRule
        )

    def given_up(self, one: Statement) -> frozenset[Statement]:
        """What goes with a statement: frost dates, once told, open every rule waiting for them."""
        if one.kind != "rule" or not self._frost_unknown(one):
            return frozenset((one,))
        rules = (other for other in self.statements if other.kind == "rule")
        return frozenset(other for other in rules if self._frost_unknown(other))

    def frees(self, one: Statement, where: list[Block]) -> str:
        """What the grower can change about a statement, and when the work could then begin."""
        day = day_words(self.base.season.date_of(self._missing(where)))
        if one.kind == "rule" and self._frost_unknown(one):
            return "name a station record or your own frost dates under [frost] in site.toml"
        if one.kind == "rule":
            return f"{self._of(one)}{self._rule_freed(one, where)}"
        if one.kind == "end":
            until = day_words(self.base.season.date_of(where[0].last))
            return f"let the plan run to {until} or later"
        return {
            "work": f"leave out {self.placed.titled(one.about)}" if one.kind == "work" else "",
            "people": f"more people on {day}",
            "crew-days": f"one more day of crew, {day} (extra, or less off, under [[person]])",
            "own-kit": f"somebody else who saws on {day}",
            "hire-count": f"a second {one.about}",
            "hire-days": f"have {self._hired(one.about)} come on {day} (extra, or booked once "
            "agreed, under [[hire]])",
            "heavy-row": self._cap_freed() if one.kind == "heavy-row" else "",
        }[one.kind]

    def _missing(self, where: list[Block]) -> int:
        """The day on which a visit lacks people or kit, were it to begin where it first could."""
        every = self.problem(frozenset(self.statements))
        packer, visit = Packer(every, Crew(every)), every.visit_by_id[where[0].visit.id]
        for block in where[:MOST_BEGINS]:
            stop = packer.begun(visit, block.first)
            if isinstance(stop, Stop) and stop.why in SHORT_OF and stop.day > block.first:
                return stop.day
        return where[0].first

    def _frost_unknown(self, one: Statement) -> bool:
        """Whether a rule waits for frost dates that nothing tells, in its plot or in any."""
        rule = self.placed.holding.rules.rules.get(self._ruling(one).rule_id)
        if rule is None or rule.kind not in FROST_KINDS:
            return False
        plot, known = self.windows[one.about].task.plot, self.outlook.frost
        risks = list(known.values()) if plot is None else [known[plot.id]]
        return all(risk.basis == "unknown" for risk in risks)

    def _cap_freed(self) -> str:
        """The least cap on heavy days in a row with which all has room."""
        now = self.base.heavy_in_row or 0
        every = self.problem(frozenset(self.statements))
        for cap in range(now + 1, fields.MOST_IN_ROW + 1):
            if self.rooms.for_all(replace(every, heavy_in_row=cap)) is not None:
                return f"let {cap} heavy days follow one another (heavy_days_in_row)"
        return "give up the cap on heavy days in a row (heavy_days_in_row)"

    def _rule_freed(self, one: Statement, where: list[Block]) -> str:
        ruling = self._ruling(one)
        day = day_words(self.base.season.date_of(where[0].first))
        if ruling.rule_id in OWN_RULES:
            begin = (
                f" (it could begin on {day})"
                if self.placed.visit_of[one.about] == self.visit_id
                else ""
            )
            return {
                "own-dates": f"give up your own date{begin}",
                "closed-days": f"open {day}",
                "hire-notice": "if they agree to come sooner: booked under [[hire]], "
                f"from {day} on",
            }[ruling.rule_id]
        rule = self.placed.holding.rules.rules[ruling.rule_id]
        plot = self.windows[one.about].task.plot
        if isinstance(rule, dayrules.AfterLastFrostRule) and plot is not None:
            chances = self.outlook.frost[plot.id].chance_on_or_after[[p.first for p in where]]
            return self._tolerance_freed(one.about, chances[~np.isnan(chances)].tolist())
        return f"set {ruling.rule_id} aside in rules.toml, if you know better (from {day} on)"

    def _tolerance_freed(self, about: str, chances: list[float]) -> str:
        """The least tolerance of frost that makes room.

        The first frost of autumn goes by the tolerance, too, so each is tried and not read off.
        """
        least = ceil(100 * min(chances, default=1.0))
        advised = round(100 * self.placed.holding.rules.figure("frost-chance-advised"))
        if least > advised:
            return f"nothing safe: the least chance of frost there is {least} %"
        for percent in sorted({ceil(100 * chance) for chance in chances})[:MOST_TRIED]:
            if percent <= advised and (day := self._first_with(about, percent / 100)):
                return (
                    f"accept a chance of frost of {percent} % instead of "
                    f"{100 * self._policy.tolerance:g} % (greater tolerance, from {day} on)"
                )
        return "no greater tolerance of frost: it brings the first frost of autumn nearer, too"

    @property
    def _policy(self) -> FrostPolicy:
        return self.outlook.holding.site.frost

    def _first_with(self, about: str, tolerance: float) -> str:
        """The first day that a task could have under another tolerance; empty without any."""
        holding = self.outlook.holding
        frost = replace(self._policy, tolerance=tolerance)
        tried = replace(holding, site=replace(holding.site, frost=frost))
        tasks = tuple(self.placed.tasks.values())
        seen = outlook_of(tried, self.outlook.as_of, tasks)
        question = _Question(self.placed, seen, self.rooms, self.visit_id, self.others)
        room = question.room(frozenset(question.statements))
        if room is None:
            return ""
        return day_words(seen.season.date_of(room[self.placed.visit_of[about]][0].first))
