"""Real subscribers: vdirsyncer fetches a feed from our server, khal shows it.

First sync, a moved day, a dropped day, a failed fetch, and the newcomer's way of the README.
The outcomes stand as a table in DEVELOPERS.md.
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

import pytest
from typer.testing import CliRunner

from scheduler.calendars import Feed
from scheduler.calendars.ics import Event
from scheduler.commands.app import app
from scheduler.ways_out import Manner, write_feeds
from tests.sites import ROOT, demo
from tests.ways_out.servers import serving

NOW = datetime(2026, 11, 25, tzinfo=UTC)
pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(
        not all(map(importlib.util.find_spec, ("khal", "vdirsyncer"))),
        reason="khal and vdirsyncer are not installed",
    ),
]


@dataclass
class Subscriber:
    """A home with the two programs set up as the README says."""

    home: Path
    url: str

    def configure(self) -> None:
        readme = (ROOT / "README.md").read_text(encoding="utf-8")
        for name in (".config/vdirsyncer/config", ".config/khal/config"):
            block = re.search(rf"```ini\n# ~/{re.escape(name)}\n(.*?)```", readme, re.DOTALL)
            assert block is not None, f"the README shows no {name}"
            text = block[1].replace("http://127.0.0.1:8008/", self.url)
            (self.home / name).parent.mkdir(parents=True, exist_ok=True)
            (self.home / name).write_text(text, encoding="utf-8")

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
    with serving(folder) as port:
        yield Place(folder, Subscriber(tmp_path, f"http://127.0.0.1:{port}/"))


def work(key: str, month: int, day: int, n_days: int = 1) -> Event:
    first = date(2027, month, day)
    last = first + timedelta(days=n_days - 1)
    return Event(key, f"Low: {key}", first, last, "Words; more, words.", ("release",), busy=True)


EVENTS = (work("weed", 2, 27, 3), work("cut", 3, 2), work("mulch", 3, 4))
SHOWN = {"2027-02-27 Low: weed", "2027-02-28 Low: weed", "2027-03-01 Low: weed"}


def first_sync(place: Place) -> None:
    place.write(EVENTS)
    place.subscriber.configure()
    found = place.subscriber.run("vdirsyncer", "discover", answer="y\ny\ny\n")
    assert found.returncode == 0, found.stderr
    synced = place.subscriber.sync()
    assert synced.returncode == 0, synced.stderr


def events_of(lines: set[str]) -> set[str]:
    return {line for line in lines if "Low: " in line}


def test_the_first_sync_shows_every_day_and_the_exclusive_end_is_understood(place: Place) -> None:
    first_sync(place)
    kept = list(place.subscriber.home.rglob("*.ics"))
    assert len([path for path in kept if path.parent != place.folder]) == 3, "one item an event"
    shown = {line[11:] for line in events_of(place.subscriber.listed())}
    assert shown == {"Low: weed", "Low: cut", "Low: mulch"}
    at = place.subscriber.run("khal", "list", "--format", "{title}", "2027-03-01", "1d").stdout
    assert "Low: weed" in at
    after = place.subscriber.run("khal", "list", "--format", "{title}", "2027-03-02", "1d").stdout
    assert "Low: weed" not in after
    assert "Low: cut" in after


def test_nothing_is_fetched_where_nothing_has_changed(place: Place) -> None:
    first_sync(place)
    place.write(EVENTS, 1)
    synced = place.subscriber.sync()
    assert synced.returncode == 0, synced.stderr
    assert "Copying" not in synced.stderr


def test_a_moved_day_is_moved_and_nothing_is_doubled(place: Place) -> None:
    first_sync(place)
    before = events_of(place.subscriber.listed())
    place.write(
        (*EVENTS[:2], replace(EVENTS[2], first=date(2027, 3, 9), last=date(2027, 3, 9))), 1
    )
    synced = place.subscriber.sync()
    assert synced.returncode == 0, synced.stderr
    assert synced.stderr.count("Copying") == 1, "one item is fetched, no other"
    after = events_of(place.subscriber.listed())
    assert before - after == {"2027-03-04 Low: mulch"}
    assert after - before == {"2027-03-09 Low: mulch"}


def test_a_dropped_day_goes_away(place: Place) -> None:
    first_sync(place)
    before = events_of(place.subscriber.listed())
    place.write(EVENTS[:2], 1)
    assert place.subscriber.sync().returncode == 0
    assert before - events_of(place.subscriber.listed()) == {"2027-03-04 Low: mulch"}


def test_a_failed_fetch_keeps_the_old_calendar(place: Place) -> None:
    first_sync(place)
    before = place.subscriber.listed()
    (place.folder / "work.ics").rename(place.folder / "away")
    assert place.subscriber.sync().returncode != 0
    assert place.subscriber.listed() == before
    (place.folder / "away").rename(place.folder / "work.ics")
    assert place.subscriber.sync().returncode == 0


def test_a_server_that_is_down_keeps_the_old_calendar(place: Place) -> None:
    first_sync(place)
    before = place.subscriber.listed()
    config = place.subscriber.home / ".config" / "vdirsyncer" / "config"
    there = config.read_text(encoding="utf-8")
    config.write_text(re.sub(r"127\.0\.0\.1:\d+", "127.0.0.1:9", there), encoding="utf-8")
    assert place.subscriber.sync().returncode != 0
    assert place.subscriber.listed() == before


def test_a_feed_without_events_does_not_empty_the_calendar(place: Place) -> None:
    first_sync(place)
    before = place.subscriber.listed()
    place.write((), 1)
    assert place.subscriber.sync().returncode != 0
    assert place.subscriber.listed() == before


def test_a_newcomer_moves_a_task_as_the_readme_says_and_sees_exactly_that(
    place: Place, tmp_path: Path
) -> None:
    site = demo(tmp_path, "branasol")
    shutil.copytree(ROOT / "calendars" / "branasol", place.folder, dirs_exist_ok=True)

    def synced_days() -> set[str]:
        place.subscriber.run("vdirsyncer", "discover", answer="y\ny\n")
        synced = place.subscriber.sync()
        assert synced.returncode == 0, synced.stderr
        return place.subscriber.listed()

    place.subscriber.configure()
    before = synced_days()
    moved = re.search(
        r"```toml\n(\[\[own_date\]\]\n.*?)```",
        (ROOT / "README.md").read_text(encoding="utf-8"),
        re.DOTALL,
    )
    assert moved is not None
    with (site / "plan-2027.toml").open("a", encoding="utf-8") as plan:
        plan.write("\n" + moved[1])
    asked = ("write", str(site), "--to", str(place.folder), "--as-of", "2026-11-25")
    written = CliRunner().invoke(app, asked)
    assert written.exit_code == 0, written.output
    after = synced_days()
    title = "Souto de Brañasol: Order plants for next winter and spring"
    assert before - after == {f"2027-09-20 {title}"}
    assert after - before == {f"2027-09-23 {title}"}
