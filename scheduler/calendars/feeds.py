"""A planned season as calendars: work, each person's and plot's work, frost, the sky."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import timedelta

from scheduler.calendars.frost_events import frost_events
from scheduler.calendars.ics import Event, Feed
from scheduler.calendars.sky_events import sky_events
from scheduler.calendars.work_events import done_events, errand_events, work_events
from scheduler.reasons import SeasonPlan
from scheduler.season import Placed
from scheduler.words import phrases, slug_of

# From the start of the first day by the reader's clock: the evening before at six, and
# at seven in the morning; from the begin of what has times: two hours before, and at it.
DAY_ALARMS = (timedelta(hours=-6), timedelta(hours=7))
TIME_ALARMS = (timedelta(hours=-2), timedelta(0))


@dataclass(frozen=True, slots=True)
class Extras:
    """What a feed holds only if it is asked for.

    Args:
        alarms: two reminders an event for work and frost; many readers ignore them.
        relations: the order of work for programs too (RFC 9253 FINISHTOSTART); some
            readers take what they do not know for a sub-task.
    """

    alarms: bool = False
    relations: bool = False


def feeds_of(plan: SeasonPlan, extras: Extras = Extras()) -> tuple[Feed, ...]:
    """All calendars of a site.

    Those of a person or plot without work are empty; whoever writes them decides whether that
    may be seen. The same work carries a UID of its own in each calendar, so that a phone with
    several of them keeps them apart.
    """
    feeds = (
        _work_feed(plan),
        *_person_feeds(plan),
        *_plot_feeds(plan),
        _frost_feed(plan),
        _sky_feed(plan.placed),
    )
    return tuple(_with(feed, extras) for feed in feeds)


def _work_feed(plan: SeasonPlan) -> Feed:
    events = (*work_events(plan), *done_events(plan.placed), *errand_events(plan))
    return _feed(plan.placed, "work", "work", phrases.GENERAL_CAUTION, events)


def _person_feeds(plan: SeasonPlan) -> Iterator[Feed]:
    taken: set[str] = set()
    for person in plan.placed.holding.crew.person:
        slug = slug_of(person.name, "person")
        while slug in taken:
            slug += "-2"
        taken.add(slug)
        name = f"person-{slug}"
        events = _own(name, work_events(plan, person=person.name))
        says = f"The days of {person.name}. {phrases.GENERAL_CAUTION}"
        yield _feed(plan.placed, name, person.name, says, events)


def _plot_feeds(plan: SeasonPlan) -> Iterator[Feed]:
    for plot in plan.placed.holding.plots:
        name = f"plot-{plot.id}"
        work = (*work_events(plan, plot=plot), *done_events(plan.placed, plot=plot))
        events = _own(name, (*work, *errand_events(plan, plot)))
        yield _feed(plan.placed, name, plot.name, phrases.GENERAL_CAUTION, events)


def _frost_feed(plan: SeasonPlan) -> Feed:
    return _feed(plan.placed, "frost", "frost windows", "", frost_events(plan))


def _sky_feed(plan: Placed) -> Feed:
    site = plan.holding.site
    says = (
        f"Phases and season marks, computed for {site.zone}. Timing work by the moon is a "
        f"{phrases.MOON_TAG}."
    )
    feed = _feed(plan, "sky", "moon and seasons", says, sky_events(plan))
    return replace(feed, description=feed.description.removesuffix(f" {phrases.CLIMATE_CAUTION}"))


def _feed(plan: Placed, name: str, title: str, says: str, events: Iterable[Event]) -> Feed:
    site, about = plan.holding.site, plan.holding.plan.says.title
    told = " ".join(filter(None, (f"{about}.", says, phrases.CLIMATE_CAUTION)))
    return Feed(site.id, name, f"{site.name}: {title}", told, tuple(events))


def _own(name: str, events: Iterable[Event]) -> tuple[Event, ...]:
    """Events under keys of one feed."""
    return tuple(
        replace(
            event,
            key=f"{name}/{event.key}",
            followers=tuple(replace(f, key=f"{name}/{f.key}") for f in event.followers),
        )
        for event in events
    )


def _with(feed: Feed, extras: Extras) -> Feed:
    rings = extras.alarms and feed.name != "sky"
    return replace(
        feed,
        events=tuple(
            replace(
                event,
                alarms=(TIME_ALARMS if event.times else DAY_ALARMS) if rings else (),
                followers=event.followers if extras.relations else (),
            )
            for event in feed.events
        ),
    )
