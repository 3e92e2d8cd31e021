"""The latest forecast of nightly minima, and how far forecasts err at this site."""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

import numpy as np

from scheduler.frost.seasons import NO_NIGHT, FrostClimate
from scheduler.holding import FrostData
from scheduler.terms import N_SLOTS
from scheduler.weather import ForecastNight, Record

# A minimum further than this beyond all of a hundred nights of its season is in another unit.
_BEYOND_C, _NEAR_DAYS, _LEAST_NIGHTS = 8.0, 10, 100


@dataclass(frozen=True, slots=True)
class LeadError:
    """How a forecast errs at one lead."""

    bias_c: float  # outcome less forecast, degrees C; added to the forecast
    error_c: float  # standard error after that, degrees C
    n_pairs: int  # outcomes it was learned from; 0 for the default


def latest_forecast(nights: Iterable[ForecastNight], as_of: date) -> tuple[ForecastNight, ...]:
    """The coming nights, each by the latest forecast that speaks of it, none issued after today.

    One night after the other from tomorrow's morning to the last that is forecast. A
    night between that nobody forecast takes the colder of its neighbours, so that a frost
    behind a gap is not lost. Empty where all forecasts have gone by.
    """
    coming = [night for night in nights if night.issued <= as_of < night.date]
    coming.sort(key=lambda night: night.issued)
    by_day = {night.date: night for night in coming}  # the latest issue of each day stays
    if not by_day:
        return ()
    days = range(as_of.toordinal() + 1, max(by_day).toordinal() + 1)
    return tuple(_night_of(date.fromordinal(day), by_day) for day in days)


def _night_of(day: date, by_day: Mapping[date, ForecastNight]) -> ForecastNight:
    if day in by_day:
        return by_day[day]
    before, after = [d for d in by_day if d < day], [d for d in by_day if d > day]
    near = [by_day[max(before)]] if before else []
    near.append(by_day[min(after)])  # the last night has a forecast of its own
    low_c = min(night.tmin_c for night in near)
    return ForecastNight(issued=near[-1].issued, date=day, tmin_c=low_c)


def lead_errors(
    nights: Iterable[ForecastNight], observed: Record | None, as_of: date, data: FrostData
) -> tuple[LeadError, ...]:
    """Error at each lead that is used, from 1 on, learned from the site's own forecasts.

    The default where the station's record has too few outcomes up to today to learn from.
    """
    errors: dict[int, list[float]] = {}
    for night in nights:
        if observed is not None and night.date <= as_of and night.date in observed.season:
            outcome_c = float(observed.tmin_c[observed.season.day_of(night.date)])
            if not math.isnan(outcome_c):
                errors.setdefault(night.lead, []).append(outcome_c - night.tmin_c)
    return tuple(
        _learned(errors.get(lead, []), default_c, data.forecast.min_pairs)
        for lead, default_c in enumerate(data.forecast.error_c, start=1)
    )


def _learned(errors: list[float], default_c: float, min_pairs: int) -> LeadError:
    if len(errors) < min_pairs:
        return LeadError(0.0, default_c, 0)
    # identical errors would claim certainty; a thermometer alone is off by a tenth
    spread_c = max(float(np.std(errors, ddof=1)), 0.1)
    return LeadError(float(np.mean(errors)), spread_c, len(errors))


def unlikely(night: ForecastNight, climate: FrostClimate | None) -> bool:
    """Whether a forecast lies far outside all that the record has at its time of the year."""
    if climate is None:
        return False
    slots = (climate.cycle.slot_of(night.date) + np.arange(-_NEAR_DAYS, _NEAR_DAYS + 1)) % N_SLOTS
    near = climate.recorded[:, slots]
    seen = near[near != NO_NIGHT] / 100
    if seen.size < _LEAST_NIGHTS:
        return False
    far = seen.min() - _BEYOND_C > night.tmin_c or night.tmin_c > seen.max() + _BEYOND_C
    return bool(far)
