"""The season in the grower's words: titles, reasons, descriptions."""

import math
from collections.abc import Collection, Iterator
from datetime import date, timedelta

from scheduler.frost import FrostDates, FrostRisk
from scheduler.holding import Plot
from scheduler.publish.text import shortened
from scheduler.roster import Stint
from scheduler.season import (
    HALF_DONE_CODE,
    Errand,
    Move,
    SeasonPlan,
    exposed_at,
    kinds_words,
    tenderest_of,
)
from scheduler.stand import HourRange, Task
from scheduler.terms import Basis, Ruling, Season, day_words, percent_words
from scheduler.windows import Link, release_day

MOON_TAG = "grower practice, not established science"
CLIMATE_CAUTION = (
    "Chances are the climate of past seasons, not a forecast and not a promise; watch the weather."
)
FORECAST_CAUTION = "A forecast errs and promises nothing: read a thermometer at the plants."
GENERAL_CAUTION = "Follow local rules and codes; leave what needs a licence to those who have one."
COMMON_PRACTICE = "common practice"
FROST_CODES = ("frost-window-open", "frost-in-new-growth", "cover-late")
# months as the sky tells them, in the words of the event names
EVENT_WORDS = {
    "new_moon": "New moon",
    "first_quarter": "First quarter moon",
    "full_moon": "Full moon",
    "last_quarter": "Last quarter moon",
    "march_equinox": "March equinox",
    "june_solstice": "June solstice",
    "september_equinox": "September equinox",
    "december_solstice": "December solstice",
    "perigee": "Moon nearest (perigee)",
    "apogee": "Moon farthest (apogee)",
    "northmost": "Moon northmost",
    "southmost": "Moon southmost",
    "ascending_node": "Moon at its ascending node",
    "descending_node": "Moon at its descending node",
}


def short_name(plot: Plot) -> str:
    """The name of a plot without what stands in brackets behind it."""
    return plot.name.split(" (")[0]


def where(task: Task, plan: SeasonPlan) -> str:
    """Where a task is done."""
    return short_name(task.plot) if task.plot else plan.holding.site.name


def task_title(task: Task, plan: SeasonPlan, end: str = "") -> str:
    """Place and work, under 60 characters; frost first if its window is open."""
    title = f"{where(task, plan)}: {task.type.title}"
    reach = plan.frost_reach(task)
    if reach is not None:
        head = "FROST WINDOW OPEN" if reach.weeks is None else "FROST IN NEW GROWTH"
        title = f"{head}: {title}"
    return shortened(title, end=end)


def hours_words(hours: HourRange) -> str:
    """Person-hours with their range.

    >>> hours_words(HourRange(3.2, 7.4, 15.0))
    '7.4 person-hours (3.2 to 15.0)'
    """
    return f"{hours.usual:.1f} person-hours ({hours.low:.1f} to {hours.high:.1f})"


def team_words(task: Task) -> str:
    """The smallest useful team by skill, and what is hired."""
    skills = [
        f"{n} × {skill}" if n > 1 else skill
        for skill, n in task.team.items()
        if skill not in task.hired
    ]
    return ", ".join(skills + [f"hired {name}" for name in task.hired])


def span_words(first: date, last: date) -> str:
    """A closed span of days.

    >>> span_words(date(2027, 5, 4), date(2027, 5, 4))
    '4 May 2027'
    """
    return day_words(first) if first == last else f"{day_words(first)} to {day_words(last)}"


def ruling_words(ruling: Ruling) -> str:
    """What a ruling says, and what it rests on."""
    return f"{ruling.words} [{basis_words(ruling)}]"


def basis_words(ruling: Ruling) -> str:
    """What a ruling rests on; custom of the trade is not called published."""
    custom = ruling.source.startswith(COMMON_PRACTICE)
    return COMMON_PRACTICE if custom else ruling.basis.value


def why_words(task: Task, stint: Stint, plan: SeasonPlan) -> list[str]:
    """Why this day and no earlier one, the nearest reason of each kind."""
    window, season = plan.windows[task.id], plan.season
    if window.fixed_first is not None:
        own = [r.words for r in window.rulings if r.rule_id == "own-dates"]
        against = "; ".join(ruling_words(ruling) for ruling in window.against)
        told = f"the grower has set it ({'; '.join(own)})"
        return [f"{told}, against: {against}" if against else told]
    reasons = [words for link in plan.links for words in _follows(link, task, stint, plan)]
    opened = _opening_day(window.open.tolist(), stint.first)
    if opened > 0 and not reasons:
        closing = "; ".join(ruling_words(ruling) for ruling in window.closing(opened - 1))
        reasons.append(f"not before {day_words(season.date_of(opened))}, because: {closing}")
    if stint.first > opened and not reasons[1:]:
        reasons.append("the first day on which the crew has room beside its other work")
    return reasons or ["the first day of the plan on which the crew has room"]


def _follows(link: Link, task: Task, stint: Stint, plan: SeasonPlan) -> Iterator[str]:
    """That a task stands here because another has just ended, or so many days ago."""
    before = plan.stints.get(link.before)
    if link.after == task.id and before and stint.first - before.last <= link.min_days + 2:
        title = plan.tasks[link.before].type.title
        ended = day_words(plan.season.date_of(before.last))
        gap = f"{link.min_days} days or more after" if link.min_days else "follows"
        yield f"it {'stands ' if link.min_days else ''}{gap} {title!r} ({ended})"


def _opening_day(is_open: list[bool], day: int) -> int:
    while day > 0 and is_open[day - 1]:
        day -= 1
    return day


def frost_warning(task: Task, plan: SeasonPlan) -> str:
    """The warning about a task that frost can reach."""
    return next(_warnings(plan, task.id, FROST_CODES), "")


def half_done_warning(task: Task, plan: SeasonPlan) -> str:
    """The warning about a visit that would be begun with a task, and not finished."""
    return next(_warnings(plan, task.id, (HALF_DONE_CODE,)), "")


def _warnings(plan: SeasonPlan, task_id: str, codes: Collection[str]) -> Iterator[str]:
    for notice in plan.notices:
        if notice.code in codes and notice.speaks_of(task_id):
            yield f"WARNING: {notice.says}"


def frost_words(task: Task, stint: Stint, plan: SeasonPlan) -> str:
    """State of the frost window on the first day of a task that exposes something."""
    if task.plot is None or not task.type.exposes:
        return ""
    risk = plan.outlook.frost[task.plot.id]
    chance = float(risk.chance_on_or_after[stint.first])
    state = "open" if risk.open[stint.first] else "closed"
    words = f"Frost: the window in {task.plot.name} is {state} on that day"
    spring = not math.isnan(chance) and chance <= 0.5  # the coming frosts, not the next winter's
    if spring:
        words += f"; chance of another frost before the next midsummer {percent_words(chance)}"
    elif not math.isnan(chance) and risk.open[stint.first]:
        words += f"; chance of another frost from that day on {percent_words(chance)}"
    elif not math.isnan(chance):
        come = float(risk.chance_on_or_before[stint.first])
        words += f"; chance that the first frost has come by then {percent_words(come)}"
    tender = tenderest_of(exposed_at(task, task.plot, plan.holding))
    kinds = kinds_words(tender, plan.holding)
    reaches = f" Frost there can hurt {kinds}." if kinds else ""
    return f"{words} ({rests_on(risk)}).{reaches} {CLIMATE_CAUTION}"


def rests_on(risk: FrostRisk) -> str:
    """What the frost risk of a plot rests on."""
    if risk.basis != "record":
        return record_words(risk)
    return (
        f"{record_words(risk)}, frost at or below {risk.threshold_c:g} °C, plot "
        f"{risk.offset_c:+g} °C against the station"
    )


def record_words(risk: FrostRisk) -> str:
    """What the frost risk of any plot of the site rests on."""
    if risk.basis == "own dates":
        return "the grower's own frost dates"
    if risk.basis == "unknown" or risk.period is None:
        return "no record"
    return f"{risk.n_seasons} seasons of record, {risk.period[0]} to {risk.period[1]}"


def moon_words(task: Task, stint: Stint, plan: SeasonPlan) -> str:
    """Whether the moon practice was met, where the site follows it."""
    practice = [r for r in plan.windows[task.id].rulings if r.basis is Basis.PRACTICE]
    if not practice:
        return ""
    waning = not plan.outlook.sky.waxing[list(stint.days)].any()
    state = "waning moon" if waning else "not wholly in the waning moon"
    return f"Moon: {state} ({MOON_TAG})."


def errand_description(errand: Errand, plan: SeasonPlan) -> str:
    """What the call is for, and when it is needed."""
    late = "LATE. " if errand.late else ""
    needed = f" Needed first on {day_words(errand.needed)}." if errand.needed else ""
    tasks = "".join(
        f"\n- {where(plan.tasks[task_id], plan)}: {plan.tasks[task_id].type.title}, "
        f"{days_words(plan.season, plan.stints[task_id].days)}"
        for task_id in errand.tasks
    )
    told = f"\n\nFor:{tasks}" if tasks else ""
    because = errand.because[:1].upper() + errand.because[1:].rstrip(".")
    return f"{late}{because}.{needed}{told}\n\nWhen it is done: scheduler done SITE {errand.id}"


def window_description(plot: Plot, risk: FrostRisk) -> str:
    """What a frost window event says."""
    dates = [
        _date_words("last frost", risk.last_frost, "after"),
        _date_words("first frost", risk.first_frost, "before"),
    ]
    told = "; ".join(filter(None, dates)) + " (month-day). " if any(dates) else ""
    return (
        f"A frost in {plot.name} is likelier than the {100 * risk.tolerance:g} % you accept. "
        "Keep evergreen cover, hold back cuts of tender stock, thick mulch and planting. "
        f"{told}It rests on {rests_on(risk)}. {CLIMATE_CAUTION}"
    )


def _date_words(name: str, dates: FrostDates, side: str) -> str:
    """Frost dates of one side; where frosts are rare there may be none to tell."""
    even = f"even chance {dates.p50}" if dates.p50 else "in fewer than half of the years"
    tenth = f", one in ten {side} {dates.p10}" if dates.p10 else ""
    return f"{name}: {even}{tenth}" if dates.p50 or dates.p10 else ""


def state_words(risk: FrostRisk, day: date) -> str:
    """Whether the frost window is open on a day, and until when."""
    if risk.basis == "unknown":
        return "UNKNOWN, held open"
    if risk.is_open(day):
        closes = risk.closes_after(day)
        return f"OPEN until {day_words(closes)}" if closes else "OPEN, never closes"
    opens = risk.opens_on(day)
    return f"closed until {day_words(opens)}" if opens else "closed, never opens"


def release_words(risk: FrostRisk, as_of: date) -> str:
    """When the frost window closes next, in words."""
    release = release_day(risk, as_of)
    if risk.basis == "unknown":
        return "unknown"
    if release is None:
        return "never opens" if not risk.ever_open else "never closes"
    return day_words(release)


def days_words(season: Season, days: tuple[int, ...]) -> str:
    """The days of a stint: runs of days as spans.

    >>> days_words(Season(date(2027, 5, 3), 9), (0, 1, 4))
    '3 May 2027 to 4 May 2027, 7 May 2027'
    """
    return ", ".join(span_words(first, last) for first, last in runs_of(season, days))


def move_words(move: Move, plan: SeasonPlan) -> str:
    """Which published work moved, from where to where, and what forced it."""
    to = f"to {day_words(move.now)}" if move.now else "out of the plan"
    title = task_title(plan.tasks[move.task_id], plan)
    return f"moved: {move.task_id}: {title}: from {day_words(move.was)} {to}: {move.because}."


def move_lines(plan: SeasonPlan) -> Iterator[str]:
    """The moves, a line each; of all that left the plan for one reason one line."""
    gone: dict[str, list[str]] = {}
    for move in plan.moves:
        if move.now is None:
            gone.setdefault(move.because, []).append(move.task_id)
    for move in plan.moves:
        if move.now is not None or len(gone[move.because]) == 1:
            yield move_words(move, plan)
    for because, ids in gone.items():
        if len(ids) > 1:
            yield f"moved: {len(ids)} tasks out of the plan, of each {because}: {', '.join(ids)}."


def runs_of(season: Season, days: tuple[int, ...]) -> list[tuple[date, date]]:
    """Runs of consecutive days as closed spans of dates."""
    runs: list[tuple[date, date]] = []
    for day in map(season.date_of, days):
        if runs and runs[-1][1] + timedelta(days=1) == day:
            runs[-1] = (runs[-1][0], day)
        else:
            runs.append((day, day))
    return runs
