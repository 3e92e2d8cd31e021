"""Frost as events: what a phone shows of windows, warnings and hard nights."""

from datetime import date, timedelta

from scheduler.publish.frost_events import frost_events
from scheduler.season import SeasonPlan
from scheduler.sky import sky_of
from scheduler.terms import Season


def test_the_evening_before_a_hard_night_is_a_time_in_the_last_light(
    branasol: SeasonPlan,
) -> None:
    """Two hours before sunset: common practice, no source. The night lies before the plan."""
    events = [event for event in frost_events(branasol) if "cover" in event.title]
    assert [event.first for event in events] == [date(2026, 11, 27), date(2026, 11, 28)]
    for event in events:
        (sunset,) = sky_of(branasol.holding.site.place, Season(event.first, 1)).sunset[0]
        assert event.times == (sunset - timedelta(hours=2), sunset)
        assert "mandarin" in event.title
        assert "promises nothing" in event.description


def test_a_window_that_closes_has_its_release_day(branasol: SeasonPlan) -> None:
    titles = {event.title: event.first for event in frost_events(branasol)}
    hollow, slope = "O Fondal: frost window closes", "A Ladeira: frost window closes"
    assert titles[hollow] - titles[slope] > timedelta(weeks=3)
