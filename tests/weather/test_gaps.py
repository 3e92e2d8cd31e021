"""What missing days do: measured, and kept from making an answer bolder."""

from datetime import date

import numpy as np
import pytest
from numpy.typing import NDArray

from scheduler.frost import FrostClimate, FrostRisk, climate_of
from scheduler.frost.seasons import FREEZE
from scheduler.weather import cold_guess_c
from tests.frost.records import ask, made, milwaukee, with_frosts, without


def _last_days(climate: FrostClimate) -> NDArray[np.float64]:
    """Day numbers of the last freezes of the springs 1981 to 2020."""
    last, _ = climate.frosts(FREEZE)
    rows = np.flatnonzero((climate.start_years >= 1980) & (climate.start_years < 2020))
    days = [climate.cycle.date_of(int(climate.start_years[r]), int(last[r])) for r in rows]
    return np.array([day.toordinal() for day in days], dtype=np.float64)


# Random gaps in the record of Milwaukee, 29 seasons and 20 draws, computed beforehand:
# share missing, days by which the last freeze comes out early, percent of seasons wrong.
@pytest.mark.parametrize(
    ("missing", "early_days", "wrong_pct", "within_days", "within_pct"),
    [
        (0.02, 0.15, 2, 0.12, 1.5),
        (0.05, 0.35, 4, 0.25, 2.5),
        (0.10, 1.0, 11, 0.35, 3.0),
        (0.20, 1.8, 20, 0.45, 4.0),
    ],
)
def test_gaps_bring_last_frosts_as_recorded_out_early(
    missing: float, early_days: float, wrong_pct: float, within_days: float, within_pct: float
) -> None:
    record = milwaukee()
    true = _last_days(climate_of(record))
    rng = np.random.default_rng(20)
    found = np.array(
        [
            _last_days(climate_of(without(record, rng.random(record.tmin_c.size) < missing)))
            for _ in range(20)
        ]
    )
    assert (found <= true).all()  # never late
    assert float((true - found).mean()) == pytest.approx(early_days, abs=within_days)
    assert 100 * float((found != true).mean()) == pytest.approx(wrong_pct, abs=within_pct)


def test_a_missing_night_never_counts_as_free_of_frost() -> None:
    record = milwaukee()
    gone = np.random.default_rng(3).random(record.tmin_c.size) < 0.05
    climate = climate_of(without(record, gone))
    key_to_chance = {}
    for table in ("recorded", "careful"):
        nights = getattr(climate, table)
        later = np.minimum.accumulate(nights[:, ::-1], axis=1)[:, ::-1]
        key_to_chance[table] = (later <= 0).sum(axis=0)
    assert (key_to_chance["careful"] >= key_to_chance["recorded"]).all()


@pytest.mark.parametrize("missing", [0.01, 0.02, 0.05])
def test_more_missing_days_do_not_make_the_answer_bolder(missing: float) -> None:
    record = milwaukee()
    whole, rng = _dates(ask(record)), np.random.default_rng(11)
    draws = np.array(
        [_dates(ask(without(record, rng.random(record.tmin_c.size) < missing))) for _ in range(20)]
    )
    later = draws - whole  # of last frosts later, of first frosts earlier: positive is careful
    assert (later.mean(axis=0) >= -0.1).all()
    # a draw may lose the one night that sets a date, and rarely by more than a day
    assert float((later < -1).mean()) < 0.02
    assert float((later < 0).mean()) < 0.08
    # and a record with one day in twenty missing still tells the same dates
    assert (later.mean(axis=0) < 3).all()


def _dates(risk: FrostRisk) -> NDArray[np.float64]:
    last = [risk.last_frost.p50, risk.last_frost.p10, risk.last_frost.p05]
    first = [risk.first_frost.p50, risk.first_frost.p10]
    slots = [risk.cycle.slot_of_month_day(day) for day in last if day]
    slots += [-risk.cycle.slot_of_month_day(day) for day in first if day]
    return np.array(slots, dtype=np.float64)


def test_a_gap_just_before_the_last_frost_changes_nothing() -> None:
    record = with_frosts(
        [date(year, 4, 20) for year in range(1991, 2001)], date(1990, 8, 1), date(2000, 8, 1)
    )
    day = record.season.day_of(date(1995, 4, 15))
    gone = np.zeros(record.tmin_c.size, dtype=np.bool_)
    gone[day : day + 3] = True
    assert ask(without(record, gone)).last_frost == ask(record).last_frost


def test_seasons_with_more_than_ten_missing_days_are_left_out_by_name() -> None:
    record = made(1990, 12, seed=1)
    for n_gone, left_out in ((10, ()), (11, ("1995",))):
        gone = np.zeros(record.tmin_c.size, dtype=np.bool_)
        day = record.season.day_of(date(1995, 4, 1))
        gone[day : day + n_gone] = True
        climate = climate_of(without(record, gone))
        dates = climate.seasons(0.0)
        assert dates.last.left_out == left_out
        assert dates.first.left_out == ()
        assert ("1995" in dates.last.labels) == (not left_out)
        told = [notice for notice in climate.notices if notice.code == "station-seasons-left-out"]
        assert bool(told) == bool(left_out)
        assert all("1995" in notice.says for notice in told)


def test_a_gap_in_midsummer_leaves_no_season_out() -> None:
    record = made(1990, 12, seed=1)
    gone = np.zeros(record.tmin_c.size, dtype=np.bool_)
    day = record.season.day_of(date(1995, 7, 10))
    gone[day : day + 20] = True
    assert climate_of(without(record, gone)).seasons(0.0).left_out == ()


def test_a_season_under_way_is_not_there_yet_but_not_left_out() -> None:
    record = milwaukee(date(2020, 3, 1))
    dates = climate_of(record).seasons(0.0)
    assert dates.last.labels[-1] == "2019"
    assert dates.first.labels[-1] == "2019"
    assert dates.left_out == ()


def test_a_missing_night_between_cold_ones_is_taken_colder_than_one_between_warm_ones() -> None:
    record = milwaukee()
    climate = climate_of(record)
    slots, _ = climate.cycle.slots_of(record.season)
    cold, warm = (record.season.day_of(day) for day in (date(2014, 4, 16), date(2014, 7, 10)))
    tmin_c = record.tmin_c.copy()
    tmin_c[[cold, warm]] = np.nan
    filled = cold_guess_c(slots, tmin_c)
    assert filled[cold] < 0 < filled[warm]
    known = ~np.isnan(tmin_c)
    assert (filled[known] == record.tmin_c[known]).all()


def test_few_nights_are_colder_than_the_cold_guess() -> None:
    record = milwaukee()
    slots, _ = climate_of(record).cycle.slots_of(record.season)
    gone = np.random.default_rng(8).random(record.tmin_c.size) < 0.1
    filled = cold_guess_c(slots, np.where(gone, np.nan, record.tmin_c))
    colder = float((record.tmin_c[gone] < filled[gone]).mean())
    assert colder == pytest.approx(0.023, abs=0.012)


def test_a_record_without_any_usable_season_says_so_and_leaves_the_window_open() -> None:
    record = milwaukee(date(1980, 9, 1))
    climate = climate_of(record)
    risk = ask(record)
    assert [notice.code for notice in climate.notices] == ["station-no-season"]
    assert risk.basis == "unknown"
    assert risk.open.all()
