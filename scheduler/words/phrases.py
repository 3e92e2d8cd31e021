"""The season in the grower's words: titles, reasons, descriptions."""

import math
from collections.abc import Collection, Iterable, Iterator, Sequence
from datetime import date

from scheduler.frost import FrostDates, FrostReach, FrostRisk, kinds_words, tenderest_of
from scheduler.holding import Plot
from scheduler.reasons import HALF_DONE_CODE, Move, SeasonPlan
from scheduler.season import Errand, Placed
from scheduler.stand import HourRange, Task
from scheduler.terms import Basis, Ruling, Season, day_words, percent_words, span_words
from scheduler.windows import release_day
from scheduler.words.text import shortened

MOON_TAG = "grower practice, not established science"
CLIMATE_CAUTION = (
    "Chances are the climate of past seasons, not a forecast and not a promise; watch the weather."
)
FORECAST_CAUTION = "A forecast errs and promises nothing: read a thermometer at the plants."
CODES = "local rules hold; licensed work is for licensed people"
GENERAL_CAUTION = "Follow local rules and codes; leave what needs a licence to those who have one."
COMMON_PRACTICE = "common practice"
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
}


def short_name(plot: Plot) -> str:
    """The name of a plot without what stands in brackets behind it."""
    return plot.name.split(" (")[0]


def where(task: Task, plan: Placed) -> str:
    """Where a task is done."""
    return short_name(task.plot) if task.plot else plan.holding.site.name


def visit_name(visit_id: str, plan: Placed) -> str:
    """Place and work: ``Os Socalcos: release visit``; of other work ``Os Socalcos: Prune``."""
    task = plan.tasks[plan.groups[visit_id][0]]
    what = f"{task.type.visit} visit" if task.is_step else task.title
    return f"{where(task, plan)}: {what}"


def visit_title(visit_id: str, days: Sequence[int], plan: Placed, part: int, of: int) -> str:
    """The title of an event, under 60 characters; frost first if it can reach the work.

    Args:
        visit_id: the visit.
        days: day numbers of the event.
        plan: the season.
        part: which day of the campaign, or which run of other work.
        of: how many there are.
    """
    head = f"{visit_name(visit_id, plan)}"
    reach = reach_on(visit_id, days, plan)
    if reach is not None:
        head = f"{frost_head(reach)}: {head}"
    if plan.tasks[plan.groups[visit_id][0]].is_step:
        return shortened(head, end=f", day {part} of {of}" if of > 1 else "")
    return shortened(head, end=f" ({part} of {of})" if of > 1 else "")


def frost_head(reach: FrostReach) -> str:
    """The first words of a title where frost can reach the work."""
    if reach.weeks is not None:
        return "Frost may reach new growth"
    until = f" until {reach.closes.day} {reach.closes:%b}" if reach.closes else ""
    return f"Frost risk{until}"


def reach_on(visit_id: str, days: Iterable[int], plan: Placed) -> FrostReach | None:
    """What frost can reach of a visit's work on some days, the soonest first; None if nothing."""
    dates = {plan.season.date_of(day) for day in days}
    reaches = (plan.frost_reach(plan.tasks[task_id]) for task_id in plan.groups[visit_id])
    # what was laid open yesterday lies open today, until the window closes
    found = [
        r
        for r in reaches
        if r is not None and any(r.day <= day <= (r.closes or day) for day in dates)
    ]
    return min(found, key=lambda reach: reach.day, default=None)


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


def ruling_words(ruling: Ruling) -> str:
    """What a ruling says, and what it rests on."""
    return f"{ruling.words} [{basis_words(ruling)}]"


def basis_words(ruling: Ruling) -> str:
    """What a ruling rests on; custom of the trade is not called published."""
    custom = ruling.source.startswith(COMMON_PRACTICE)
    return COMMON_PRACTICE if custom else ruling.basis.value


def own_date_words(plan: Placed, visit_id: str) -> str:
    """That the grower has set the day, and against which rules; empty where nobody has."""
    for step in plan.problem.visit_by_id[visit_id].steps:
        if step.fixed_first is None:
            continue
        window = plan.windows[step.id]
        own = [r.words for r in window.rulings if r.rule_id == "own-dates"]
        against = "; ".join(ruling_words(ruling) for ruling in window.against)
        told = f"the grower has set it ({'; '.join(own)})"
        return f"{told}, against: {against}" if against else told
    return ""


def span_line(visit_id: str, plan: Placed) -> str:
    """How long a campaign lies open, beside the least it could; empty for other work."""
    visit = plan.visits[visit_id]
    if not plan.tasks[plan.groups[visit_id][0]].is_step:
        return ""
    return (
        f"Open for {visit.span_days} day{'s' * (visit.span_days > 1)}; this crew alone would need "
        f"{visit.least_span_days} at the least."
    )


def wait_words(plan: Placed, visit_id: str) -> Iterator[str]:
    """What keeps a campaign open on its days without work, by reason."""
    runs: dict[str, list[int]] = {}
    firms = {hire.id: hire.name for hire in plan.holding.crew.hire}
    for wait in plan.visits[visit_id].waits:
        title = plan.tasks[wait.step_id].title
        hired = " and ".join(firms[k] for k in plan.problem.by_id[wait.step_id].uses if k in firms)
        closing = plan.windows[wait.step_id].closing(wait.day)
        told = {
            "nobody": "nobody of the crew works",
            "kit-away": f"{hired} does not come for {title!r}"
            if hired
            else f"nobody may saw any longer for {title!r}",
            "closed": f"closed to {title!r}: {'; '.join(r.words for r in closing)}",
            "team": f"too few of the crew who can do {title!r} are there",
            "rests": "heavy work rests (heavy_days_in_row in crew.toml)",
            "short": f"too little of the day is left for {title!r}",
        }[wait.why]
        runs.setdefault(told, []).append(wait.day)
    for told, days in runs.items():
        yield f"No work of it on {days_words(plan.season, tuple(days))}: {told}."


def visit_days_words(visit_id: str, plan: Placed) -> str:
    """When a visit is worked on: its days, or that it is done or has no place."""
    if all(task_id in plan.done for task_id in plan.groups[visit_id]):
        return f"done on {day_words(plan.logged_days(visit_id)[-1])}"
    if visit_id not in plan.visits:
        return "could not be placed"
    stints = [plan.stints[t] for t in plan.groups[visit_id] if t in plan.stints]
    days = sorted({day for stint in stints for day in stint.days})
    return days_words(plan.season, tuple(days))


def frost_warning(visit_id: str, days: Iterable[int], plan: SeasonPlan) -> str:
    """That the frost window is still open over the work of some days; empty where it is not."""
    reach = reach_on(visit_id, days, plan.placed)
    if reach is None:
        return next(_warnings(plan, visit_id, ("cover-late",)), "")
    chance = "" if math.isnan(reach.chance) else f", chance {percent_words(reach.chance)}"
    hurt = kinds_words(tenderest_of(reach.plants), plan.placed.holding)
    if reach.weeks is not None:
        return f"WARNING: frost may reach new growth of this cut{chance}: {hurt}."
    until = f" until {day_words(reach.closes)}" if reach.closes else ""
    return f"WARNING: the frost window is still open{until}{chance}; it can hurt {hurt}."


def half_done_warning(visit_id: str, plan: SeasonPlan) -> str:
    """The warning about a visit that was begun and whose rest comes too late."""
    return next(_warnings(plan, visit_id, (HALF_DONE_CODE,)), "")


def _warnings(plan: SeasonPlan, about: str, codes: Collection[str]) -> Iterator[str]:
    for notice in plan.notices:
        if notice.code in codes and notice.speaks_of(about):
            yield f"WARNING: {notice.says}"


def tasks_on(plan: Placed, visit_id: str, days: Sequence[int]) -> list[Task]:
    """The steps of a visit that are worked on on some days, in the order of work."""
    ids = (t for t in plan.groups[visit_id] if t in plan.stints)
    return [plan.tasks[t] for t in ids if not {*days}.isdisjoint(plan.stints[t].days)]


def frost_words(visit_id: str, days: Sequence[int], plan: Placed) -> str:
    """State of the frost window over work that lays something open; empty for other work."""
    exposing = [task for task in tasks_on(plan, visit_id, days) if task.type.exposes]
    if not exposing or exposing[0].plot is None:
        return ""
    risk = plan.outlook.frost[exposing[0].plot.id]
    day = next(day for day in days if any(day in plan.stints[t.id].days for t in exposing))
    chance = float(risk.chance_on_or_after[day])
    state = "still open" if risk.open[day] else "closed"
    told = ""
    if not math.isnan(chance) and (chance <= 0.5 or risk.open[day]):
        told = f"; chance of another frost {percent_words(chance)}"
    return f"Frost: the window is {state}{told}; watch the forecast."


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


def moon_words(visit_id: str, days: Iterable[int], plan: Placed) -> str:
    """How the heavy cuts of some days stand to the moon, where the site follows the practice."""
    heavy = [
        day
        for task_id in plan.groups[visit_id]
        if task_id in plan.stints
        and any(r.basis is Basis.PRACTICE for r in plan.windows[task_id].rulings)
        for day in plan.stints[task_id].days
        if day in days
    ]
    if not heavy:
        return ""
    waxing = plan.outlook.sky.waxing[heavy]
    state = "waxing" if waxing.all() else "partly waning" if waxing.any() else "waning"
    return f"Moon: {state} for the heavy cuts ({MOON_TAG})."


def errand_description(errand: Errand, plan: Placed) -> str:
    """What the call is for, and when it is needed."""
    late = "LATE. " if errand.late else ""
    needed = f" Needed first on {day_words(errand.needed)}." if errand.needed else ""
    visits = dict.fromkeys(plan.visit_of[task_id] for task_id in errand.tasks)
    tasks = "".join(
        f"\n- {visit_name(visit_id, plan)}, {visit_days_words(visit_id, plan)}"
        for visit_id in visits
    )
    told = f"\n\nFor:{tasks}" if tasks else ""
    because = errand.because[:1].upper() + errand.because[1:].rstrip(".")
    return f"{late}{because}.{needed}{told}\n\nWhen it is done: scheduler log SITE {errand.id}"


def window_description(plot: Plot, risk: FrostRisk) -> str:
    """What a frost window event says."""
    dates = [
        _date_words("last frost", risk.last_frost, "after"),
        _date_words("first frost", risk.first_frost, "before"),
    ]
    told = "; ".join(filter(None, dates)) + " (month-day). " if any(dates) else ""
    if risk.basis == "own dates":
        likely = f"By your own dates frost can come in {plot.name}; they tell no chance. "
    else:
        accepted = f"{100 * risk.tolerance:g} %"
        likely = f"A frost in {plot.name} is likelier than the {accepted} you accept. "
    return (
        f"{likely}Keep evergreen cover, hold back cuts of tender stock, thick mulch and planting. "
        f"{told}It rests on {rests_on(risk)}. {CLIMATE_CAUTION}"
    )


def release_description(plot: Plot, risk: FrostRisk, release: date) -> str:
    """What the event of a window's end says."""
    says = (
        f"By your own dates frost is over in {plot.name} from {day_words(release)} on; they tell "
        "no chance"
        if risk.basis == "own dates"
        else f"From {day_words(release)} on the chance of another frost in {plot.name} is at most "
        f"{100 * risk.tolerance:g} %"
    )
    return f"{says}. It rests on {rests_on(risk)}. {CLIMATE_CAUTION}"


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


def move_words(move: Move, plan: Placed) -> str:
    """Which published visit moved, from where to where, and what forced it."""
    to = f"to {day_words(move.now)}" if move.now else "out of the plan"
    title = visit_name(move.visit_id, plan)
    return f"moved: {move.visit_id}: {title}: from {day_words(move.was)} {to}: {move.because}."


def move_lines(plan: SeasonPlan) -> Iterator[str]:
    """The moves, a line each; of all that left the plan for one reason one line."""
    gone: dict[str, list[str]] = {}
    for move in plan.moves:
        if move.now is None:
            gone.setdefault(move.because, []).append(move.visit_id)
    for move in plan.moves:
        if move.now is not None or len(gone[move.because]) == 1:
            yield move_words(move, plan.placed)
    for because, ids in gone.items():
        if len(ids) > 1:
            yield f"moved: {len(ids)} visits out of the plan, of each {because}: {', '.join(ids)}."


def numbered_runs(days: Sequence[int]) -> list[list[int]]:
    """Runs of day numbers that follow one another."""
    runs: list[list[int]] = []
    for day in days:
        if runs and runs[-1][-1] == day - 1:
            runs[-1].append(day)
        else:
            runs.append([day])
    return runs


def runs_of(season: Season, days: Sequence[int]) -> list[tuple[date, date]]:
    """Runs of consecutive days as closed spans of dates."""
    return [(season.date_of(run[0]), season.date_of(run[-1])) for run in numbered_runs(days)]
