"""What the entries of the calendars say: what a crew needs on a phone, in the order of use.

Who, what to do, what to stop for, what to bring, frost and daylight, how to report. The full
reasons, ranges, sources and material are told by ``scheduler why`` and ``scheduler due``. Last
stand the bookings and the entries of the frost calendar.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import cached_property

from scheduler.frost import FrostDates, FrostRisk
from scheduler.holding import Caution, Plot
from scheduler.reasons import HALF_DONE_CODE, SeasonPlan
from scheduler.roster import Stint
from scheduler.season import Errand, Placed, once_a_plan
from scheduler.stand import Task, wants_two
from scheduler.terms import day_words
from scheduler.windows import cautions_on
from scheduler.words import phrases
from scheduler.words.material_words import haul_words
from scheduler.words.phrases import rests_on, visit_days_words, visit_name
from scheduler.words.price_words import hours_by_name
from scheduler.words.text import rows_words
from scheduler.words.why_day import short_reason

MOST_WORDS = 200  # what somebody reads on a phone with gloves on
# what is left out of a longer one, in this order; `scheduler why` and the feed's head have it
LEAVES_OUT = ("plants", "reason", "closed window", "codes", "hours", "haul")
# what the sheet of a day shows by itself
ON_THE_SHEET = ("Who: ", "Do, ", "Bring: ", "Emergency: ")


def visit_text(plan: SeasonPlan, visit_id: str, days: Sequence[int], person: str = "") -> str:
    """The text for some days of a visit, one day of a campaign or a run of days of other work.

    Days are day numbers, ascending; without a person it is the entry of the whole crew. Where it
    would be longer than ``MOST_WORDS``, some is left out, see ``LEAVES_OUT``. Nothing that keeps
    people safe is left out.
    """
    entry, text = _entry_of(plan.placed, plan, visit_id, tuple(days)), ""
    for n in range(len(LEAVES_OUT) + 1):
        said = (*entry.warnings, entry.who(person), *entry.rest(frozenset(LEAVES_OUT[:n])))
        text = "\n".join(filter(None, said))
        if len(text.split()) <= MOST_WORDS:
            break
    return text


@once_a_plan
def _entry_of(placed: Placed, plan: SeasonPlan, visit_id: str, days: tuple[int, ...]) -> "_Entry":
    """What is told alike to everybody, found once for all the calendars that tell it."""
    return _Entry(plan, placed, visit_id, days)


def day_notes(plan: SeasonPlan, visit_id: str, day: int) -> tuple[tuple[str, str], ...]:
    """What a crew must know on one day of a visit, each with its heading, in the order of use.

    The day sheet has the rest itself: who, the steps, the tools and the emergency line.
    """
    entry = _entry_of(plan.placed, plan, visit_id, (day,))
    said = (*entry.warnings, *entry.rest(frozenset()))
    return tuple(_headed(words) for words in said if words and not words.startswith(ON_THE_SHEET))


def part_words(stint: Stint, days: Sequence[int]) -> str:
    """Which part of a step some days do; empty where they do all of it."""
    begun, goes_on = stint.first < days[0], stint.last > days[-1]
    if begun:
        return "continued" if goes_on else "the rest"
    return "the first part" if goes_on else ""


def _headed(paragraph: str) -> tuple[str, str]:
    head, colon, words = paragraph.partition(": ")
    return (head, words) if colon and len(head.split()) < 5 else ("Caution", paragraph)


@dataclass(frozen=True)
class _Entry:
    """An entry; each paragraph is empty where there is nothing to tell."""

    season: SeasonPlan
    plan: Placed
    visit_id: str
    days: Sequence[int]
    told: dict[frozenset[str], tuple[str, ...]] = field(
        default_factory=dict
    )  # by what is left out

    @cached_property
    def tasks(self) -> list[Task]:
        """The steps of these days in their order."""
        return phrases.tasks_on(self.plan, self.visit_id, self.days)

    @cached_property
    def is_step(self) -> bool:
        return phrases.first_task(self.visit_id, self.plan).is_step

    @cached_property
    def alone(self) -> bool:
        """Whether the visit is one piece of work."""
        return len(self.plan.groups[self.visit_id]) == 1

    @cached_property
    def begins(self) -> bool:
        """Whether the visit begins on the first day; one that the log has begun does not."""
        first = self.plan.visits[self.visit_id].first
        return self.days[0] == first and not self.plan.logged_days(self.visit_id)

    @cached_property
    def warnings(self) -> tuple[str, str]:
        """That frost can reach it, and that a visit lies half done."""
        return (
            phrases.frost_warning(self.visit_id, self.days, self.season),
            phrases.warning_of(HALF_DONE_CODE, self.visit_id, self.season),
        )

    def rest(self, out: frozenset[str]) -> tuple[str, ...]:
        """What stands below the people, some left out."""
        if out not in self.told:
            self.told[out] = tuple(self._rest(out))
        return self.told[out]

    def _rest(self, out: frozenset[str]) -> Iterator[str]:
        about = self.visit_id, self.days
        yield self._do(out)
        yield self._not_alone()
        yield self._stop_for()
        yield self._mind(codes="codes" not in out)
        tools = ", ".join(phrases.tools_of(self.tasks))
        yield f"Bring: {tools}." if tools else ""
        if self.warnings[0] or "closed window" not in out:
            yield phrases.frost_words(*about, self.plan)
        yield self._light()
        yield phrases.moon_words(*about, self.plan)
        if self.begins and "reason" not in out:
            yield f"Why not sooner: {short_reason(self.plan, self.visit_id)}."
        emergency = self.plan.holding.site.emergency
        if emergency and any(task.type.heavy for task in self.tasks):
            yield f"Emergency: {emergency}"
        yield self._report()

    def who(self, person: str) -> str:
        """Who is there, to a person or to all."""
        shares = hours_by_name(self.plan, self.visit_id, self.days)
        if person:
            others = ", ".join(name for name in shares if name != person)
            who = f"you {shares.get(person, 0.0):.1f} h"
            who += f", with {others}" if others else ""
        else:
            who = ", ".join(f"{name} {hours:.1f}" for name, hours in shares.items()) + " h"
        hired = {hire for task in self.tasks for hire in task.hired}
        firms = ", ".join(hire.name for hire in self.plan.holding.crew.hire if hire.id in hired)
        return f"Who: {who}{f'; hired: {firms}' if firms else ''}."

    def _do(self, out: frozenset[str]) -> str:
        """The steps in their order, with hours and plants."""
        if self.alone:
            (task,) = self.tasks
            return f"Do, {self._hours(task, amount=True)}{self._about(task, out)}: {task.type.how}"
        rows = (
            (f"{task.title}{self._about(task, out)}", self._hours(task, amount="hours" not in out))
            for task in self.tasks
        )
        return f"Do, in this order:{rows_words(', '.join(filter(None, row)) for row in rows)}"

    def _hours(self, task: Task, *, amount: bool) -> str:
        """Person-hours of a step; says where it goes on or began before."""
        stint = self.plan.stints[task.id]
        hours = sum(h for day, h in zip(stint.days, stint.hours, strict=True) if day in self.days)
        logged = self.plan.progress.get(task.id)
        parts = (
            f"{hours:.1f} h" if amount else "",
            part_words(stint, self.days),
            f"{logged.percent} % done" if logged else "",
        )
        return ", ".join(filter(None, parts))

    def _about(self, task: Task, out: frozenset[str]) -> str:
        """In brackets, what a step is about: the lines it hauls between, or its plants."""
        about = "" if "haul" in out else haul_words(task, self.plan)
        if not about and "plants" not in out:
            about = phrases.stock_words(task.stock, self.plan)
        return f" ({about})" if about else ""

    def _not_alone(self) -> str:
        """The caution for somebody who saws, climbs or stands on a ladder alone that day."""
        rules = self.plan.holding.rules
        for task in self.tasks if self.plan.holding.site.works_alone else ():
            stint = self.plan.stints[task.id]
            there = zip(stint.days, stint.people, strict=True)
            alone = any(day in self.days and len(people) == 1 for day, people in there)
            if alone and wants_two(task.type, task.stock, task.batches, rules):
                return f"{rules.cautions['alone'].short}."
        return ""

    def _stop_for(self) -> str:
        """The dangers and limits of these very days."""
        stops: dict[str, str] = {}
        for task in self.tasks:
            stops |= self._stops(task)
        heights = [row.height_m for t in self.tasks if t.type.overhead for row in t.stock]
        if heights and "two-tree-lengths" in stops:
            clear_m = self.plan.holding.rules.figure("tree-lengths") * max(heights)
            stops["two-tree-lengths"] = (
                f"nobody within {clear_m:g} m of a falling tree, nobody alone"
            )
        return f"Safety: {'; '.join(stops.values())}." if stops else ""

    def _stops(self, task: Task) -> dict[str, str]:
        facts, stops = self.plan.outlook.facts, dict[str, str]()
        limits = [c for c in self.plan.concerns(task.id) if not c.standing]
        for day in sorted({*self.days}.intersection(self.plan.stints[task.id].days)):
            stops |= {c.id: c.short for c in cautions_on(task, day, facts) if not c.standing}
            stops |= {c.rule_id: c.words for c in limits if c.on[day]}
        return stops

    def _mind(self, *, codes: bool) -> str:
        """What holds from now on, told once in the visit, with the first step that calls for it.

        What a logged step calls for has been told by then.
        """
        logged, first = set[str](), dict[str, tuple[int, str]]()
        for task_id, day, caution in self._standing():
            if task_id in self.plan.progress:
                logged.add(caution.id)
            elif task_id in self.plan.stints:
                first.setdefault(caution.id, (day, caution.short))
        cautions = [
            short for key, (day, short) in first.items() if day in self.days and key not in logged
        ]
        cautions += [phrases.CODES] if codes and self.is_step and self.begins else []
        return f"Mind: {'; '.join(cautions)}." if cautions else ""

    def _standing(self) -> Iterator[tuple[str, int, Caution]]:
        """The cautions that each step of the visit calls for from its first day on."""
        facts = self.plan.outlook.facts
        for task_id in self.plan.groups[self.visit_id]:
            days = self.plan.stints.get(task_id, self.plan.visits[self.visit_id])
            for caution in cautions_on(self.plan.tasks[task_id], days.first, facts):
                if caution.standing:
                    yield task_id, days.first, caution

    def _light(self) -> str:
        """Sunrise to sunset in the whole minutes between; nobody cuts overhead outside them."""
        sky = self.plan.outlook.sky
        rise, fall = sky.sun.rises[self.days[0]], sky.sun.sets[self.days[0]]
        if len(rise) != 1 or len(fall) != 1:
            return ""
        overhead = any(task.type.overhead for task in self.tasks)
        limit = "; no overhead cutting outside it" if overhead else ""
        later = rise[0] + timedelta(minutes=1, microseconds=-1)
        return f"Daylight: {later:%H:%M} to {fall[0]:%H:%M}{limit}."

    def _report(self) -> str:
        items = self.tasks[0].type.record.split(",") if self.alone else []
        named = ", ".join(dict.fromkeys(filter(None, map(str.strip, items))))
        on = f" --on {self.plan.season.date_of(self.days[-1])}" if self.is_step else ""
        return f"Report: {named}{'; ' if named else ''}scheduler log SITE {self.visit_id}{on}"


def errand_description(errand: Errand, plan: Placed) -> str:
    """What the call is for, and when it is needed."""
    late = "LATE. " if errand.late else ""
    needed = f" Needed first on {day_words(errand.needed)}." if errand.needed else ""
    visits = dict.fromkeys(plan.visit_of[task_id] for task_id in errand.tasks)
    rows = rows_words(f"{visit_name(v, plan)}, {visit_days_words(v, plan)}" for v in visits)
    work = f"\n\nFor:{rows}" if rows else ""
    because = errand.because[:1].upper() + errand.because[1:].rstrip(".")
    return f"{late}{because}.{needed}{work}\n\nWhen it is done: scheduler log SITE {errand.id}"


def window_description(plot: Plot, risk: FrostRisk) -> str:
    """What a frost window event says."""
    dates = "; ".join((
        *_date_words("last frost", risk.last_frost, "after"),
        *_date_words("first frost", risk.first_frost, "before"),
    ))  # fmt: skip
    if risk.basis == "own dates":
        likely = f"By your own dates frost can come in {plot.name}; they give no chance."
    else:
        accepted = f"{100 * risk.tolerance:g} %"
        likely = f"A frost in {plot.name} is likelier than the {accepted} you accept."
    return (
        f"{likely} Keep evergreen cover, hold back cuts of tender stock, thick mulch and "
        f"planting. {f'{dates} (month-day). ' if dates else ''}{rests_on(risk)}"
    )


def _date_words(name: str, dates: FrostDates, side: str) -> Iterator[str]:
    """Frost dates of one side; where frosts are rare there may be none to tell."""
    if dates.p50 or dates.p10:
        even = f"even chance {dates.p50}" if dates.p50 else "in fewer than half of the years"
        yield f"{name}: {even}" + (f", one in ten {side} {dates.p10}" if dates.p10 else "")


def release_description(plot: Plot, risk: FrostRisk, release: date) -> str:
    """What the event of a window's end says."""
    if risk.basis == "own dates":
        says = (
            f"By your own dates frost is over in {plot.name} from {day_words(release)} on; they "
            "give no chance"
        )
    else:
        says = (
            f"From {day_words(release)} on the chance of another frost in {plot.name} is at most "
            f"{100 * risk.tolerance:g} %"
        )
    return f"{says}. {rests_on(risk)}"
