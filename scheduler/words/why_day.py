"""Why this day and not earlier: the rulings, the order, the crew, and what a day costs."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from scheduler.reasons import SeasonPlan, obstacle_words
from scheduler.roster import Answer, Obstacle, Price
from scheduler.season import Placed
from scheduler.terms import Ruling, Season, day_words, span_words
from scheduler.words import phrases
from scheduler.words.details import detail_lines
from scheduler.words.once import once
from scheduler.words.price_words import busy_records, busy_words, price_record, price_words
from scheduler.words.sheet import Table
from scheduler.words.spare_words import kept_words

Run = list[tuple[int, Answer]]
HOURS_SHORT = ("crew", "short", "stuck")  # obstacles that fewer spare hours might clear
DAYS_OFF = ("nobody", "team", "kit-away")
PLAIN = ("price", "waits", "stuck")  # reasons that say more than that the crew is busy
_WEEK = 6  # days off in a row that a week may hold


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a visit does not begin on a run of days.

    Args:
        first: first day of the run.
        last: last day of the run.
        kind: ``closed`` by a rule, another kind of obstacle, or ``price`` where it is free.
        says: the reason in words.
        answers: what each day of the run answers, by day number.
        rulings: that close the days to a step of it, if any do.
    """

    first: date
    last: date
    kind: str
    says: str
    answers: tuple[tuple[int, Answer], ...]
    rulings: tuple[Ruling, ...] = ()


def reasons_of(plan: Placed, visit_id: str) -> tuple[Reason, ...]:
    """Why a visit begins on no earlier day, from today to the day before it begins.

    Runs of days with the same reason, by day. For a visit that could not be placed, all days
    of the plan are gone through.
    """
    if visit_id not in plan.problem.visit_by_id:
        return ()
    visit = plan.visits.get(visit_id)
    until = plan.season.n_days if visit is None else visit.first
    since = max(0, plan.season.day_of(plan.outlook.as_of))
    answers = [(day, plan.standing.asked(visit_id, day)) for day in range(since, until)]
    return tuple(_reason(plan, visit_id, run) for run in _joined(plan, _runs(plan, answers)))


@once
def short_reason(plan: Placed, visit_id: str) -> str:
    """Why a visit begins on no earlier day, in a few words.

    It is the last of ``reasons_of`` that is a rule, an order of work or a price; where there is
    none, the last obstacle.
    """
    return phrases.own_date_words(plan, visit_id) or _chosen(plan, visit_id)


def _chosen(plan: Placed, visit_id: str) -> str:
    reasons = [reason for reason in reasons_of(plan, visit_id) if reason.kind not in DAYS_OFF]
    if not reasons:
        begun = plan.outlook.as_of > plan.season.first
        return f"the first day {'left' if begun else 'of the plan'} on which the crew can"
    plain = [reason for reason in reasons if reason.rulings or reason.kind in PLAIN]
    return _short(plan, visit_id, (plain or reasons)[-1])


def _short(plan: Placed, visit_id: str, reason: Reason) -> str:
    until = day_words(reason.last)
    if reason.rulings:
        own = plan.tasks[plan.groups[visit_id][0]]
        what = reason.answers[0][1]
        step = what.step if isinstance(what, Obstacle) else own.id
        of = "" if step == own.id else f"{plan.tasks[step].title!r}: "
        return f"until {until}: {of}{phrases.ruling_words(reason.rulings[0])}"
    if reason.kind == "stuck":
        return f"begun by {until}, it could not be finished in one go"
    prices = [(day, answer) for day, answer in reason.answers if isinstance(answer, Price)]
    if prices:  # of the last day alone: the first ones go by, and the words would change daily
        day, price = prices[-1]
        on = day_words(plan.season.date_of(day))
        return f"on {on}: {price_words(plan, visit_id, [price], published=False)}"
    return f"until {until}: {reason.says}"


def _reason(plan: Placed, visit_id: str, run: Run) -> Reason:
    first, last = (plan.season.date_of(run[at][0]) for at in (0, -1))
    what = run[0][1]
    kind = "price" if isinstance(what, Price) else what.kind
    rulings = _rulings(plan, what)
    return Reason(first, last, kind, _says(plan, visit_id, run, rulings), tuple(run), rulings)


def _rulings(plan: Placed, what: Answer) -> tuple[Ruling, ...]:
    """The rulings that close a day to a step."""
    if isinstance(what, Price) or what.kind not in ("closed", "stuck"):
        return ()
    if what.kind == "stuck" and what.why != "closed":
        return ()
    return plan.windows[what.step].closing(min(what.day, plan.season.n_days - 1))


def _runs(plan: Placed, answers: Sequence[tuple[int, Answer]]) -> list[Run]:
    runs: list[Run] = []
    for day, answer in answers:
        last = runs[-1][-1] if runs else None
        same = last is not None and _key(plan, last[1]) == _key(plan, answer)
        if same and last is not None and last[0] == day - 1:
            runs[-1].append((day, answer))
        else:
            runs.append([(day, answer)])
    return runs


def _joined(plan: Placed, runs: Sequence[Run]) -> list[Run]:
    """Weekly days off between two runs of one reason part them no more than a night does."""
    joined: list[Run] = []
    for run in runs:
        weekend = joined and _is_off(run) and not _is_off(joined[-1]) and len(run) <= _WEEK
        if weekend or (joined and _alike(plan, joined[-1], run)):
            joined[-1] = [*joined[-1], *run]
        else:
            joined.append(list(run))
    return joined


def _alike(plan: Placed, run: Run, other: Run) -> bool:
    return _key(plan, run[0][1]) == _key(plan, other[0][1]) and not _is_off(other)


def _kind(answer: Answer) -> tuple[object, ...]:
    if isinstance(answer, Price):
        return ("price", answer.risk > 0, answer.open_days > 0, answer.points > 0)
    return (answer.kind, answer.about, answer.step, answer.why)


def _is_off(run: Run) -> bool:
    what = run[0][1]
    return isinstance(what, Obstacle) and what.kind in DAYS_OFF


def _key(plan: Placed, answer: Answer) -> tuple[object, ...]:
    """What makes the reason of two days the same."""
    return (*_kind(answer), *(ruling.rule_id for ruling in _rulings(plan, answer)))


def _says(plan: Placed, visit_id: str, run: Run, rulings: Sequence[Ruling]) -> str:
    what = run[0][1]
    if isinstance(what, Price):
        prices = [answer for _, answer in run if isinstance(answer, Price)]
        return price_words(plan, visit_id, prices)
    if rulings:
        told = "; and ".join(phrases.ruling_words(ruling) for ruling in rulings)
        first = plan.groups[visit_id][0]
        title = plan.tasks[what.step].title
        return told if what.step == first else f"it would not get past {title!r}: {told}"
    says = obstacle_words(plan, visit_id, what, dated=False, named=False)
    return f"{says}{_ends(plan, visit_id, what)}{busy_words(plan, visit_id, what)}"


def _ends(plan: Placed, visit_id: str, what: Obstacle) -> str:
    """When what it waits for ends, and how many days must pass then."""
    before = plan.visits.get(what.about)
    if what.kind != "waits" or before is None:
        return ""
    orders = plan.problem.ties[what.about, visit_id]
    gap = max(order.min_days for order in orders if order.before == what.step)
    last = plan.stints[what.step].last
    ends = "which" if last == before.last else f"where {plan.tasks[what.step].title!r}"
    ended = f", {ends} ends on {day_words(plan.season.date_of(last))}"
    return f"{ended} and {gap} day{'s' * (gap > 1)} must pass" if gap else ended


def why_table(plan: SeasonPlan, asked: str) -> Table:
    """The reasons as a table; below it the work in full.

    Args:
        plan: the season.
        asked: id of a visit, of a step, or of an errand.
    """
    for errand in plan.errands:
        if errand.id == asked:
            on = day_words(errand.on)
            return Table(f"{errand.title}: by {on}", ("why by then",), ((errand.because,),))
    placed = plan.placed
    visit_id = asked if asked in placed.groups else placed.visit_of[asked]
    reasons = reasons_of(placed, visit_id)
    name, days = phrases.visit_name(visit_id, placed), phrases.visit_days_words(visit_id, placed)
    return Table(
        f"{name}: {days}",
        ("days", "why it does not begin then"),
        tuple((span_words(r.first, r.last), r.says) for r in reasons),
        tuple(_foot(plan, visit_id, reasons, asked)),
    )


def _foot(plan: SeasonPlan, visit_id: str, reasons: Sequence[Reason], asked: str) -> Iterator[str]:
    """Frost state of the day, what keeps it open, and where the rules come from."""
    ids = plan.placed.groups[visit_id]
    for notice in plan.notices:
        if any(notice.speaks_of(about) for about in dict.fromkeys((visit_id, asked, *ids))):
            yield f"{notice.level.value.upper()}: {notice.says}"
    visit = plan.placed.visits.get(visit_id)
    if visit is not None:
        days = range(visit.first, visit.last + 1)
        yield from filter(
            None,
            (phrases.span_line(visit_id, plan.placed), *phrases.wait_words(plan.placed, visit_id)),
        )
        told = (
            phrases.frost_words(visit_id, days, plan.placed),
            phrases.moon_words(visit_id, days, plan.placed),
        )
        yield from filter(None, told)
    if kept := kept_words(plan.placed.outlook.spare, _short_months(reasons)):
        yield kept
    for task_id in ids if asked == visit_id else [asked]:
        yield from detail_lines(plan.placed.tasks[task_id], plan.placed)
    closing = {ruling.rule_id: ruling for reason in reasons for ruling in reason.rulings}
    for ruling in closing.values():
        yield f"Source of {ruling.rule_id} [{phrases.basis_words(ruling)}]: {ruling.source}."


def _short_months(reasons: Sequence[Reason]) -> list[int]:
    """The months, 1 to 12, in which the hours of the crew are what keeps the visit away."""
    short = [r for r in reasons if r.kind in HOURS_SHORT and not r.rulings]
    return [
        month
        for r in short
        for month in dict.fromkeys(day.month for day in Season.between(r.first, r.last))
    ]


def why_record(plan: SeasonPlan, asked: str) -> dict[str, Any]:
    """The reasons for a program."""
    for errand in plan.errands:
        if errand.id == asked:
            on = errand.on.isoformat()
            return {"task": asked, "title": errand.title, "on": on, "because": errand.because}
    visit_id = asked if asked in plan.placed.groups else plan.placed.visit_of[asked]
    ids = plan.placed.groups[visit_id] if asked == visit_id else (asked,)
    placed = [task_id for task_id in ids if task_id in plan.placed.stints]
    days = sorted({day for task_id in placed for day in plan.placed.stints[task_id].days})
    return {
        "asked": asked,
        "visit": visit_id,
        "title": phrases.visit_name(visit_id, plan.placed),
        "days": [plan.placed.season.date_of(day).isoformat() for day in days],
        "done": plan.placed.done.keys() >= {*ids},
        "because": short_reason(plan.placed, visit_id) if visit_id in plan.placed.visits else "",
        "earlier": [
            _record(plan.placed, visit_id, reason) for reason in reasons_of(plan.placed, visit_id)
        ],
    }


def _record(plan: Placed, visit_id: str, reason: Reason) -> dict[str, Any]:
    record: dict[str, Any] = {
        "first": reason.first.isoformat(),
        "last": reason.last.isoformat(),
        "kind": reason.kind,
        "says": reason.says,
        "rules": [
            {"rule": told.rule_id, "basis": told.basis.value, "source": told.source}
            for told in reason.rulings
        ],
    }
    what = reason.answers[0][1]
    if isinstance(what, Price):
        return record | {"prices": [price_record(plan, day, p) for day, p in reason.answers]}
    if reason.kind in HOURS_SHORT:
        record["spare_share"] = round(plan.outlook.spare.share_on(reason.first), 4)
    busy = busy_records(plan, visit_id, what) if what.beside else []
    return record | {
        "about": what.about,
        "step": what.step,
        "beside": list(what.beside),
        "busy": busy,
    }
