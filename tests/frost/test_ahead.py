"""What is known of the days ahead, laid over the climate of a plot."""

from datetime import date, timedelta

import numpy as np
import pytest

from scheduler.frost import FrostRisk, climate_of
from scheduler.frost.forecast import ahead_of, lead_errors
from scheduler.frost.risk import risk_of
from scheduler.holding.frost_data import package_frost_data
from scheduler.terms import Season
from scheduler.weather import ForecastNight, Record
from tests.frost.records import come_by, made

CLIMATE = climate_of(made(1990, 25, seed=4))
SEASON = Season(date(2027, 1, 1), 500)
ERRORS = lead_errors((), None, date(2027, 1, 1), package_frost_data())


def _risk(**changes: object) -> FrostRisk:
    told: dict[str, object] = {
        "threshold_c": 0.0,
        "offset_c": 0.0,
        "tolerance": 0.1,
        "season": SEASON,
        "southern": False,
    }
    return risk_of(CLIMATE, **(told | changes))  # type: ignore[arg-type]  # keywords by name


def _own_dates() -> FrostRisk:
    return risk_of(
        None,
        threshold_c=0.0,
        offset_c=0.0,
        tolerance=0.1,
        season=SEASON,
        southern=False,
        own_last="05-10",
        own_first="10-05",
    )


def _joined(risk: FrostRisk, as_of: date, minima_c: tuple[float, ...]) -> FrostRisk:
    nights = tuple(
        ForecastNight(issued=as_of, date=as_of + timedelta(days=n), tmin_c=low_c)
        for n, low_c in enumerate(minima_c, start=1)
    )
    return ahead_of(risk, as_of, forecast=nights, errors=ERRORS).joined


def _closed_day(risk: FrostRisk) -> date:
    """A week after the window closes in spring."""
    return SEASON.date_of(int(np.flatnonzero(~risk.open)[0]) + 7)


def test_a_cold_forecast_opens_a_closed_window_up_to_its_night() -> None:
    risk = _risk()
    day = _closed_day(risk)
    joined = _joined(risk, day, (8.0, -3.0, 8.0))
    cold = day + timedelta(days=2)
    assert not risk.is_open(day)
    assert joined.is_open(day)
    assert joined.closes_after(day) == cold
    at = SEASON.day_of(day)
    assert joined.open[at : at + 3].all()
    assert not joined.open[at + 3]


def test_days_before_the_outlook_and_far_ahead_are_those_of_the_climate() -> None:
    risk = _risk()
    day = _closed_day(risk)
    joined = _joined(risk, day, (-3.0,))
    at = SEASON.day_of(day)
    assert (joined.open[:at] == risk.open[:at]).all()
    assert (joined.open[at + 2 :] == risk.open[at + 2 :]).all()
    assert joined.chance_on_or_after[: at - 1] == pytest.approx(risk.chance_on_or_after[: at - 1])


def test_work_of_today_meets_tonights_frost() -> None:
    """The minimum of tonight belongs to tomorrow's morning."""
    risk = _risk()
    day = _closed_day(risk)
    joined = _joined(risk, day, (-5.0,))
    assert joined.chance_after(day) == joined.chance_after(day + timedelta(days=1))
    assert joined.chance_after(day) > 0.9


def test_after_the_forecast_the_weeks_of_new_growth_are_those_of_the_climate() -> None:
    """The chance of the weeks joins the nights forecast and the climate of those after them."""
    risk = _risk()
    day = _closed_day(risk)
    joined = _joined(risk, day, (9.0, 9.0))
    at = SEASON.day_of(day)
    after = day + timedelta(days=3)
    rest = risk.chance_within(56 - 3)[SEASON.day_of(after)]
    warm = 1 - (1 - joined.ahead.nights[1]) * (1 - joined.ahead.nights[2])  # type: ignore[union-attr]  # it is joined
    assert joined.chance_within(56)[at] == pytest.approx(1 - (1 - warm) * (1 - rest))


def test_a_cold_forecast_reaches_the_new_growth_of_todays_cut() -> None:
    risk = _risk()
    day = _closed_day(risk)
    joined = _joined(risk, day, (9.0, 9.0, -4.0))
    at = SEASON.day_of(day)
    assert not risk.open_within(14)[at]
    assert joined.open_within(14)[at]
    assert joined.chance_within(3)[at] < 0.1  # the cold night is the fourth of the run
    assert joined.chance_within(4)[at] > 0.9


def test_own_dates_join_a_forecast_too() -> None:
    risk = _own_dates()
    day = date(2027, 6, 1)
    joined = _joined(risk, day, (-4.0,))
    assert not risk.is_open(day)
    assert joined.is_open(day)
    assert joined.closes_after(day) == date(2027, 6, 2)
    assert joined.open_within(10)[SEASON.day_of(day)]


def test_where_frost_never_comes_a_forecast_alone_opens_the_window_and_the_search_ends() -> None:
    risk = _risk(offset_c=30.0)
    assert not risk.ever_open
    assert risk.opens_on(date(2027, 2, 1)) is None
    joined = _joined(risk, date(2027, 2, 1), (-40.0,))
    assert joined.ever_open
    assert joined.opens_on(date(2027, 1, 20)) == date(2027, 2, 1)
    assert joined.opens_on(date(2027, 3, 1)) is None


def test_a_frost_of_the_forecast_closes_the_days_before_it_in_autumn_too() -> None:
    """Work of today meets every night that is still to come (frost.md, section 4)."""
    risk = _risk()
    day = date(2027, 9, 15)
    assert not risk.is_open(day)
    joined = _joined(risk, day, (9.0, 9.0, -6.0))
    assert joined.is_open(day)
    assert joined.is_open(day + timedelta(days=2))
    assert joined.is_open(day + timedelta(days=3))
    assert not joined.is_open(day - timedelta(days=1))


def test_a_frost_beyond_the_warmest_day_counts() -> None:
    risk = _risk()
    split = CLIMATE.cycle.date_of(2027, 0)
    day = split - timedelta(days=3)
    joined = _joined(risk, day, (9.0, 9.0, -9.0, -9.0, -9.0))
    assert joined.is_open(day)
    assert joined.chance_after(day) > 0.9


def test_many_nights_of_a_small_chance_add_up_by_own_dates_too() -> None:
    """Seven nights of about 9 %: together about one in two."""
    risk = _own_dates()
    day = date(2027, 6, 1)
    small = tuple(1.34 * error.error_c for error in ERRORS)
    joined = _joined(risk, day, small)
    assert all(chance < 0.1 for chance in joined.ahead.nights)  # type: ignore[union-attr]  # it is joined
    assert joined.is_open(day)


def test_nights_that_nobody_read_keep_the_chance_they_always_had() -> None:
    """More missing days never make the answer bolder."""
    record = made(1990, 25, seed=4)
    as_of = date(2014, 11, 1)
    n_days = record.season.day_of(as_of) + 1
    values = record.tmin_c[:n_days].copy()
    autumn = record.season.day_of(date(2014, 10, 1))
    values[autumn:] = 8.0  # a warm month
    risk = _risk()
    whole = Record("whole", Season(record.season.first, n_days), values)
    gappy = Record("gappy", whole.season, np.where(np.arange(n_days) >= autumn, np.nan, values))
    gappy.tmin_c[-1] = 8.0
    chances = [come_by(ahead_of(risk, as_of, observed=one), one)[20] for one in (whole, gappy)]
    assert chances[1] > chances[0] + 0.01
    late = Record("late", Season(as_of, 1), np.array([8.0]))
    from_last_day = come_by(ahead_of(risk, as_of, observed=late), late)[20]
    assert from_last_day >= chances[1] - 1e-9


def test_own_dates_and_a_record_with_gaps_still_see_the_frost_that_came() -> None:
    """Without a climate nothing can be said of the nights that nobody read."""
    season = Season.between(date(2026, 7, 24), date(2026, 11, 1))
    values = np.full(season.n_days, 8.0)
    values[-20:-10] = np.nan
    mild = ahead_of(_own_dates(), season.last, observed=Record("mild", season, values))
    cold = values.copy()
    cold[-1] = -6.0
    frosty = ahead_of(_own_dates(), season.last, observed=Record("cold", season, cold))
    assert (mild.frost_seen, frosty.frost_seen) == (False, True)
