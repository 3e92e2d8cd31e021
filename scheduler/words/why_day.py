"""Why this day and not earlier: the rulings, the order, the crew, and what a day costs."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby

from scheduler.reasons import SeasonPlan, obstacle_words
from scheduler.roster import Answer, Obstacle, Price
from scheduler.season import Placed, once_a_plan
from scheduler.terms import Ruling, day_words, span_words
from scheduler.words import phrases
from scheduler.words.price_words import busy_words, price_words
from scheduler.words.table import Record, Table, picked, table_of
from scheduler.words.work_words import detail_lines

Run = list[tuple[int, Answer]]
DAYS_OFF = ("nobody", "team", "kit-away")
PLAIN = ("price", "waits", "stuck")  # reasons that say more than that the crew is busy
_WEEK = 6  # days off in a row that a week may hold


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a visit does not begin on a run of days, ``first`` to ``last``."""

    first: date
    last: date
    kind: str  # ``closed`` by a rule, another kind of obstacle, or ``price`` where it is free
    says: str  # the reason in words
    answers: tuple[tuple[int, Answer], ...]  # what each day of the run answers, by day number
    rulings: tuple[Ruling, ...] = ()  # that close the days to a step of it, if any do


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
    reasons = []
    for run in _runs(plan, answers):
        first, last = (plan.season.date_of(run[at][0]) for at in (0, -1))
        answer = run[0][1]
        kind = "price" if isinstance(answer, Price) else answer.kind
        rulings = _rulings(plan, answer)
        says = _says(plan, visit_id, run, rulings)
        reasons.append(Reason(first, last, kind, says, tuple(run), rulings))
    return tuple(reasons)


@once_a_plan
def short_reason(plan: Placed, visit_id: str) -> str:
    """Why a visit begins on no earlier day, in a few words.

    It is the last of ``reasons_of`` that is a rule, an order of work or a price; where there is
    none, the last obstacle.
    """
    if own_date := _own_date_words(plan, visit_id):
        return own_date
    reasons = [reason for reason in reasons_of(plan, visit_id) if reason.kind not in DAYS_OFF]
    if not reasons:
        begun = plan.outlook.as_of > plan.season.first
        return f"the first day {'left' if begun else 'of the plan'} on which the crew can"
    plain = [reason for reason in reasons if reason.rulings or reason.kind in PLAIN]
    return _short(plan, visit_id, (plain or reasons)[-1])


def _own_date_words(plan: Placed, visit_id: str) -> str:
    """That the grower has set the day, and against which rules; empty where nobody has."""
    for step in plan.problem.visit_by_id[visit_id].steps:
        if step.fixed_first is not None:
            window = plan.windows[step.id]
            own = [r.words for r in window.rulings if r.rule_id == "own-dates"]
            rules = "; ".join(map(phrases.ruling_words, window.against))
            against = f", against: {rules}" if rules else ""
            return f"the grower has set it ({'; '.join(own)}){against}"
    return ""


def _short(plan: Placed, visit_id: str, reason: Reason) -> str:
    until = day_words(reason.last)
    answer = reason.answers[0][1]
    if reason.rulings:
        own = plan.groups[visit_id][0]
        step = answer.step if isinstance(answer, Obstacle) else own
        of = "" if step == own else f"{plan.tasks[step].title!r}: "
        return f"until {until}: {of}{phrases.ruling_words(reason.rulings[0])}"
    if reason.kind == "stuck":
        return f"begun by {until}, it could not be finished in one go"
    prices = [(day, price) for day, price in reason.answers if isinstance(price, Price)]
    if prices:  # of the last day alone: the first ones go by, and the words would change daily
        day, price = prices[-1]
        on = day_words(plan.season.date_of(day))
        return f"on {on}: {price_words(plan, visit_id, [price], published=False)}"
    return f"until {until}: {reason.says}"


def _rulings(plan: Placed, answer: Answer) -> tuple[Ruling, ...]:
    """The rulings that close a day to a step."""
    if isinstance(answer, Price):
        return ()
    stop = answer.why if answer.kind == "stuck" else answer.kind
    if stop != "closed":
        return ()
    return plan.windows[answer.step].closing(min(answer.day, plan.season.n_days - 1))


def _runs(plan: Placed, answers: Sequence[tuple[int, Answer]]) -> list[Run]:
    """Runs of days with one reason; weekly days off part them no more than a night does."""
    runs: list[Run] = []
    for key, days in groupby(answers, key=lambda row: _key(plan, row[1])):
        run = list(days)
        last = runs[-1] if runs else run
        weekend = _is_off(run) and not _is_off(last) and len(run) <= _WEEK
        goes_on = not _is_off(run) and _key(plan, last[0][1]) == key
        if runs and (weekend or goes_on):
            last.extend(run)
        else:
            runs.append(run)
    return runs


def _key(plan: Placed, answer: Answer) -> tuple[object, ...]:
    """What makes the reason of two days the same."""
    if isinstance(answer, Price):
        return ("price", answer.risk > 0, answer.open_days > 0, answer.points > 0)
    rules = (ruling.rule_id for ruling in _rulings(plan, answer))
    return (answer.kind, answer.about, answer.step, answer.why, *rules)


def _is_off(run: Run) -> bool:
    answer = run[0][1]
    return isinstance(answer, Obstacle) and answer.kind in DAYS_OFF


def _says(plan: Placed, visit_id: str, run: Run, rulings: Sequence[Ruling]) -> str:
    answer = run[0][1]
    if isinstance(answer, Price):
        return price_words(plan, visit_id, [price for _, price in run if isinstance(price, Price)])
    if rulings:
        rules = "; and ".join(map(phrases.ruling_words, rulings))
        title = plan.tasks[answer.step].title
        first = answer.step == plan.groups[visit_id][0]
        return rules if first else f"it would not get past {title!r}: {rules}"
    says = obstacle_words(plan, visit_id, answer, dated=False, named=False)
    return f"{says}{_ends(plan, visit_id, answer)}{busy_words(plan, visit_id, answer)}"


def _ends(plan: Placed, visit_id: str, waits: Obstacle) -> str:
    """When what it waits for ends, and how many days must pass then."""
    before = plan.visits.get(waits.about)
    if waits.kind != "waits" or before is None:
        return ""
    orders = plan.problem.ties[waits.about, visit_id]
    gap = max(order.min_days for order in orders if order.before == waits.step)
    last = plan.stints[waits.step].last
    ends = "which" if last == before.last else f"where {plan.tasks[waits.step].title!r}"
    pass_days = f" and {phrases.counted(gap, 'day')} must pass" if gap else ""
    return f", {ends} ends on {day_words(plan.season.date_of(last))}{pass_days}"


def why_table(plan: SeasonPlan, asked: str) -> Table:
    """The reasons why a visit, step or errand stands where it does; below them all its work."""
    for errand in plan.errands:
        if errand.id == asked:
            on = day_words(errand.on)
            return Table(f"{errand.title}: by {on}", ("why by then",), ((errand.because,),))
    placed = plan.placed
    visit_id = placed.visit_of.get(asked, asked)
    reasons = reasons_of(placed, visit_id)
    name, days = phrases.visit_name(visit_id, placed), phrases.visit_days_words(visit_id, placed)
    return table_of(
        f"{name}: {days}",
        reasons,
        {
            "days": lambda reason: span_words(reason.first, reason.last),
            "why it does not begin then": lambda reason: reason.says,
        },
        "It begins on the first day that could be asked about."
        if visit_id in placed.visits and not reasons
        else "",
        *_foot(plan, visit_id, reasons, asked),
    )


def _foot(plan: SeasonPlan, visit_id: str, reasons: Sequence[Reason], asked: str) -> Iterator[str]:
    """Frost state of the day, what keeps it open, and where the rules come from."""
    placed = plan.placed
    ids = placed.groups[visit_id]
    for notice in plan.notices:
        if any(map(notice.speaks_of, (visit_id, *ids))):
            yield f"{notice.level.value.upper()}: {notice.says}"
    if visit_id in placed.visits:
        yield from _visit_lines(placed, visit_id)
    for task_id in ids if asked == visit_id else [asked]:
        yield from detail_lines(placed.tasks[task_id], placed)
    closing = {ruling.rule_id: ruling for reason in reasons for ruling in reason.rulings}
    for ruling in closing.values():
        yield f"Source of {ruling.rule_id} [{phrases.basis_words(ruling)}]: {ruling.source}."


def _visit_lines(plan: Placed, visit_id: str) -> Iterator[str]:
    """How long a visit lies open and why; how its days stand to frost and moon."""
    visit = plan.visits[visit_id]
    days = range(visit.first, visit.last + 1)
    if phrases.first_task(visit_id, plan).is_step:
        yield (
            f"Open for {phrases.counted(visit.span_days, 'day')}; this crew alone would need "
            f"{visit.least_span_days} at the least."
        )
    yield from phrases.wait_words(plan, visit_id)
    yield phrases.frost_words(visit_id, days, plan)
    yield phrases.moon_words(visit_id, days, plan)


def why_record(plan: SeasonPlan, asked: str) -> Record:
    """The reasons for a program."""
    for errand in plan.errands:
        if errand.id == asked:
            return {"task": asked, **picked(errand, "title", "on", "because")}
    placed = plan.placed
    visit_id = placed.visit_of.get(asked, asked)
    ids = placed.groups[visit_id] if asked == visit_id else (asked,)
    return {
        "asked": asked,
        "visit": visit_id,
        "title": phrases.visit_name(visit_id, placed),
        "days": [placed.season.date_of(day) for day in phrases.visit_days(ids, placed)],
        "done": placed.done.keys() >= {*ids},
        "because": short_reason(placed, visit_id) if visit_id in placed.visits else "",
        "earlier": [
            {
                **picked(reason, "first", "last", "kind", "says"),
                "rules": [
                    {"rule": ruling.rule_id, **picked(ruling, "basis", "source")}
                    for ruling in reason.rulings
                ],
            }
            for reason in reasons_of(placed, visit_id)
        ],
    }
