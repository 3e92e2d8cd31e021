"""Frost as events: what a phone shows of windows, warnings and hard nights."""

from datetime import timedelta
from pathlib import Path

from scheduler.calendars.frost_events import frost_events
from scheduler.reasons import SeasonPlan
from scheduler.sky import sky_of
from scheduler.terms import Season
from tests.sites import demo, new_site, planned


def test_the_evening_before_a_hard_night_is_a_time_in_the_last_light(tmp_path: Path) -> None:
    """Two hours before sunset: common practice, no source. The nights lie before the plan.

    The forecast of the demo has -3.4 and -2.2 °C for them; lemons stand there for mandarins.
    """
    plan = planned(demo(tmp_path, "branasol", ("stock.csv", "mandarin", "lemon")))
    nights = plan.placed.outlook.plots["ladeira"].hard_nights
    assert nights
    assert all(night.night.evening < plan.placed.season.first for night in nights)
    events = [e for e in frost_events(plan) if e.key.startswith("2027/ladeira/hard-night/")]
    assert [event.first for event in events] == [night.night.evening for night in nights]
    for event in events:
        (sunset,) = sky_of(plan.placed.holding.site.place, Season(event.first, 1)).sun.sets[0]
        assert event.times == (sunset - timedelta(hours=2), sunset)
        assert event.title == "A Ladeira: frost evening, cover lemon"
        assert "promises nothing" in event.description


def test_a_window_says_until_when_and_has_its_release_day(branasol: SeasonPlan) -> None:
    events = {event.key: event for event in frost_events(branasol)}
    released = {}
    for plot, name in (("fondal", "O Fondal"), ("ladeira", "A Ladeira")):
        window, release = (events[f"2027/{plot}/frost-{what}/1"] for what in ("window", "release"))
        last = window.last
        assert window.title == f"{name}: frost risk until {last.day} {last:%b}"
        assert "likelier than the 10 % you accept" in window.description
        assert release.title == f"{name}: little frost risk from today"
        assert release.first == release.last == last + timedelta(days=1)
        assert branasol.placed.outlook.frost[plot].is_open(last)
        assert not branasol.placed.outlook.frost[plot].is_open(release.first)
        released[plot] = release.first
    assert released["fondal"] - released["ladeira"] > timedelta(weeks=3)


def test_a_plan_without_work_in_reach_of_frost_has_no_warning_in_the_feed(
    branasol: SeasonPlan,
) -> None:
    """Tests of the feeds show one where it belongs."""
    kinds = {event.key.split("/")[2] for event in frost_events(branasol)}
    assert {"frost-window", "frost-release"} <= kinds
    assert kinds <= {"frost-window", "frost-release", "hard-night"}


def test_own_dates_tell_no_chance(tmp_path: Path) -> None:
    plan = planned(new_site(tmp_path / "site"))
    events = [e for e in frost_events(plan) if "/frost-" in e.key]
    assert {e.key.split("/")[2] for e in events} >= {"frost-window", "frost-release"}
    for event in events:
        assert "%" not in event.description, event.description
        assert "own dates" in event.description
