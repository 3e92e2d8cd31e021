"""A planned season as calendars: work, each person's and plot's work, frost, the sky.

Decided: the same work bears another UID in each calendar, as readers file by UID.
Held by tests/calendars/test_feeds.py::test_every_feed_is_clean_and_no_uid_stands_in_two_of_them.
"""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta

from scheduler.calendars.frost_events import frost_events
from scheduler.calendars.ics import Event, Feed
from scheduler.calendars.work_events import done_events, errand_events, work_events
from scheduler.holding import Crew, years_later
from scheduler.reasons import SeasonPlan
from scheduler.season import Placed
from scheduler.sky import SkyEvent
from scheduler.terms import day_words
from scheduler.words import phrases, slug_of

# From the start of the first day by the reader's clock: the evening before at six, and
# at seven in the morning; from the begin of what has times: two hours before, and at it.
DAY_ALARMS = (timedelta(hours=-6), timedelta(hours=7))
TIME_ALARMS = (timedelta(hours=-2), timedelta(0))
_FIRST_LUNATION = datetime(2000, 1, 6, 18, 14, tzinfo=UTC)
_SYNODIC_MONTH = timedelta(days=29.530588853)


def feeds_of(
    plan: SeasonPlan, *, alarms: bool = False, relations: bool = False
) -> tuple[Feed, ...]:
    """All calendars of a site.

    Those of a person or plot without work are empty; whoever writes them decides whether that
    may be seen. The same work carries a UID of its own in each calendar, so that a phone with
    several of them keeps them apart.

    Args:
        plan: the season; those after it that begin within a year stand in the same calendars.
        alarms: two reminders an event for work and frost; many readers ignore them.
        relations: the order of work for programs too (RFC 9253 FINISHTOSTART); some
            readers take what they do not know for a sub-task.
    """
    feeds = []
    for feed in _of_all_seasons(plan):
        rings = alarms and feed.name != "sky"
        events = (
            replace(
                event,
                alarms=(TIME_ALARMS if event.times else DAY_ALARMS) if rings else (),
                followers=event.followers if relations else (),
            )
            for event in feed.events
        )
        feeds.append(replace(feed, events=tuple(events)))
    return tuple(feeds)


def _of_all_seasons(plan: SeasonPlan) -> Iterator[Feed]:
    """The calendars of a season, each with what begins in a year's time in those after it."""
    later = [{feed.name: feed for feed in _plain_feeds(s)} for s in plan.seasons[1:]]
    until = years_later(plan.placed.outlook.as_of, 1)
    for feed in _plain_feeds(plan):
        more = (event for feeds in later for event in feeds[feed.name].events)
        coming = (event for event in more if event.first <= until)
        yield replace(feed, events=(*feed.events, *coming))


def _plain_feeds(plan: SeasonPlan) -> Iterator[Feed]:
    placed, caution = plan.placed, f"{phrases.GENERAL_CAUTION} {phrases.CLIMATE_CAUTION}"
    work = (*work_events(plan), *done_events(placed), *errand_events(plan))
    yield _feed(plan, "work", "work", caution, work)
    people, plots = person_feeds(placed.holding.crew), placed.holding.plots
    for name, person in people.items():
        own = _own(name, work_events(plan, person=person))
        feed = _feed(plan, name, person, f"The days of {person}. {caution}", own)
        yield replace(feed, twin=len(people) == 1)
    for plot in plots:
        own = _own(f"plot-{plot.id}", (event for event in work if event.plot_id == plot.id))
        feed = _feed(plan, f"plot-{plot.id}", plot.name, caution, own)
        yield replace(feed, twin=len(plots) == 1)
    yield _feed(plan, "frost", "frost windows", phrases.CLIMATE_CAUTION, frost_events(plan))
    says = f"{phrases.SKY_MARKS.format(placed.holding.site.zone)} {phrases.MOON_CAUTION}"
    yield _feed(plan, "sky", "moon and seasons", says, sky_events(placed))


def person_feeds(crew: Crew) -> dict[str, str]:
    """Whose days a person's feed holds, by name of the feed."""
    people: dict[str, str] = {}
    for person in crew.person:
        name = f"person-{slug_of(person.name, 'person')}"
        while name in people:
            name += "-2"
        people[name] = person.name
    return people


def _feed(plan: SeasonPlan, name: str, title: str, says: str, events: Iterable[Event]) -> Feed:
    site, about = plan.placed.holding.site, plan.placed.holding.plan.says.title
    return Feed(site.id, name, f"{site.name}: {title}", f"{about}. {says}", tuple(events))


def _own(name: str, events: Iterable[Event]) -> Iterator[Event]:
    """Events under keys of one feed."""
    for event in events:
        followers = tuple((f"{name}/{key}", days) for key, days in event.followers)
        yield replace(event, key=f"{name}/{event.key}", followers=followers)


def sky_events(plan: Placed) -> Iterator[Event]:
    """Phases and season marks by day."""
    for event in plan.outlook.sky.events:
        is_phase = event.event in phrases.PHASES
        day, title = event.local.date(), phrases.EVENT_WORDS[event.event]
        tag = f" {phrases.MOON_CAUTION}" if is_phase else ""
        clock = f"{event.local:%H:%M} in {plan.holding.site.zone}"
        yield Event(
            key=f"sky/{event.event}/{_lunation(event) if is_phase else day.year}",
            title=title,
            first=day,
            last=day,
            description=f"{title} on {day_words(day)} at {clock}.{tag}",
            categories=("moon" if is_phase else "season",),
            color="silver" if is_phase else "goldenrod",
        )


def _lunation(event: SkyEvent) -> int:
    """Which lunation a phase belongs to, counted from January 2000: its name for ever.

    The mean synodic month is good enough to count by: a phase strays from it by hours.
    """
    quarter = phrases.PHASES.index(event.event)
    return round((event.utc - _FIRST_LUNATION) / _SYNODIC_MONTH - quarter / 4)
