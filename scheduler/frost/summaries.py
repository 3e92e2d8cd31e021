"""Tables of a frost climate: severity, frost nights, length of the frost-free season."""

from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from scheduler.frost.seasons import MAX_MISSING_DAYS, FrostClimate, SeasonDates, hundredths
from scheduler.terms import N_SLOTS, frozen
from scheduler.weather import quantile

_YEAR_DAYS = 365
_MID_MONTH = 15
_MAX_MISSING_OF_HALF_MONTH = 2  # of 14 to 16 days


@dataclass(frozen=True, slots=True)
class FreeSeason:
    """Length of the frost-free season, last frost to first frost, in days.

    Args:
        p50: at least so long in half of the seasons; 365 where there is no frost.
        p90: at least so long in nine of ten.
        shortest: of the period.
    """

    p50: float
    p90: float
    shortest: float


@dataclass(frozen=True, slots=True)
class HalfMonth:
    """How cold the coldest night of a half-month gets at the station, degrees C.

    Args:
        month: 1 to 12.
        half: 1 is the 1st to the 15th, 2 the rest.
        p50_c: the coldest night is colder than this in half of the years.
        p10_c: in one year of ten.
        lowest_c: of the period.
        lowest_on: its day.
        n_years: years with at most 2 missing days in it.
    """

    month: int
    half: int
    p50_c: float
    p10_c: float
    lowest_c: float
    lowest_on: date
    n_years: int


def free_season(dates: SeasonDates) -> FreeSeason | None:
    """Length of the frost-free season.

    Days from the last to the first frost of the same growing season; NCEI's level P90 is
    likewise the length reached in 90 % of years. (USDA-NRCS takes the difference of the
    two dates at a chance instead, which is shorter at high levels.)

    Args:
        dates: last and first frosts.

    Returns:
        The lengths; None without a season that is known on both sides.
    """
    days = season_lengths(dates)
    if not days.size:
        return None
    return FreeSeason(quantile(days, 0.5), quantile(days, 0.1), float(days.min()))


def season_lengths(dates: SeasonDates) -> NDArray[np.float64]:
    """(n,) days from last to first frost of each season known on both sides; 365 at most."""
    last_by_label = dict(zip(dates.last.labels, dates.last.dates, strict=True))
    pairs = [
        (last_by_label[label], first)
        for label, first in zip(dates.first.labels, dates.first.dates, strict=True)
        if label in last_by_label
    ]
    lengths = [
        float(_YEAR_DAYS)
        if last is None or first is None
        else min((first - last).days, _YEAR_DAYS)
        for last, first in pairs
    ]
    return frozen(np.array(lengths, dtype=np.float64))


def frost_nights(climate: FrostClimate, threshold_c: float) -> tuple[tuple[str, int], ...]:
    """Nights at or below a threshold in each cold season with at most 10 missing days.

    Args:
        climate: the table of seasons.
        threshold_c: degrees C at the station.

    Returns:
        Year in which the cold season begins, as text, and the number of nights, for the
        latest seasons of the period.
    """
    n_missing = climate.n_missing_before[:, -1]
    rows = np.flatnonzero(n_missing <= MAX_MISSING_DAYS)[-climate.period_seasons :]
    counts = (climate.recorded[rows] <= hundredths(threshold_c)).sum(axis=1)
    years = climate.start_years[rows]
    return tuple((str(year), n) for year, n in zip(years.tolist(), counts.tolist(), strict=True))


def severity(climate: FrostClimate) -> tuple[HalfMonth, ...]:
    """The coldest night of each half-month, from the first half of January on.

    Args:
        climate: the table of seasons.

    Returns:
        Up to 24 half-months; one without any usable year is left out.
    """
    halves = ((month, half) for month in range(1, 13) for half in (1, 2))
    return tuple(row for row in (_half_month(climate, *where) for where in halves) if row)


def _half_month(climate: FrostClimate, month: int, half: int) -> HalfMonth | None:
    columns = _columns(climate, month, half)
    nights = climate.recorded[:, columns]
    n_missing = climate.missing[:, columns].sum(axis=1)
    rows = np.flatnonzero(n_missing <= _MAX_MISSING_OF_HALF_MONTH)[-climate.period_seasons :]
    if not rows.size:
        return None
    coldest_c = nights[rows].min(axis=1) / 100
    row, column = np.unravel_index(np.argmin(nights[rows]), nights[rows].shape)
    slot = int(columns[column])
    return HalfMonth(
        month,
        half,
        round(quantile(coldest_c, 0.5), 2),
        round(quantile(coldest_c, 0.1), 2),
        float(coldest_c.min()),
        climate.cycle.date_of(int(climate.start_years[rows[row]]), slot),
        int(rows.size),
    )


def _columns(climate: FrostClimate, month: int, half: int) -> NDArray[np.intp]:
    days = [climate.cycle.month_day(slot) for slot in range(N_SLOTS)]
    inside = [
        slot
        for slot, day in enumerate(days)
        if int(day[:2]) == month and (int(day[3:]) <= _MID_MONTH) == (half == 1)
    ]
    return np.array(inside, dtype=np.intp)
