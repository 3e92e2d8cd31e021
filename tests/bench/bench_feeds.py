"""Ten thousand events written and linted, as a ratio to the bare library.

The bare library builds and writes the same events with the same properties and neither
cleans, nor stamps, nor remembers. All ways run in turn in one process; the middle of the
rounds counts.

    python tests/bench/bench_feeds.py
"""

import statistics
import time
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta

import icalendar

from scheduler.calendars import Feed, feed_bytes, uid_of
from scheduler.calendars.ics import Event
from tests.calendars.lint import faults_of

ROUNDS, N_EVENTS = 3, 10_000
NOW = datetime(2026, 11, 25, tzinfo=UTC)
WORDS = "Why this day: the frost window has closed; the crew has room. Bring: saws, ropes. " * 3


def events() -> tuple[Event, ...]:
    """Events as a season has them, spread over ten years."""
    return tuple(
        Event(
            key=f"2027/plot-{n % 7}.task-{n}/1",
            title=f"Plot {n % 7}: Cut the high stratum, part {n}",
            first=date(2027, 1, 1) + timedelta(days=n % 3650),
            last=date(2027, 1, 2) + timedelta(days=n % 3650),
            description=WORDS,
            categories=("release",),
            location=f"Plot {n % 7} (terrace)",
            busy=True,
            color="seagreen",
        )
        for n in range(N_EVENTS)
    )


def bare(all_events: tuple[Event, ...]) -> bytes:
    """The library alone."""
    calendar = icalendar.Calendar()
    calendar.add("prodid", "-//bare//EN")
    calendar.add("version", "2.0")
    for event in all_events:
        item = icalendar.Event()
        item.add("uid", uid_of("hill", event.key))
        item.add("summary", event.title)
        item.add("dtstart", event.first)
        item.add("dtend", event.last + timedelta(days=1))
        item.add("description", event.description)
        item.add("categories", list(event.categories))
        item.add("status", "CONFIRMED")
        item.add("transp", "OPAQUE")
        item.add("location", event.location)
        item.add("color", event.color)
        item.add("sequence", 0)
        item.add("dtstamp", NOW)
        item.add("last-modified", NOW)
        calendar.add_component(item)
    return bytes(calendar.to_ical())


def seconds(work: Callable[[], object]) -> float:
    """Wall time of one call."""
    begin = time.perf_counter()
    work()
    return time.perf_counter() - begin


def main() -> None:
    """Print seconds and ratios."""
    all_events = events()
    feed = Feed("hill", "work", "Hill", "A feed to measure.", all_events)
    content = feed_bytes(feed, None, NOW)
    ways: dict[str, Callable[[], object]] = {
        "bare library, written": lambda: bare(all_events),
        "bare library, read": lambda: icalendar.Calendar.from_ical(content),
        "first write": lambda: feed_bytes(feed, None, NOW),
        "write with memory": lambda: feed_bytes(feed, content, NOW),
        "lint": lambda: faults_of(content),
    }
    assert faults_of(content) == []
    assert feed_bytes(feed, content, NOW + timedelta(days=1)) == content
    rounds = [{name: seconds(work) for name, work in ways.items()} for _ in range(ROUNDS)]
    print(f"{N_EVENTS} events, {len(content) / 1e6:.1f} MB, middle of {ROUNDS} rounds")
    base = "bare library, written"
    for name in ways:
        ratio = statistics.median(each[name] / each[base] for each in rounds)
        took = statistics.median(each[name] for each in rounds)
        print(f"{name:24} {took:6.2f} s   ratio {ratio:5.2f}")


if __name__ == "__main__":
    main()
