"""The front page of a holding: this week, the next visit, frost, and what wants an answer.

And each person's own: the days on which they work, and their calendar.
"""

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from scheduler.frost import PlotFrost
from scheduler.pages.day_page import hours_of_people, visits_worked_on, work_days
from scheduler.pages.rendering import Page, Rows, page
from scheduler.reasons import SeasonPlan
from scheduler.terms import Level, spans_of
from scheduler.words import HEAVY, HeavyDays, heavy_to_come, phrases

DAY, WEEK, SOON = timedelta(days=1), timedelta(days=7), timedelta(days=14)


@dataclass(frozen=True, slots=True)
class CalendarLink:
    """A calendar to subscribe to."""

    title: str  # as phones show it
    href: str  # where it is, seen from the page
    address: str  # where phones find it, http or https; empty where it is only a file


@dataclass(frozen=True, slots=True)
class ComingDay:
    """One of the next days with work."""

    day: date  # the day
    page: str  # name of its page
    work: tuple[str, ...]  # what is done
    people: tuple[tuple[str, float], ...]  # who works, with their hours


def front_sheet(plan: SeasonPlan, calendars: Iterable[CalendarLink] = ()) -> Rows:
    """What the front page shows."""
    placed, as_of = plan.placed, plan.placed.outlook.as_of
    coming = heavy_to_come(plan)
    days = coming_days(plan)
    this_week = tuple(day for day in days if day.day < as_of + WEEK)
    return {
        "site": placed.holding.site.name,
        "as_of": as_of,
        "tomorrow": as_of + DAY,
        "days": this_week or days[:1],
        "this_week": bool(this_week),
        "next_visit": next((row for row in coming if row.kind == HEAVY), None),
        "moon_practice": placed.holding.site.moon.practice,
        "waning": _waning(plan, days),
        # what wants covering tonight or tomorrow
        "cover": tuple(title for _, title in _errands(plan, "protect", as_of + DAY)),
        "calls": tuple(_errands(plan, "call", as_of + SOON)),
        "free": tuple(free_days(plan, as_of + SOON)),
        "frost": tuple(
            _frost_row(known, coming, as_of) for known in placed.outlook.plots.values()
        ),
        "answers": tuple(n.says for n in plan.notices if n.level is Level.WARNING),
        "moves": tuple(_moves(plan)),
        "calendars": tuple(calendars),
    }


def _moves(plan: SeasonPlan) -> Iterator[Rows]:
    for move in plan.moves:
        yield {
            "title": phrases.visit_name(move.visit_id, plan.placed),
            "was": move.was,
            "now": move.now,
            "because": move.because,
            # whether its days had gone by, and the log does not have it
            "gone_by": move.was < plan.placed.outlook.as_of,
        }


def _errands(plan: SeasonPlan, kind: str, until: date) -> Iterator[tuple[date, str]]:
    """Errands of a kind by their last good day."""
    for errand in plan.errands:
        if errand.kind == kind and errand.on <= until:
            yield errand.on, errand.title


def _waning(plan: SeasonPlan, days: Iterable[ComingDay]) -> Rows | None:
    """The next waning half of a moon with work from today on; None without the practice."""
    placed, as_of = plan.placed, plan.placed.outlook.as_of
    if not placed.holding.site.moon.practice:
        return None
    for span in spans_of(placed.season, ~placed.outlook.sky.waxing):
        work = dict.fromkeys(name for day in days if day.day in span for name in day.work)
        if work:
            return {"first": max(span.first, as_of), "last": span.last, "work": tuple(work)}
    return None


def free_days(plan: SeasonPlan, until: date) -> Iterator[Rows]:
    """Days closed for all work, with why, and days off of a person, that begin by a day."""
    holding, as_of = plan.placed.holding, plan.placed.outlook.as_of
    for closed in holding.plan.says.closed:
        if closed.for_all and as_of <= closed.last and closed.first <= until:
            yield {"first": closed.first, "last": closed.last, "person": "", "why": closed.why}
    for person in holding.crew.person:
        for off in person.off:
            if as_of <= off.last and off.first <= until:
                yield {"first": off.first, "last": off.last, "person": person.name, "why": ""}


def _frost_row(known: PlotFrost, coming: Iterable[HeavyDays], as_of: date) -> Rows:
    """Whether frost is still about in a plot, and when its release visit comes."""
    own = f"{known.plot.id}."
    heavy = (row for row in coming if row.kind == HEAVY and row.visit.startswith(own))
    return {
        "plot": known.plot.name,
        "is_open": known.risk.is_open(as_of),
        "state": phrases.risk_words(known.risk, as_of),
        "heavy": next(heavy, None),
    }


def coming_days(plan: SeasonPlan, person: str | None = None) -> tuple[ComingDay, ...]:
    """The days with work from today on: of one person what is theirs, of None everything."""
    placed, days = plan.placed, []
    for day in work_days(placed):
        on, names, hours = placed.season.date_of(day), list[str](), Counter[str]()
        for visit in visits_worked_on(placed, day):
            people = hours_of_people(placed, [visit], day)
            if person is None or person in people:
                names.append(phrases.visit_name(visit, placed))
                hours.update({name: h for name, h in people.items() if person in (None, name)})
        if names and on >= placed.outlook.as_of:
            shares = tuple((name, round(h, 2)) for name, h in sorted(hours.items()))
            days.append(ComingDay(on, f"day-{on}", tuple(dict.fromkeys(names)), shares))
    return tuple(days)


def front_page(plan: SeasonPlan, calendars: Iterable[CalendarLink] = (), **more: object) -> Page:
    """The front page of a holding."""
    sheet = front_sheet(plan, calendars)
    return page("index", sheet["site"], "front.html", sheet, **more)


def person_page(
    plan: SeasonPlan, person: str, calendars: tuple[CalendarLink, ...], **more: object
) -> Page:
    """The page of one person."""
    placed = plan.placed
    site = placed.holding.site.name
    sheet = {
        "site": site,
        "person": person,
        "as_of": placed.outlook.as_of,
        "days": coming_days(plan, person),
        "calendars": calendars,
    }
    return page("index", f"{site}: {person}", "person.html", sheet, **more)
