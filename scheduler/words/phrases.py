"""The season in the grower's words: titles, reasons, descriptions."""

import math
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from datetime import date

from scheduler.frost import FrostReach, FrostRisk, kinds_words, tenderest_of
from scheduler.holding import Plot, Stock
from scheduler.reasons import SeasonPlan
from scheduler.season import Placed
from scheduler.stand import HourRange, Task
from scheduler.terms import Basis, Ruling, day_words, days_words, percent_words
from scheduler.words.text import shortened

MOON_TAG = "grower practice, not established science"
MOON_CAUTION = f"Timing work by the moon is a {MOON_TAG}."
SKY_MARKS = "Phases and season marks, computed for {}."
RISK_OVER = "little frost risk from today"
WATCH = "frost evening, watch the forecast"
COVER = "frost evening, cover {}"
EVENING = (
    "The last light of the first evening of {}: look at the forecast for tonight, and cover what "
    "frost can reach."
)
CLIMATE_CAUTION = (
    "Chances are the climate of past seasons, not a forecast and not a promise; watch the weather."
)
FORECAST_CAUTION = "A forecast errs and promises nothing: read a thermometer at the plants."
CODES = "local rules hold; licensed work is for licensed people"
GENERAL_CAUTION = "Follow local rules and codes; leave what needs a licence to those who have one."
COMMON_PRACTICE = "common practice"
MOST_PLACE = 24  # characters of a place before a warning, so that no title cuts the warning off
PHASES = ("new_moon", "first_quarter", "full_moon", "last_quarter")
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


def plant_name(plant: str, plan: Placed) -> str:
    """The name of a kind by its id, as it stands within a sentence."""
    return plan.holding.rules.plants[plant].name.lower()


def stock_words(rows: Iterable[Stock], plan: Placed) -> str:
    """Plants by kind: ``4 pear, 12 comfrey``, in the order of the rows."""
    counts: Counter[str] = Counter()
    for row in rows:
        counts[row.plant] += row.count
    return ", ".join(f"{n} {plant_name(kind, plan)}" for kind, n in counts.items())


def where(task: Task, plan: Placed) -> str:
    """Where a task is done."""
    return short_name(task.plot) if task.plot else plan.holding.site.name


def tasks_in(plot: Plot | None, plan: Placed) -> list[Task]:
    """The tasks of a plot, in the order of work; without one those of the whole holding."""
    return [task for task in plan.tasks.values() if task.plot is plot]


def first_task(visit_id: str, plan: Placed) -> Task:
    """The first task of a visit, done or not."""
    return plan.tasks[plan.groups[visit_id][0]]


def planned_tasks(visit_id: str, plan: Placed) -> list[Task]:
    """The tasks of a visit that have a place, in the order of work."""
    return [plan.tasks[t] for t in plan.groups[visit_id] if t in plan.stints]


def tasks_on(plan: Placed, visit_id: str, days: Sequence[int]) -> list[Task]:
    """Those of them that are worked on on some days."""
    planned = planned_tasks(visit_id, plan)
    return [task for task in planned if not {*days}.isdisjoint(plan.stints[task.id].days)]


def visit_name(visit_id: str, plan: Placed) -> str:
    """Place and work: ``Os Socalcos: release visit``; of other work ``Os Socalcos: Prune``."""
    task = first_task(visit_id, plan)
    return f"{where(task, plan)}: {work_name(task)}"


def work_name(task: Task) -> str:
    """What a task belongs to, its place unnamed: ``release visit``, or its own title."""
    return f"{task.type.visit} visit" if task.is_step else task.title


def visit_title(visit_id: str, days: Sequence[int], plan: Placed, part: int, of: int) -> str:
    """The title of an event, under 60 characters; frost before the work that it can reach.

    It speaks of some days by their numbers: day ``part`` of a campaign with ``of`` such days,
    or run ``part`` of other work.
    """
    name, reach = visit_name(visit_id, plan), reach_on(visit_id, days, plan)
    head = name if reach is None else frost_title(name, reach)
    count = f", day {part} of {of}" if first_task(visit_id, plan).is_step else f" ({part} of {of})"
    return shortened(head, end=count if of > 1 else "")


def frost_title(name: str, reach: FrostReach) -> str:
    """Place and work, between them that frost can reach it."""
    place, _, work = name.partition(": ")
    until = f" until {reach.closes.day} {reach.closes:%b}" if reach.closes else ""
    risk = f"FROST RISK{until}" if reach.weeks is None else "FROST may reach new growth"
    return f"{shortened(place, MOST_PLACE)}: {risk}, {work}"


def kind_of_visit(task: Task) -> str:
    """The kind of a visit in words; the year's work beside the visits is routine."""
    return "routine" if task.type.visit == "year" else task.type.visit


def reach_on(visit_id: str, days: Iterable[int], plan: Placed) -> FrostReach | None:
    """What frost can reach of a visit's work on some days, the soonest first; None if nothing."""
    dates = {plan.season.date_of(day) for day in days}
    reaches = (plan.frost_reach(task_id) for task_id in plan.groups[visit_id])
    # what was laid open yesterday lies open today, until the window closes
    open_then = [
        reach
        for reach in reaches
        if reach and any(reach.day <= day <= (reach.closes or day) for day in dates)
    ]
    return min(open_then, key=lambda reach: reach.day, default=None)


def range_words(hours: HourRange, unit: str = "") -> str:
    """An amount of hours with its range.

    >>> range_words(HourRange(3.2, 7.4, 15.0)), range_words(HourRange(1, 2, 3), " person-hours")
    ('7.4 (3.2 to 15.0)', '2.0 person-hours (1.0 to 3.0)')
    """
    return f"{hours.usual:.1f}{unit} ({hours.low:.1f} to {hours.high:.1f})"


def counted(n: float, noun: str) -> str:
    """A number of things.

    >>> counted(1, "day"), counted(2, "day")
    ('1 day', '2 days')
    """
    return f"{n:g} {noun}{'' if n == 1 else 's'}"


def more_words(n_days: int, less: str, more: str) -> str:
    """How many days less or more, in one of two words.

    >>> more_words(-57, "earlier", "later"), more_words(1, "earlier", "later")
    ('57 days earlier', '1 day later')
    """
    return f"{counted(abs(n_days), 'day')} {less if n_days < 0 else more}"


def team_words(task: Task) -> str:
    """The smallest useful team by skill, and what is hired."""
    own = {skill: n for skill, n in task.team.items() if skill not in task.hired}
    skills = [f"{n} × {skill}" if n > 1 else skill for skill, n in own.items()]
    return ", ".join(skills + [f"hired {name}" for name in task.hired])


def tools_of(tasks: Iterable[Task]) -> tuple[str, ...]:
    """Tools and kit of some tasks, each once; one that another names more exactly is left out."""
    named = (tool.strip() for t in tasks for tool in (*t.type.tools.split(","), *t.type.kit))
    tools = dict.fromkeys(filter(None, named))
    return tuple(
        tool for tool in tools if not any(other.startswith(f"{tool} ") for other in tools)
    )


def ruling_words(ruling: Ruling) -> str:
    """What a ruling says, and what it rests on."""
    return f"{ruling.words} [{basis_words(ruling)}]"


def basis_words(ruling: Ruling) -> str:
    """What a ruling rests on; custom of the trade is not called published."""
    custom = ruling.source.startswith(COMMON_PRACTICE)
    return COMMON_PRACTICE if custom else ruling.basis.value


def wait_words(plan: Placed, visit_id: str) -> Iterator[str]:
    """What keeps a campaign open on its days without work, by reason."""
    runs: dict[str, list[int]] = {}
    firms = {hire.id: hire.name for hire in plan.holding.crew.hire}
    for wait in plan.visits[visit_id].waits:
        title = plan.tasks[wait.step_id].title
        hired = " and ".join(firms[k] for k in plan.problem.by_id[wait.step_id].uses if k in firms)
        closing = plan.windows[wait.step_id].closing(wait.day)
        why = {
            "nobody": "nobody of the crew works",
            "kit-away": f"{hired} does not come for {title!r}"
            if hired
            else f"nobody may saw any longer for {title!r}",
            "closed": f"closed to {title!r}: {'; '.join(r.words for r in closing)}",
            "team": f"too few of the crew who can do {title!r} are there",
            "rests": "heavy work rests (heavy_days_in_row in crew.toml)",
            "short": f"too little of the day is left for {title!r}",
        }[wait.why]
        runs.setdefault(why, []).append(wait.day)
    for why, days in runs.items():
        yield f"No work of it on {days_words(plan.season, days)}: {why}."


def visit_days_words(visit_id: str, plan: Placed) -> str:
    """When a visit is worked on: its days, or that it is done or has no place."""
    if all(task_id in plan.done for task_id in plan.groups[visit_id]):
        return f"done on {day_words(plan.logged_days(visit_id)[-1])}"
    if visit_id not in plan.visits:
        return "unscheduled"
    return days_words(plan.season, visit_days(plan.groups[visit_id], plan))


def visit_days(task_ids: Iterable[str], plan: Placed) -> list[int]:
    """The day numbers on which any of some tasks is worked on, ascending."""
    stints = (plan.stints[task_id] for task_id in task_ids if task_id in plan.stints)
    return sorted({day for stint in stints for day in stint.days})


def frost_warning(visit_id: str, days: Iterable[int], plan: SeasonPlan) -> str:
    """That the frost window is still open over the work of some days; empty where it is not."""
    reach = reach_on(visit_id, days, plan.placed)
    if reach is None:
        return warning_of("cover-late", visit_id, plan)
    chance = "" if math.isnan(reach.chance) else f", chance {percent_words(reach.chance)}"
    hurt = kinds_words(tenderest_of(reach.plants), plan.placed.holding)
    if reach.weeks is not None:
        return f"WARNING: frost may reach new growth of this cut{chance}: {hurt}."
    until = f" until {day_words(reach.closes)}" if reach.closes else ""
    return f"WARNING: the frost window is still open{until}{chance}; it can hurt {hurt}."


def warning_of(code: str, about: str, plan: SeasonPlan) -> str:
    """The first notice of a code about a visit, as a warning; empty where there is none."""
    says = (n.says for n in plan.visit_notices if n.code == code and n.speaks_of(about))
    return next((f"WARNING: {words}" for words in says), "")


def frost_words(visit_id: str, days: Sequence[int], plan: Placed) -> str:
    """State of the frost window over work that lays something open; empty for other work."""
    exposing = [task for task in tasks_on(plan, visit_id, days) if task.type.exposes]
    if not exposing or exposing[0].plot is None:
        return ""
    risk = plan.outlook.frost[exposing[0].plot.id]
    exposed = visit_days([task.id for task in exposing], plan)
    day = next(day for day in days if day in exposed)
    chance, state = risk.chance_on_or_after[day], "still open" if risk.open[day] else "closed"
    says = ""
    if chance <= 0.5 or (risk.open[day] and not math.isnan(chance)):
        says = f"; chance of another frost {percent_words(chance)}"
    return f"Frost: the window is {state}{says}; watch the forecast."


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
        for task in planned_tasks(visit_id, plan)
        if any(r.basis is Basis.PRACTICE for r in plan.windows[task.id].rulings)
        for day in plan.stints[task.id].days
        if day in days
    ]
    if not heavy:
        return ""
    waxing = plan.outlook.sky.waxing[heavy]
    state = "waxing" if waxing.all() else "partly waning" if waxing.any() else "waning"
    return f"Moon: {state} for the heavy cuts ({MOON_TAG})."


def rests_on(risk: FrostRisk) -> str:
    """What the frost risk of a plot rests on, and that it is climate."""
    at = ""
    if risk.basis == "record":
        at = (
            f", frost at or below {risk.threshold_c:g} °C, plot {risk.offset_c:+g} °C against the "
            "station"
        )
    return f"It rests on {record_words(risk)}{at}. {CLIMATE_CAUTION}"


def state_words(risk: FrostRisk, day: date) -> str:
    """Whether the frost window is open on a day, and until when."""
    if risk.basis == "unknown":
        return "UNKNOWN, held open"
    if risk.is_open(day):
        closes = risk.closes_after(day)
        return f"OPEN until {day_words(closes)}" if closes else "OPEN, never closes"
    opens = risk.opens_on(day)
    return f"closed until {day_words(opens)}" if opens else "closed, never opens"


def chance_cell(chance: float) -> str:
    """A chance in whole per cent, or that no record says."""
    return "not known" if math.isnan(chance) else percent_words(chance)


def risk_words(risk: FrostRisk, day: date) -> str:
    """Whether frost is a risk on a day, and until when, without the word window."""
    if risk.basis == "unknown":
        return "frost risk not known, taken as open"
    is_open = risk.is_open(day)
    until = risk.closes_after(day) if is_open else risk.opens_on(day)
    head = "frost risk" if is_open else "little frost risk"
    return f"{head} until {day_words(until)}" if until else f"{head} all year"


def when_words(day: date | None, as_of: date, never: str) -> str:
    """From when something is so, as a cell."""
    if day is None:
        return never
    return "now" if day <= as_of else day_words(day)


def move_lines(plan: SeasonPlan) -> Iterator[str]:
    """The moves, a line each; of all that left the plan for one reason one line."""
    gone: dict[str, list[str]] = {}
    for move in plan.moves:
        if move.now is None:
            gone.setdefault(move.because, []).append(move.visit_id)
    for move in plan.moves:
        if move.now is not None or len(gone[move.because]) == 1:
            name = visit_name(move.visit_id, plan.placed)
            to = f"to {day_words(move.now)}" if move.now else "out of the plan"
            was = day_words(move.was)
            yield f"moved: {move.visit_id}: {name}: from {was} {to}: {move.because}."
    for because, ids in gone.items():
        if len(ids) > 1:
            yield f"moved: {len(ids)} visits out of the plan, of each {because}: {', '.join(ids)}."
