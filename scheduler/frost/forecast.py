"""The latest forecast of nightly minima, and how far forecasts err at this site."""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

import numpy as np

from scheduler.holding import ForecastNight, Record
from scheduler.holding.frost_data import FrostData


@dataclass(frozen=True, slots=True)
class LeadError:
    """How a forecast errs at one lead.

    Args:
        bias_c: outcome less forecast, degrees C; added to the forecast.
        error_c: standard error after that, degrees C.
        n_pairs: outcomes it was learned from; 0 for the default.
    """

    bias_c: float
    error_c: float
    n_pairs: int


def latest_forecast(nights: Iterable[ForecastNight], as_of: date) -> tuple[ForecastNight, ...]:
    """The nights that the latest forecast gives, one after the other from tonight on.

    Args:
        nights: all that the file holds.
        as_of: today; nothing issued later is looked at.

    Returns:
        The unbroken run that begins with tomorrow's morning; empty where the latest
        forecast does not speak of it.
    """
    issued = [night for night in nights if night.issued <= as_of]
    if not issued:
        return ()
    last = max(night.issued for night in issued)
    by_day = {night.day: night for night in issued if night.issued == last}
    run: list[ForecastNight] = []
    ordinal = as_of.toordinal() + 1
    while date.fromordinal(ordinal) in by_day:
        run.append(by_day[date.fromordinal(ordinal)])
        ordinal += 1
    return tuple(run)


def lead_errors(
    nights: Iterable[ForecastNight], observed: Record | None, as_of: date, data: FrostData
) -> tuple[LeadError, ...]:
    """Error at each lead: learned from the site's own forecasts, or the default.

    Args:
        nights: past and present forecasts.
        observed: the station's record; None leaves the defaults.
        as_of: today; later outcomes are not looked at.
        data: the defaults, and how many outcomes it takes.

    Returns:
        One entry for each lead that is used, from 1 on.
    """
    errors: dict[int, list[float]] = {}
    for night in nights:
        outcome_c = _outcome_c(observed, night.day) if night.day <= as_of else math.nan
        if not math.isnan(outcome_c):
            errors.setdefault(night.lead, []).append(outcome_c - night.tmin_c)
    return tuple(
        _learned(errors.get(lead, []), default_c, data.forecast.min_pairs)
        for lead, default_c in enumerate(data.forecast.error_c, start=1)
    )


def _outcome_c(observed: Record | None, day: date) -> float:
    if observed is None or day not in observed.season:
        return math.nan
    return float(observed.tmin_c[observed.season.day_of(day)])


def _learned(errors: list[float], default_c: float, min_pairs: int) -> LeadError:
    if len(errors) < min_pairs:
        return LeadError(0.0, default_c, 0)
    # identical errors would claim certainty; a thermometer alone is off by a tenth
    spread_c = max(float(np.std(errors, ddof=1)), 0.1)
    return LeadError(float(np.mean(errors)), spread_c, len(errors))
