"""UTC, Terrestrial Time and the leap seconds between them."""

from datetime import UTC, datetime

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.sky.clock import datetime_of, delta_t_s, tt_of_utc, utc_of_tt


def tt_minus_utc_s(when: datetime) -> float:
    posix_s = np.array([when.timestamp()])
    return float((tt_of_utc(posix_s)[0] * 86400 + 946728000.0) - posix_s[0])


@pytest.mark.parametrize(
    ("when", "published"),
    [
        # TAI - UTC of IERS Bulletin C plus 32.184 s.
        (datetime(1972, 1, 1, tzinfo=UTC), 42.184),
        (datetime(1972, 6, 30, 23, 59, 59, tzinfo=UTC), 42.184),
        (datetime(1972, 7, 1, tzinfo=UTC), 43.184),
        (datetime(2016, 12, 31, 23, 59, 59, tzinfo=UTC), 68.184),
        (datetime(2017, 1, 1, tzinfo=UTC), 69.184),
        (datetime(2053, 9, 30, tzinfo=UTC), 69.184),
    ],
)
def test_leap_seconds(when: datetime, published: float) -> None:
    assert tt_minus_utc_s(when) == pytest.approx(published, abs=1e-5)


@pytest.mark.parametrize(
    ("year", "published"),
    [
        # Delta T of the Astronomical Almanac, page K8 (from memory): -2.7 s in 1900, 29.15 in
        # 1950, 33.15 in 1960, 40.18 in 1970. The early ones have since been revised by
        # some tenths of a second.
        (1900, -2.7),
        (1950, 29.15),
        (1960, 33.15),
        (1970, 40.18),
    ],
)
def test_before_1972_utc_stands_for_universal_time(year: int, published: float) -> None:
    assert tt_minus_utc_s(datetime(year, 1, 1, tzinfo=UTC)) == pytest.approx(published, abs=0.8)


def test_the_two_rules_meet_at_the_begin_of_1972() -> None:
    last = tt_minus_utc_s(datetime(1971, 12, 31, 23, 59, 59, tzinfo=UTC))
    assert last == pytest.approx(42.184, abs=0.1)


def test_delta_t_of_the_iers_in_a_measured_year() -> None:
    # Astronomical Almanac, page K9 (from memory): delta T 63.83 s at 2000.0.
    assert delta_t_s(np.array([0.0]))[0] == pytest.approx(63.83, abs=0.01)


@given(st.floats(-2208988800, 2642889600))
def test_there_and_back_again(posix_s: float) -> None:
    back = utc_of_tt(tt_of_utc(np.array([posix_s])))[0]
    # A float counts days from J2000.0 to 0.6 microseconds here.
    assert abs(back - posix_s) < 2e-6


@pytest.mark.parametrize("late_s", [-70.0, -30.0, -2.0, 0.5, 5.0, 40.0, 68.0, 70.0])
def test_there_and_back_again_around_a_leap_second(late_s: float) -> None:
    leap_s = datetime(2017, 1, 1, tzinfo=UTC).timestamp()
    back = utc_of_tt(tt_of_utc(np.array([leap_s + late_s])))[0]
    assert back == pytest.approx(leap_s + late_s, abs=2e-6)


@given(st.floats(-40000, 20000), st.floats(0.001, 300))
def test_later_is_later(tt_days: float, more: float) -> None:
    earlier, later = utc_of_tt(np.array([tt_days, tt_days + more]))
    assert earlier < later


@pytest.mark.parametrize("posix_s", [-2208988800.5, -0.25, 0.0, 1798761600.123456])
def test_datetimes_on_both_sides_of_1970(posix_s: float) -> None:
    assert datetime_of(posix_s).timestamp() == posix_s
