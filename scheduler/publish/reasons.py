"""Why this day and not earlier: the rulings, then the order, the crew, and what a day costs."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

import numpy as np

from scheduler.publish import words
from scheduler.publish.price_words import busy_records, busy_words, price_record, price_words
from scheduler.publish.sheet import Table
from scheduler.publish.spare_words import kept_words
from scheduler.roster.why import Answer, Obstacle, Price, Standing
from scheduler.season import SeasonPlan, obstacle_words
from scheduler.terms import Ruling, Season, day_words, spans_of


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a task does not stand on a run of days.

    Args:
        first: first day of the run.
        last: last day of the run.
        kind: ``closed`` by a rule, a kind of obstacle, or ``price`` where the days are free.
        says: the reason in words.
        ruling: the ruling that closes the days, if one does.
        answers: what each open day of the run answers, by day number.
    """

    first: date
    last: date
    kind: str
    says: str
    ruling: Ruling | None = None
    answers: tuple[tuple[int, Answer], ...] = ()


def reasons_of(plan: SeasonPlan, task_id: str) -> tuple[Reason, ...]:
    """Why a task stands on no earlier day, from today to the day before it begins.

    First each rule with the days it closes, those that hold longest first; then the open
    days, and what keeps the task from them or what they cost. For a task that could not be
    placed, all days of the plan are gone through.
    """
    stint = plan.stints.get(task_id)
    until = plan.season.n_days if stint is None else stint.first
    since = max(0, plan.season.day_of(plan.outlook.as_of))
    closed = sorted(
        _closed(plan, task_id, since, until), key=lambda r: (-r.last.toordinal(), r.first)
    )
    return (*closed, *_unused(plan, task_id, since, until))


def _closed(plan: SeasonPlan, task_id: str, since: int, until: int) -> Iterator[Reason]:
    days = np.arange(plan.season.n_days)
    asked = (days >= since) & (days < until)
    for ruling in plan.windows[task_id].rulings:
        for span in spans_of(plan.season, ruling.closed & asked):
            yield Reason(span.first, span.last, "closed", words.ruling_words(ruling), ruling)


Run = list[tuple[int, Answer]]
HOURS_SHORT = ("crew", "cut-short")  # obstacles that fewer spare hours might clear
_WEEK = 6  # days off in a row that a week may hold


def _unused(plan: SeasonPlan, task_id: str, since: int, until: int) -> Iterator[Reason]:
    """The open days in runs with the same reason."""
    if task_id not in plan.problem.by_id:
        return
    standing, is_open = Standing(plan.problem, plan.roster), plan.windows[task_id].open
    answers = [(day, standing.asked(task_id, day)) for day in range(since, until) if is_open[day]]
    for run in _joined(_runs(answers)):
        first, last = (plan.season.date_of(run[at][0]) for at in (0, -1))
        what = run[0][1]
        kind = "price" if isinstance(what, Price) else what.kind
        yield Reason(first, last, kind, _says(plan, task_id, run), None, tuple(run))


def _runs(answers: Sequence[tuple[int, Answer]]) -> list[Run]:
    runs: list[Run] = []
    for day, answer in answers:
        last = runs[-1][-1] if runs else None
        if last is not None and last[0] == day - 1 and _key(last[1]) == _key(answer):
            runs[-1].append((day, answer))
        else:
            runs.append([(day, answer)])
    return runs


def _joined(runs: Sequence[Run]) -> list[Run]:
    """Weekly days off between two runs of one reason part them no more than a night does."""
    joined: list[Run] = []
    off: list[Run] = []  # runs of days off since the last run of another reason
    for run in runs:
        if _is_off(run) and joined and (off or joined)[-1][-1][0] + 1 == run[0][0]:
            off.append(run)
            continue
        touch = bool(off) and off[-1][-1][0] + 1 == run[0][0]
        same = touch and _key(joined[-1][0][1]) == _key(run[0][1])
        if same and run[0][0] - joined[-1][-1][0] - 1 <= _WEEK and not _is_off(run):
            joined[-1] += [day for part in off for day in part] + run
        else:
            joined += [*off, list(run)]
        off = []
    return [*joined, *off]


def _is_off(run: Run) -> bool:
    what = run[0][1]
    return isinstance(what, Obstacle) and what.kind in ("nobody", "team", "kit-away")


def _key(answer: Answer) -> tuple[object, ...]:
    """What makes the reason of two days the same."""
    if isinstance(answer, Obstacle):
        # another day's work is another reason, but who takes the room matters only there
        beside = answer.beside if answer.kind in ("crew", "kit", "plot", "heavy-row") else ()
        return (answer.kind, answer.about, *beside)
    hire = (answer.hire_blocks > 0, answer.hire_days > 0)
    return (
        "price",
        answer.moved,
        answer.risk > 0,
        *hire,
        answer.points > 0,
        answer.waiting_days < 0,
    )


def _says(plan: SeasonPlan, task_id: str, run: Run) -> str:
    what = run[0][1]
    if isinstance(what, Price):
        prices = [answer for _, answer in run if isinstance(answer, Price)]
        return price_words(plan, task_id, prices)
    says = obstacle_words(plan, task_id, what, dated=False, named=False)
    return f"{says}{_ends(plan, task_id, what)}{busy_words(plan, task_id, what)}"


def _ends(plan: SeasonPlan, task_id: str, what: Obstacle) -> str:
    """When what it waits for ends, and how many days must pass then."""
    before = plan.stints.get(what.about)
    if what.kind != "waits" or before is None:
        return ""
    gaps = [
        o.min_days for o in plan.problem.orders if (o.before, o.after) == (what.about, task_id)
    ]
    ended = f", which ends on {day_words(plan.season.date_of(before.last))}"
    gap = max(gaps, default=0)
    return f"{ended} and {gap} day{'s' * (gap > 1)} must pass" if gap else ended


def why_table(plan: SeasonPlan, task_id: str) -> Table:
    """The reasons as a table."""
    for errand in plan.errands:
        if errand.id == task_id:
            on = day_words(errand.on)
            return Table(f"{errand.title}: by {on}", ("why by then",), ((errand.because,),))
    task, stint = plan.tasks[task_id], plan.stints.get(task_id)
    title = words.task_title(task, plan)
    if task_id in plan.done:
        head = f"{title}: done on {day_words(plan.done[task_id].date)}"
        return Table(head, ("days", "why not then"), ())
    if stint is None:
        head = f"{title}: could not be placed"
    else:
        head = f"{title}: {words.days_words(plan.season, stint.days)}"
    reasons = reasons_of(plan, task_id)
    return Table(
        head,
        ("days", "why not then"),
        tuple((words.span_words(r.first, r.last), r.says) for r in reasons),
        tuple(_foot(plan, task_id, reasons)),
    )


def _foot(plan: SeasonPlan, task_id: str, reasons: Sequence[Reason]) -> Iterator[str]:
    """Frost state of the day, who works, and where the rules come from."""
    task, stint = plan.tasks[task_id], plan.stints.get(task_id)
    for notice in plan.notices:
        if notice.speaks_of(task_id):
            yield f"{notice.level.value.upper()}: {notice.says}"
    if stint is not None:
        told = (words.frost_words(task, stint, plan), words.moon_words(task, stint, plan))
        yield from filter(None, told)
    if kept := kept_words(plan.outlook.spare, _short_months(reasons)):
        yield kept
    closing = {r.ruling.rule_id: r.ruling for r in reasons if r.ruling}
    for ruling in closing.values():
        yield f"Source of {ruling.rule_id} [{words.basis_words(ruling)}]: {ruling.source}."


def _short_months(reasons: Sequence[Reason]) -> list[int]:
    """The months, 1 to 12, in which the hours of the crew are what keeps the task away."""
    short = [r for r in reasons if r.kind in HOURS_SHORT]
    return [
        month
        for r in short
        for month in dict.fromkeys(day.month for day in Season.between(r.first, r.last))
    ]


def why_record(plan: SeasonPlan, task_id: str) -> dict[str, Any]:
    """The reasons for a program."""
    for errand in plan.errands:
        if errand.id == task_id:
            on = errand.on.isoformat()
            return {"task": task_id, "title": errand.title, "on": on, "because": errand.because}
    stint, is_done = plan.stints.get(task_id), task_id in plan.done
    days = [] if stint is None else [plan.season.date_of(d).isoformat() for d in stint.days]
    return {
        "task": task_id,
        "title": words.task_title(plan.tasks[task_id], plan),
        "days": days,
        "done": is_done,
        "earlier": [_record(plan, task_id, reason) for reason in reasons_of(plan, task_id)],
    }


def _record(plan: SeasonPlan, task_id: str, reason: Reason) -> dict[str, Any]:
    record: dict[str, Any] = {
        "first": reason.first.isoformat(),
        "last": reason.last.isoformat(),
        "kind": reason.kind,
        "says": reason.says,
    }
    if reason.ruling is not None:
        told = reason.ruling
        record |= {"rule": told.rule_id, "basis": told.basis.value, "source": told.source}
        return record
    what = reason.answers[0][1]
    if isinstance(what, Obstacle):
        busy = busy_records(plan, task_id, what) if what.beside else []
        if reason.kind in HOURS_SHORT:
            record["spare_share"] = round(plan.outlook.spare.share_on(reason.first), 4)
        return record | {"about": what.about, "beside": list(what.beside), "busy": busy}
    return record | {"prices": [price_record(plan, day, p) for day, p in reason.answers]}
