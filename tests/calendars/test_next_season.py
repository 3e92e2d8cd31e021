"""A plan that goes on: calendars hold the coming twelve months, over the turn of the year."""

from collections.abc import Mapping, Sequence
from datetime import UTC, date, datetime, time
from pathlib import Path

import pytest

from scheduler.calendars import Feed, feeds_of
from scheduler.holding import Holding, read_holding
from scheduler.reasons import SeasonPlan, plan_season
from scheduler.season import Published
from scheduler.terms import DaySpan
from scheduler.ways_out import Manner, published_in_folders, write_feeds
from tests.sites import edit, new_site

LATE = date(2027, 10, 20)


@pytest.fixture
def site(tmp_path: Path) -> Path:
    site = new_site(tmp_path / "site")
    edit(site, "plan-2027.toml", "last = 2027-11-30", "#")
    return site


def season(site: Path, as_of: date, folder: Path | None = None) -> SeasonPlan:
    def published(holding: Holding) -> Published:
        return published_in_folders([folder], holding) if folder else {}

    holding = read_holding(site, as_of)
    return plan_season(holding, as_of, published=published(holding), published_later=published)


def feeds(plan: SeasonPlan) -> Mapping[str, Feed]:
    return {feed.name: feed for feed in feeds_of(plan)}


def test_the_work_of_the_year_after_stands_in_the_same_calendar(site: Path) -> None:
    plan = season(site, LATE)
    assert [each.placed.holding.plan.id for each in plan.seasons] == ["2027", "2028"]
    events = feeds(plan)["work"].events
    days = [event.first for event in events]
    assert date(2028, 8, 1) < max(days) <= date(2028, 10, 20)
    assert {event.key.split("/")[0] for event in events} == {"2027", "2028"}
    release = [event for event in events if event.key.startswith("2028/first-plot.release/")]
    assert [event.first.year for event in release] == [2028] * len(release)
    assert release


def test_a_season_that_begins_later_than_in_a_year_waits(site: Path) -> None:
    assert len(season(site, date(2026, 11, 25)).seasons) == 1
    assert len(season(site, date(2026, 12, 1)).seasons) == 2


def test_each_frost_window_is_told_once(site: Path) -> None:
    """The one that is open over the turn of the year is told by the season it opens in."""
    events = feeds(season(site, LATE))["frost"].events
    windows = sorted(
        (event.first, event.last) for event in events if "/frost-window/" in event.key
    )
    assert windows == [
        (date(2026, 12, 1), date(2027, 5, 10)),
        (date(2027, 10, 15), date(2028, 5, 10)), (date(2028, 10, 15), date(2029, 5, 10)),
    ]  # fmt: skip
    over = [event.first for event in events if "/frost-release/" in event.key]
    assert sorted(over) == [date(2027, 5, 11), date(2028, 5, 11)]


def test_over_the_turn_of_the_year_published_days_stay_and_nothing_is_lost(
    site: Path, tmp_path: Path
) -> None:
    folder = tmp_path / "feeds"
    edit(site, "crew.toml", "lead_days = 28", "lead_days = 0")  # notice would move its visits
    spans: dict[str, dict[str, Sequence[DaySpan]]] = {}
    for as_of in (date(2027, 11, 30), date(2027, 12, 1)):
        plan = season(site, as_of, folder)
        now = datetime.combine(as_of, time.min, UTC)
        # nothing is agreed to: a write that loses much would be refused
        write_feeds(feeds_of(plan), folder, Manner(now, plan_first=plan.placed.season.first))
        later = {each.placed.holding.plan.id: each for each in plan.seasons}["2028"]
        spans[f"{as_of}"] = dict(published_in_folders([folder], later.placed.holding))
    before, after = spans.values()
    assert len(before) > 5
    assert {visit: after.get(visit) for visit in before} == before
