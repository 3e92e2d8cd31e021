"""Forecast and climate together, against worked values and what must hold."""

from collections.abc import Sequence
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.frost import FrostRisk, night_chance
from scheduler.frost.forecast import FrostOutlook, ahead_of, lead_errors, none_from
from scheduler.frost.risk import Ahead, risk_of
from scheduler.holding.frost_data import package_frost_data
from scheduler.terms import Season
from scheduler.weather import ForecastNight, Record
from tests.frost.records import YEAR, ask, come_by, milwaukee

ERRORS = lead_errors((), None, date(2027, 1, 1), package_frost_data())
# Worked: threshold 0, forecast minima and the default errors of nights 1 to 7.
MINIMA = (3.0, 2.0, 1.0, 2.5, 4.0, 5.0, 5.0)
CHANCES = (0.013, 0.091, 0.278, 0.094, 0.035, 0.023, 0.037)


def _forecast(as_of: date, minima: tuple[float, ...]) -> tuple[ForecastNight, ...]:
    return tuple(
        ForecastNight(issued=as_of, date=as_of + timedelta(days=n), tmin_c=tmin_c)
        for n, tmin_c in enumerate(minima, start=1)
    )


def _outlook(
    as_of: date,
    minima: tuple[float, ...] = (),
    *,
    risk: FrostRisk | None = None,
    observed: Record | None = None,
) -> FrostOutlook:
    return ahead_of(
        risk or ask(milwaukee()),
        as_of,
        forecast=_forecast(as_of, minima),
        errors=ERRORS,
        observed=observed,
    )


def _seen(as_of: date, *, coldest_c: float) -> Record:
    """A record from 1 July to today, at 8 degrees but for one night on 20 September."""
    year = as_of.year if as_of.month >= 7 else as_of.year - 1
    season = Season.between(date(year, 7, 1), as_of)
    tmin_c = np.full(season.n_days, 8.0)
    if date(year, 9, 20) in season:
        tmin_c[season.day_of(date(year, 9, 20))] = coldest_c
    return Record("seen", season, tmin_c)


def _ahead(outlook: FrostOutlook) -> Ahead:
    """From today on, whose own entry is that of tomorrow's morning."""
    assert outlook.joined.ahead is not None
    return outlook.joined.ahead


def _closes(outlook: FrostOutlook) -> date | None:
    return outlook.joined.closes_after(_ahead(outlook).season.first)


def _any_night(chances: Sequence[float]) -> float:
    return 1 - float(none_from(np.array(chances))[0])


def _come_by(risk: FrostRisk, day: date) -> float:
    """Chance by climate that the first frost since the warmest day has come by a day."""
    return float(risk.before_by_slot[risk.cycle.slot_of(day)])


def test_the_nights_have_the_worked_chances() -> None:
    outlook = _outlook(date(2027, 4, 20), MINIMA)
    chances = [night.chance for night in outlook.nights]
    assert chances == pytest.approx(CHANCES, abs=0.0006)
    assert _any_night(chances) == pytest.approx(0.467, abs=0.0005)


def test_forecast_and_climate_join_to_the_worked_chance() -> None:
    # worked: 0.467 in the seven nights, 5 of 30 seasons after them: 0.556
    nights = [night_chance(0, f, e.error_c) for f, e in zip(MINIMA, ERRORS, strict=True)]
    assert 1 - (1 - _any_night(nights)) * (1 - 5 / 30) == pytest.approx(0.556, abs=0.0005)
    # the same from the record, where climate says (k + 0.5) / 31
    as_of = date(2027, 4, 23)
    outlook = _outlook(as_of, MINIMA)
    later = float(ask(milwaukee()).chance_on_or_after[YEAR.day_of(date(2027, 5, 1))])
    assert later == 5.5 / 31
    assert float(_ahead(outlook).on_or_after[0]) == pytest.approx(
        1 - (1 - _any_night(nights)) * (1 - later)
    )


def test_without_a_forecast_the_outlook_is_the_climate() -> None:
    risk = ask(milwaukee())
    outlook = _outlook(date(2027, 3, 1), risk=risk)
    assert outlook.nights == ()
    for at in (1, 31, 81):
        day = _ahead(outlook).season.date_of(at)
        here = YEAR.day_of(day)
        assert _ahead(outlook).on_or_after[at] == risk.chance_on_or_after[here]
        assert come_by(outlook)[at - 1] == pytest.approx(_come_by(risk, day))
        assert _ahead(outlook).open[at] == risk.open[here]
    assert _closes(outlook) == risk.closes_after(date(2027, 3, 2)) == date(2027, 5, 9)


def test_a_warm_forecast_brings_the_closing_forward_only_as_far_as_it_reaches() -> None:
    as_of = date(2027, 5, 6)
    climate, warm = _outlook(as_of), _outlook(as_of, (12.0,) * 7)
    assert _ahead(climate).open[0]
    assert _ahead(warm).on_or_after[0] == pytest.approx(_ahead(climate).on_or_after[8], abs=0.001)
    assert not _ahead(warm).open[0]
    assert _closes(warm) is None
    # in March the same forecast changes nothing of the closing
    march = date(2027, 3, 1)
    assert _closes(_outlook(march, (12.0,) * 7)) == _closes(_outlook(march)) is not None


def test_a_cold_night_in_the_forecast_keeps_a_closed_window_open_until_it_has_passed() -> None:
    as_of = date(2027, 5, 20)
    assert not _ahead(_outlook(as_of)).open[0]
    outlook = _outlook(as_of, (6.0, 5.0, -2.0, 7.0, 9.0))
    assert _ahead(outlook).open[0]
    assert _closes(outlook) == date(2027, 5, 23)
    (night,) = [night for night in outlook.nights if night.chance > 0.5]
    assert (night.day, night.evening) == (date(2027, 5, 23), date(2027, 5, 22))


def test_the_offset_and_its_spread_go_into_every_night() -> None:
    risk = ask(milwaukee(), offset_c=-2.0, spread_c=1.0)
    (night,) = _outlook(date(2027, 4, 20), (1.0,), risk=risk).nights
    assert night.plot_c == -1.0
    assert night.error_c == pytest.approx(np.hypot(1.35, 1.0), abs=0.005)
    assert night.chance == pytest.approx(night_chance(0, -1.0, np.hypot(1.35, 1.0)))


def test_nights_beyond_the_known_errors_are_not_used() -> None:
    assert len(_outlook(date(2027, 4, 20), (3.0,) * 10).nights) == 7


def test_in_autumn_a_frost_that_has_come_opens_the_window() -> None:
    as_of = date(2027, 9, 25)
    none = _outlook(as_of, observed=_seen(as_of, coldest_c=3.0))
    come = _outlook(as_of, observed=_seen(as_of, coldest_c=-0.5))
    assert (none.frost_seen, come.frost_seen) == (False, True)
    assert not _ahead(none).open[0]
    assert _ahead(come).open[0]
    assert come_by(come, _seen(as_of, coldest_c=-0.5))[0] == 1.0
    assert come.seen_until == as_of


def test_in_autumn_a_frost_that_has_not_come_makes_the_first_later() -> None:
    as_of = date(2027, 10, 15)
    climate = _outlook(as_of)
    seen = _seen(as_of, coldest_c=3.0)
    before, given = come_by(climate), come_by(_outlook(as_of, observed=seen), seen)
    assert given[0] < before[0]
    assert given[0] > 0  # tonight may be the night
    # conditioning: P(by d | none by today) = (F(d) - F(today)) / (1 - F(today))
    today = _come_by(ask(milwaukee()), as_of)
    at = 20
    assert given[at] == pytest.approx((before[at] - today) / (1 - today))


def test_a_record_that_ends_earlier_counts_as_far_as_it_goes() -> None:
    as_of = date(2027, 10, 15)
    seen = _seen(date(2027, 9, 30), coldest_c=3.0)
    outlook = _outlook(as_of, observed=seen)
    risk = ask(milwaukee())
    known = _come_by(risk, date(2027, 9, 30))
    at = 10
    by_then = _come_by(risk, as_of + timedelta(days=1 + at))
    assert outlook.seen_until == date(2027, 9, 30)
    assert come_by(outlook, seen)[at] == pytest.approx((by_then - known) / (1 - known))


def test_a_record_of_another_season_says_nothing() -> None:
    outlook = _outlook(date(2027, 10, 15), observed=_seen(date(2026, 12, 1), coldest_c=-3.0))
    assert outlook.frost_seen is None
    assert outlook.seen_until is None


def test_in_autumn_the_forecast_stands_in_for_the_climate_of_its_nights() -> None:
    as_of = date(2027, 10, 10)
    seen = _seen(as_of, coldest_c=3.0)
    warm = _outlook(as_of, (15.0,) * 7, observed=seen)
    cold = _outlook(as_of, (15.0, 15.0, -5.0), observed=seen)
    assert come_by(warm, seen)[6] < 0.001
    assert come_by(warm, seen)[20] < come_by(_outlook(as_of, observed=seen), seen)[20]
    assert come_by(cold, seen)[1] < 0.001
    assert come_by(cold, seen)[2] > 0.99
    assert _ahead(cold).open[0]  # work of tomorrow, the 11th, meets the frost of the 13th


def test_a_season_seen_with_a_spread_has_its_chance_of_a_frost() -> None:
    as_of = date(2027, 9, 25)
    risk = ask(milwaukee(), spread_c=1.5)
    seen = _seen(as_of, coldest_c=1.0)
    assert 0.2 < come_by(_outlook(as_of, risk=risk, observed=seen), seen)[0] < 0.4


def test_midsummer_splits_the_forecast_between_two_seasons() -> None:
    risk = ask(milwaukee())
    as_of = date(2027, 7, 22)
    outlook = _outlook(as_of, (10.0,) * 7, risk=risk)
    assert risk.cycle.slot_of(date(2027, 7, 25)) == 0  # two nights before the split
    assert _ahead(outlook).on_or_after[0] < 0.01
    assert not _ahead(outlook).open[0]
    ahead = _ahead(outlook)
    assert ahead.season.date_of(int(np.argmax(ahead.open))) == date(2027, 10, 5)


def test_own_dates_stay_open_up_to_a_damaging_night() -> None:
    risk = risk_of(
        None,
        threshold_c=0.0,
        offset_c=0.0,
        tolerance=0.1,
        season=YEAR,
        southern=False,
        own_last="05-10",
        own_first="10-05",
    )
    as_of = date(2027, 5, 15)
    assert not _ahead(_outlook(as_of, (6.0,) * 3, risk=risk)).open[0]
    outlook = _outlook(as_of, (6.0, -1.0, 6.0), risk=risk)
    assert _ahead(outlook).open[0]
    assert _closes(outlook) == date(2027, 5, 17)
    assert np.isnan(_ahead(outlook).on_or_after[10])


@settings(max_examples=40, deadline=None)
@given(
    st.dates(date(2027, 1, 1), date(2027, 12, 31)),
    st.lists(st.floats(-10, 15), min_size=0, max_size=7),
    st.floats(0, 5),
)
def test_a_colder_forecast_never_closes_earlier(
    as_of: date, minima: list[float], colder_c: float
) -> None:
    risk = ask(milwaukee())
    warm = _outlook(as_of, tuple(minima), risk=risk)
    cold = _outlook(as_of, tuple(m - colder_c for m in minima), risk=risk)
    for one in (warm, cold):
        for chances in (_ahead(one).on_or_after, come_by(one)):
            assert ((chances >= 0) & (chances <= 1)).all()
        years = risk.cycle.slots_of(_ahead(one).season)[1]
        left = int((years == years[0]).sum())  # up to the next warmest day
        assert (np.diff(_ahead(one).on_or_after[:left]) <= 1e-12).all()
        assert (np.diff(come_by(one)[: left - 1]) >= -1e-12).all()
    assert (_ahead(cold).on_or_after >= _ahead(warm).on_or_after - 1e-12).all()
    assert (come_by(cold) >= come_by(warm) - 1e-12).all()
    assert (_ahead(cold).open >= _ahead(warm).open).all()
