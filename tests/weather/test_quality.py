"""What looks wrong in a record is told, with dates and a count."""

from datetime import date

import numpy as np
import pytest

from scheduler.frost import climate_of
from scheduler.terms import Level
from scheduler.weather import Record, quality_notices
from tests.frost.records import made, milwaukee, seattle, without


def _with(values: dict[date, float]) -> Record:
    record = made(1990, 3, noise_c=2.0)
    tmin_c = record.tmin_c.copy()
    for day, value in values.items():
        tmin_c[record.season.day_of(day)] = value
    return Record("made", record.season, tmin_c)


def _codes(record: Record) -> list[str]:
    return [notice.code for notice in quality_notices(record)]


def test_good_records_are_not_faulted() -> None:
    assert _codes(milwaukee()) == []
    assert _codes(seattle()) == []
    assert _codes(made(1990, 20)) == []


@pytest.mark.parametrize(("n_days", "told"), [(6, False), (7, True)])
def test_a_sensor_that_stands_still_is_told(n_days: int, *, told: bool) -> None:
    record = _with({date(1991, 3, day): 2.5 for day in range(10, 10 + n_days)})
    notices = tuple(quality_notices(record))
    assert bool(notices) == told
    if told:
        assert notices[0].code == "station-stuck"
        assert notices[0].level is Level.WARNING
        assert "once: 1991-03-10 to 1991-03-16" in notices[0].says


def test_several_runs_are_counted() -> None:
    values = {date(1991, month, day): 2.5 for month in (3, 5) for day in range(10, 18)}
    (notice,) = quality_notices(_with(values))
    assert "2 times" in notice.says


def test_a_spike_is_told_with_its_day() -> None:
    base = {date(1991, 6, day): 10.0 + day % 2 for day in range(10, 16)}
    assert _codes(_with(base)) == []
    notices = tuple(quality_notices(_with({**base, date(1991, 6, 12): -6.0})))
    assert [notice.code for notice in notices] == ["station-jump"]
    assert "1991-06-12" in notices[0].says


def test_a_step_larger_than_weather_makes_is_told() -> None:
    values = {date(1991, 6, day): 12.0 + day % 2 for day in range(1, 12)}
    values |= {date(1991, 6, day): -14.0 - day % 2 for day in range(12, 25)}
    assert "station-jump" in _codes(_with(values))


def test_gaps_are_counted_and_long_ones_named() -> None:
    record = made(1990, 3)
    gone = np.zeros(record.tmin_c.size, dtype=np.bool_)
    gone[100:102] = True
    notices = tuple(quality_notices(without(record, gone)))
    assert [(notice.code, notice.level) for notice in notices] == [("station-gaps", Level.NOTE)]
    assert "2 days of 1096 are missing, in 1 gaps" in notices[0].says
    gone[400:420] = True
    (notice,) = quality_notices(without(record, gone))
    assert notice.level is Level.WARNING
    assert "22 days" in notice.says
    assert "1991-02-05 to 1991-02-24" in notice.says


def test_the_climate_carries_the_notices_of_the_record() -> None:
    record = made(1990, 3)
    gone = np.zeros(record.tmin_c.size, dtype=np.bool_)
    gone[100:102] = True
    codes = [notice.code for notice in climate_of(without(record, gone)).notices]
    assert codes == ["station-gaps", "station-few-seasons"]
