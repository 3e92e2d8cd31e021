"""Real subscribers: vdirsyncer fetches a feed from our server, khal shows it.

First sync, a moved day, a dropped day, a failed fetch, and a newcomer who moves some work.
vdirsyncer files what it fetches by content and not by UID: to it, a moved day is one item gone and
one new. What is edited in its copy stays there, so khal is set to read only.
"""

import importlib.util
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from textwrap import dedent

import pytest
from typer.testing import CliRunner

from scheduler.calendars import Feed
from scheduler.calendars.ics import Event
from scheduler.commands.app import app
from scheduler.ways_out import Manner, write_feeds
from tests.sites import ROOT, demo, own_date
from tests.ways_out.servers import serving

NOW = datetime(2026, 11, 25, tzinfo=UTC)
pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(
        not all(map(importlib.util.find_spec, ("khal", "vdirsyncer"))),
        reason="khal and vdirsyncer are not installed",
    ),
]

SETTINGS = {
    "vdirsyncer": """
        [general]
        status_path = "~/.local/share/vdirsyncer/status/"

        [pair forest]
        a = "forest_feed"
        b = "forest_here"
        collections = null
        conflict_resolution = "a wins"

        [storage forest_feed]
        type = "http"
        url = "FEEDS/work.ics"

        [storage forest_here]
        type = "filesystem"
        path = "~/.local/share/calendars/forest/"
        fileext = ".ics"
        """,
    "khal": """
        [calendars]
        [[forest]]
        path = ~/.local/share/calendars/forest/
        readonly = True

        [locale]
        timeformat = %H:%M
        dateformat = %Y-%m-%d
        longdateformat = %Y-%m-%d
        datetimeformat = %Y-%m-%d %H:%M
        longdatetimeformat = %Y-%m-%d %H:%M

        [view]
        agenda_event_format = {title}
        """,
}


@dataclass
class Subscriber:
    """A home with the two programs set up."""

    home: Path
    url: str

    def configure(self) -> None:
        for program, text in SETTINGS.items():
            path = self.home / ".config" / program / "config"
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(dedent(text).replace("FEEDS/", self.url), encoding="utf-8")

    def run(self, *command: str, answer: str = "") -> subprocess.CompletedProcess[str]:
        program = str(Path(sys.executable).with_name(command[0]))
        env = {
            "HOME": str(self.home), "PATH": os.environ["PATH"], "LC_ALL": "C.UTF-8", "TZ": "UTC",
            "XDG_CONFIG_HOME": str(self.home / ".config"), "NO_COLOR": "1",
        }  # fmt: skip
        return subprocess.run(
            [program, *command[1:]],
            input=answer, env=env, capture_output=True, text=True, check=False, timeout=60,
        )  # fmt: skip

    def sync(self) -> subprocess.CompletedProcess[str]:
        return self.run("vdirsyncer", "sync")

    def listed(self) -> set[str]:
        """What khal shows from the plan's begin on: a line for each day of each event."""
        wanted = ("khal", "list", "--day-format", "", "--format", "{start-date} {title}")
        shown = self.run(*wanted, "2026-11-25", "500d")
        assert shown.returncode == 0, shown.stderr
        return {line.strip() for line in shown.stdout.splitlines() if line.strip()}


@dataclass
class Place:
    """A served folder and somebody who has subscribed to it."""

    folder: Path
    subscriber: Subscriber

    def write(self, events: tuple[Event, ...], days_later: int = 0) -> None:
        manner = Manner(NOW + timedelta(days=days_later), allow_empty=True)
        write_feeds([Feed("hill", "work", "Hill: work", "Tests.", events)], self.folder, manner)


@pytest.fixture
def place(tmp_path: Path) -> Iterator[Place]:
    folder = tmp_path / "feeds"
    folder.mkdir()
    with serving(folder) as own:
        yield Place(folder, Subscriber(tmp_path, own.url + own.link("work")[1:]))


@pytest.fixture(scope="module")
def first_sync(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Place, Path]]:
    """A place whose first sync is done, and a copy of all that stood there then."""
    top, then = tmp_path_factory.mktemp("synced"), tmp_path_factory.mktemp("then") / "copy"
    folder = top / "feeds"
    folder.mkdir()
    with serving(folder) as own:
        place = Place(folder, Subscriber(top, own.url + own.link("work")[1:]))
        place.write(EVENTS)
        place.subscriber.configure()
        found = place.subscriber.run("vdirsyncer", "discover", answer="y\ny\ny\n")
        assert found.returncode == 0, found.stderr
        synced = place.subscriber.sync()
        assert synced.returncode == 0, synced.stderr
        shutil.copytree(top, then)
        yield place, then


@pytest.fixture
def synced(first_sync: tuple[Place, Path]) -> Place:
    """That place, as it stood after the first sync, whatever the test before did there."""
    place, then = first_sync
    top = place.subscriber.home
    for path in top.iterdir():
        shutil.rmtree(path)
    shutil.copytree(then, top, dirs_exist_ok=True)
    return place


def work(key: str, month: int, day: int, n_days: int = 1) -> Event:
    first = date(2027, month, day)
    last = first + timedelta(days=n_days - 1)
    return Event(key, f"Low: {key}", first, last, "Words; more, words.", ("release",), busy=True)


EVENTS = (work("weed", 2, 27, 3), work("cut", 3, 2), work("mulch", 3, 4))


def events_of(lines: set[str]) -> set[str]:
    return {line for line in lines if "Low: " in line}


def test_the_first_sync_shows_every_day_and_the_exclusive_end_is_understood(synced: Place) -> None:
    kept = list(synced.subscriber.home.rglob("*.ics"))
    assert len([path for path in kept if path.parent != synced.folder]) == 3, "one item an event"
    shown = {line[11:] for line in events_of(synced.subscriber.listed())}
    assert shown == {"Low: weed", "Low: cut", "Low: mulch"}
    at = synced.subscriber.run("khal", "list", "--format", "{title}", "2027-03-01", "1d").stdout
    assert "Low: weed" in at
    after = synced.subscriber.run("khal", "list", "--format", "{title}", "2027-03-02", "1d").stdout
    assert "Low: weed" not in after
    assert "Low: cut" in after


def test_nothing_is_fetched_where_nothing_has_changed(synced: Place) -> None:
    synced.write(EVENTS, 1)
    again = synced.subscriber.sync()
    assert again.returncode == 0, again.stderr
    assert "Copying" not in again.stderr


def test_a_moved_day_is_moved_and_nothing_is_doubled(synced: Place) -> None:
    before = events_of(synced.subscriber.listed())
    synced.write(
        (*EVENTS[:2], replace(EVENTS[2], first=date(2027, 3, 9), last=date(2027, 3, 9))), 1
    )
    again = synced.subscriber.sync()
    assert again.returncode == 0, again.stderr
    assert again.stderr.count("Copying") == 1, "one item is fetched, no other"
    after = events_of(synced.subscriber.listed())
    assert before - after == {"2027-03-04 Low: mulch"}
    assert after - before == {"2027-03-09 Low: mulch"}


def test_a_dropped_day_goes_away(synced: Place) -> None:
    before = events_of(synced.subscriber.listed())
    synced.write(EVENTS[:2], 1)
    assert synced.subscriber.sync().returncode == 0
    assert before - events_of(synced.subscriber.listed()) == {"2027-03-04 Low: mulch"}


def test_a_failed_fetch_keeps_the_old_calendar(synced: Place) -> None:
    before = synced.subscriber.listed()
    (synced.folder / "work.ics").rename(synced.folder / "away")
    assert synced.subscriber.sync().returncode != 0
    assert synced.subscriber.listed() == before
    (synced.folder / "away").rename(synced.folder / "work.ics")
    assert synced.subscriber.sync().returncode == 0


def test_a_server_that_is_down_keeps_the_old_calendar(synced: Place) -> None:
    before = synced.subscriber.listed()
    config = synced.subscriber.home / ".config" / "vdirsyncer" / "config"
    there = config.read_text(encoding="utf-8")
    config.write_text(re.sub(r"127\.0\.0\.1:\d+", "127.0.0.1:9", there), encoding="utf-8")
    assert synced.subscriber.sync().returncode != 0
    assert synced.subscriber.listed() == before


def test_a_feed_without_events_does_not_empty_the_calendar(synced: Place) -> None:
    before = synced.subscriber.listed()
    synced.write((), 1)
    assert synced.subscriber.sync().returncode != 0
    assert synced.subscriber.listed() == before


def test_a_newcomer_moves_a_task_and_sees_exactly_that(place: Place, tmp_path: Path) -> None:
    site = demo(tmp_path, "branasol")
    shutil.copytree(ROOT / "calendars" / "branasol", place.folder, dirs_exist_ok=True)

    def synced_days() -> set[str]:
        place.subscriber.run("vdirsyncer", "discover", answer="y\ny\n")
        synced = place.subscriber.sync()
        assert synced.returncode == 0, synced.stderr
        return place.subscriber.listed()

    place.subscriber.configure()
    before = synced_days()
    own_date(site, "holding.order-plants", on="2027-09-23")
    asked = ("write", str(site), "--to", str(place.folder), "--as-of", "2026-11-25")
    written = CliRunner().invoke(app, asked)
    assert written.exit_code == 0, written.output
    after = synced_days()
    title = "Souto de Brañasol: Order plants for next winter and spring"
    assert before - after == {f"2027-09-20 {title}"}
    assert after - before == {f"2027-09-23 {title}"}
