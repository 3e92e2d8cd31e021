"""All that a station record tells of frost at one threshold, and how far that was true.

Whether stated chances were true is told by a record split in time: told before, looked at after.
"""

from dataclasses import dataclass
from datetime import date
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from scheduler.frost.chance_curves import NO_DATES, FrostDates, answer_of, smoothed_chance
from scheduler.frost.seasons import (
    FEW_SEASONS,
    MAX_MISSING_DAYS,
    FrostClimate,
    SeasonDates,
    climate_of,
    hundredths,
)
from scheduler.terms import N_SLOTS
from scheduler.weather import Record

# 36, 32, 28 and 24 degrees F: the light frost, freeze and hard freeze of the United States
# weather service, and what is colder still.
USUAL_THRESHOLDS_C = (2.2, 0.0, -2.2, -4.4)
_YEAR_DAYS = 365
_MID_MONTH = 15
_MAX_MISSING_OF_HALF_MONTH = 2  # of 14 to 16 days
Side = Literal["last", "first"]
SIDES: tuple[Side, ...] = ("last", "first")
N_BINS = 5
KNOWS_NOTHING = 0.5  # the forecast of one who has no record
_MIN_TRAINING = 5
_TESTED_SHARE = 3  # a third of the seasons is kept out to test the rest on
_STEP_DAYS = 5


@dataclass(frozen=True, slots=True)
class Bin:
    """Forecasts of like chance: their mean, the share that came true, and the season-days."""

    stated: float
    observed: float
    n_cases: int


@dataclass(frozen=True, slots=True)
class Calibration:
    """How chances stated from earlier seasons did in later ones."""

    # last frosts (chance of another on or after a day) or first frosts (chance that it has come)
    side: Side
    brier: float  # mean squared error of the chances, 0 is perfect (Brier 1950)
    brier_even: float  # of stating an even chance always: what knowing nothing gives
    brier_previous: float  # of repeating what the season before did
    bins: tuple[Bin, ...]  # reliability, by stated chance from low to high
    n_trained: int  # seasons the chances come from
    # later seasons; the days of one are not independent, so this is the size of the test
    n_tested: int
    seasons: tuple[str, str]  # names of the first and last of them


def calibration_of(
    climate: FrostClimate, threshold_c: float, side: Side, n_tested: int | None = None
) -> Calibration | None:
    """Test the chances on seasons they do not come from.

    Every fifth day between the earliest and the latest frost of the training seasons is
    asked about in every tested season; days on which all is certain would only flatter.

    The climate has a ``period_seasons`` of all its seasons; ``n_tested`` of the latest, else a
    third, are kept out of the training. None where fewer than 5 are left to train on.
    """
    dates = climate.seasons(threshold_c)
    frosts = dates.last if side == "last" else dates.first
    if n_tested is None:
        n_tested = len(frosts.labels) // _TESTED_SHARE
    n_training = len(frosts.labels) - n_tested
    if n_training < _MIN_TRAINING or n_tested < 1:
        return None
    after, before = climate.careful_coldest
    table = after if side == "last" else before
    seen = frosts.slot[:n_training][np.isfinite(frosts.slot[:n_training])]
    first, last = (int(seen.min()), int(seen.max())) if seen.size else (0, 0)
    days = np.arange(first, last + 1, _STEP_DAYS)
    came = (table[frosts.rows] <= hundredths(threshold_c))[:, days]
    outcome = came[n_training:].astype(np.float64)
    trained = came[:n_training].sum(axis=0, dtype=np.float64)
    stated = np.tile(smoothed_chance(trained, n_training), (n_tested, 1))
    previous = came[n_training - 1 : -1].astype(np.float64)
    return Calibration(
        side,
        _brier(stated, outcome),
        _brier(np.full_like(stated, KNOWS_NOTHING), outcome),
        _brier(previous, outcome),
        _bins(stated.ravel(), outcome.ravel()),
        n_training,
        n_tested,
        (frosts.labels[n_training], frosts.labels[-1]),
    )


def _brier(stated: NDArray[np.float64], outcome: NDArray[np.float64]) -> float:
    return float(((stated - outcome) ** 2).mean())


def _bins(stated: NDArray[np.float64], outcome: NDArray[np.float64]) -> tuple[Bin, ...]:
    number = np.minimum((stated * N_BINS).astype(int), N_BINS - 1)
    members = (number == bin_ for bin_ in np.unique(number))
    return tuple(
        Bin(float(stated[of_bin].mean()), float(outcome[of_bin].mean()), int(of_bin.sum()))
        for of_bin in members
    )


@dataclass(frozen=True, slots=True)
class FreeSeason:
    """Length of the frost-free season, last frost to first frost, in days."""

    p50_days: float  # at least so long in half of the seasons; 365 where there is no frost
    p90_days: float  # at least so long in nine of ten
    shortest_days: float  # of the period


@dataclass(frozen=True, slots=True)
class HalfMonth:
    """How cold the coldest night of a half-month gets at the station, degrees C."""

    month: int  # 1 to 12; its half 1 is the 1st to the 15th, 2 the rest
    half: int
    p50_c: float  # the coldest night is colder than this in half of the years
    p10_c: float  # in one year of ten
    lowest_c: float  # of the period, on the day ``lowest_on``
    lowest_on: date
    n_years: int  # years with at most 2 missing days in it


def quantile(values: NDArray[np.float64], share: float) -> float:
    """The value that a share of them do not exceed: Hazen's under 15 values, else linear.

    Types 5 and 7 of Hyndman and Fan (1996, The American Statistician 50:361). The linear
    quantile is biased to the unsafe side by 2 days at 10 seasons and 3.4 at 5; with 30 it
    agrees best with published normals (measured on 88 seasons of Milwaukee and on NCEI
    normals of three stations). Plans read their dates off the chance curve instead.
    """
    method: Literal["hazen", "linear"] = "hazen" if values.size < FEW_SEASONS else "linear"
    return round(float(np.quantile(values, share, method=method)), 9)


def free_season(dates: SeasonDates) -> FreeSeason | None:
    """Length of the frost-free season; None without a season that is known on both sides.

    Days from the last to the first frost of the same growing season; NCEI's level P90 is
    likewise the length reached in 90 % of years. (USDA-NRCS takes the difference of the
    two dates at a chance instead, which is shorter at high levels.)
    """
    last_by_label, first_by_label = dates.last.by_label, dates.first.by_label
    days = []
    for label in first_by_label.keys() & last_by_label.keys():
        last, first = last_by_label[label], first_by_label[label]
        if last is None or first is None:
            days.append(_YEAR_DAYS)
        else:
            days.append(min((first - last).days, _YEAR_DAYS))
    if not days:
        return None
    lengths = np.array(days, dtype=np.float64)
    return FreeSeason(quantile(lengths, 0.5), quantile(lengths, 0.1), float(lengths.min()))


def frost_nights(climate: FrostClimate, threshold_c: float) -> tuple[tuple[str, int], ...]:
    """Nights at or below a threshold in each cold season with at most 10 missing days.

    Each of the latest seasons of the period, by the year in which it begins, as text.
    """
    rows = np.flatnonzero(climate.n_missing <= MAX_MISSING_DAYS)[-climate.period_seasons :]
    counts = (climate.recorded[rows] <= hundredths(threshold_c)).sum(axis=1)
    years = climate.start_years[rows]
    return tuple((str(year), n) for year, n in zip(years.tolist(), counts.tolist(), strict=True))


def severity(climate: FrostClimate) -> tuple[HalfMonth, ...]:
    """The coldest night of each half-month, from the first half of January on.

    Up to 24; a half-month without any usable year is left out.
    """
    slots: dict[tuple[int, int], list[int]] = {}
    for slot in range(N_SLOTS):
        month, day = map(int, climate.cycle.month_day(slot).split("-"))
        slots.setdefault((month, 1 if day <= _MID_MONTH else 2), []).append(slot)
    halves = (_half_month(climate, *half, slots[half]) for half in sorted(slots))
    return tuple(half for half in halves if half)


def _half_month(
    climate: FrostClimate, month: int, half: int, slots: list[int]
) -> HalfMonth | None:
    n_missing = climate.missing[:, slots].sum(axis=1)
    rows = np.flatnonzero(n_missing <= _MAX_MISSING_OF_HALF_MONTH)[-climate.period_seasons :]
    if not rows.size:
        return None
    nights = climate.recorded[rows][:, slots]
    coldest_c = nights.min(axis=1) / 100
    row, column = np.unravel_index(np.argmin(nights), nights.shape)
    return HalfMonth(
        month,
        half,
        round(quantile(coldest_c, 0.5), 2),
        round(quantile(coldest_c, 0.1), 2),
        float(coldest_c.min()),
        climate.cycle.date_of(int(climate.start_years[rows[row]]), slots[column]),
        int(rows.size),
    )


@dataclass(frozen=True, slots=True)
class DatesAt:
    """Frost dates at one threshold, degrees C at the station."""

    threshold_c: float
    last: FrostDates
    first: FrostDates


@dataclass(frozen=True, eq=False)  # holds tables of nights
class StationReport:
    """A record, its climate, and what they tell of frost at a threshold at the station."""

    record: Record
    climate: FrostClimate
    threshold_c: float
    seasons: SeasonDates
    # frost nights of each cold season of the period, by the year it begins in
    nights: tuple[tuple[str, int], ...]
    free_season: FreeSeason | None
    dates: tuple[DatesAt, ...]  # dates by chance at the usual thresholds and the one asked for
    severity: tuple[HalfMonth, ...]
    # the stated chances against later seasons, for last and first frosts; empty where the record
    # is too short to be split
    tested: tuple[Calibration, ...]


def report_of(
    record: Record, *, threshold_c: float, period_seasons: int, southern: bool
) -> StationReport:
    """Look at a record; see ``climate_of``."""
    climate = climate_of(record, period_seasons=period_seasons, southern=southern)
    seasons = climate.seasons(threshold_c)
    # the chances of the earlier seasons of the whole record against the later ones
    whole = climate_of(record, period_seasons=record.season.n_days // 365 + 1, southern=southern)
    tested = (calibration_of(whole, threshold_c, side) for side in SIDES)
    return StationReport(
        record=record,
        climate=climate,
        threshold_c=threshold_c,
        seasons=seasons,
        nights=frost_nights(climate, threshold_c),
        free_season=free_season(seasons),
        dates=_dates(climate, threshold_c),
        severity=severity(climate),
        tested=tuple(calibration for calibration in tested if calibration is not None),
    )


def _dates(climate: FrostClimate, threshold_c: float) -> tuple[DatesAt, ...]:
    """Dates at each threshold, from the warmest; none where no season can be used."""
    dates = []
    for at_c in sorted({*USUAL_THRESHOLDS_C, threshold_c}, reverse=True):
        answer = answer_of(climate, hundredths(at_c), 0.0)
        last, first = (answer.last_frost, answer.first_frost) if answer else (NO_DATES, NO_DATES)
        dates.append(DatesAt(at_c, last, first))
    return tuple(dates)
