"""The latest forecast of nightly minima, how far forecasts err here, and what lies ahead.

Forecast and climate together say whether the window is open at a plot, from tonight on. No
published formula was found; this one is built on the chance of a season. For the
nights of the forecast the chance of damage is that of a normal error; beyond them the
climate holds; nights are taken as independent, which overstates the chance where errors
go together. What the season so far has seen counts: a first frost that has come is
certain, and one that has not come makes later days likelier than climate alone.
"""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from scheduler.frost.risk import Ahead, FrostRisk, station_key, window_open
from scheduler.frost.seasons import NO_NIGHT, FrostClimate, hundredths
from scheduler.holding import FrostData
from scheduler.terms import N_SLOTS, Season, frozen
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


@dataclass(frozen=True, slots=True)
class NightChance:
    """The minimum expected at the plot on the morning of a day, and its standard error.

    ``chance`` is that of a minimum at or below the threshold.
    """

    day: date
    plot_c: float
    error_c: float
    chance: float

    @property
    def evening(self) -> date:
        """The day on whose evening tender stock wants protecting."""
        return self.day - timedelta(days=1)


@dataclass(frozen=True, kw_only=True, eq=False)  # arrays do not compare to one truth
class FrostOutlook:
    """What lies ahead of a plot, as seen on one day; its own morning has gone by."""

    risk: FrostRisk  # the climate behind it
    joined: FrostRisk  # the same with what forecast and season so far say laid over it
    nights: tuple[NightChance, ...]  # of the forecast that were used
    # whether a damaging night has been seen since the warmest day; None where no record reaches
    # into this season
    frost_seen: bool | None
    seen_until: date | None  # last day of the record that was counted; None without


def night_chance(threshold_c: float, expected_c: float, error_c: float) -> float:
    """Chance that a night is at or below a threshold, its error, above 0, taken as normal.

    >>> round(night_chance(0, 1, 1.7), 3)
    0.278
    """
    return NormalDist(expected_c, error_c).cdf(threshold_c)


def none_from(chances: NDArray[np.float64]) -> NDArray[np.float64]:
    """(n,) chance of none of several independent nights from each of them on."""
    return np.asarray(np.cumprod(1 - chances[::-1])[::-1], dtype=np.float64)


def ahead_of(
    risk: FrostRisk,
    as_of: date,
    *,
    forecast: tuple[ForecastNight, ...] = (),
    errors: tuple[LeadError, ...] = (),
    observed: Record | None = None,
) -> FrostOutlook:
    """Join forecast, climate and the season so far of a plot.

    The forecast is that of ``latest_forecast``, its errors by lead those of ``lead_errors``;
    nights beyond them are not used. Without the station's record and a forecast the climate
    alone counts.
    """
    season = Season(as_of + timedelta(days=1), N_SLOTS)
    nights = _nights(risk, forecast, errors)
    chances = np.array([night.chance for night in nights], dtype=np.float64)
    slots, years = risk.cycle.slots_of(season)
    this_season = years == years[0]
    none_yet, seen_until = _season_so_far(risk, as_of, observed)
    after = _after(risk, slots, this_season, chances)
    before = _before(risk, slots, this_season, chances, none_yet, seen_until)
    tails = 1 - none_from(chances)
    if risk.climate is None:
        open_ = risk.open_by_slot[slots].copy()
    else:
        # frosts of the forecast that lie beyond the warmest day count too
        after[: tails.size] = np.maximum(after[: tails.size], tails)
        open_ = window_open(slots, after, before, risk.tolerance)
    # work of a day meets every night of the forecast that is still to come
    open_[: tails.size] |= tails > risk.tolerance
    # work of today meets tonight's frost, which belongs to tomorrow's morning
    gone_by = (0.0,) if nights else ()
    ahead = Ahead(
        Season(as_of, N_SLOTS + 1),
        frozen(np.append(open_[0], open_)),
        frozen(np.append(after[0], after)),
        (*gone_by, *(night.chance for night in nights)),
    )
    return FrostOutlook(
        risk=risk,
        joined=replace(risk, ahead=ahead),
        nights=nights,
        frost_seen=None if seen_until is None else none_yet < 0.5,
        seen_until=seen_until,
    )


def _nights(
    risk: FrostRisk, forecast: tuple[ForecastNight, ...], errors: tuple[LeadError, ...]
) -> tuple[NightChance, ...]:
    nights = []
    for night in forecast:
        if not 1 <= night.lead <= len(errors):
            break
        error = errors[night.lead - 1]
        plot_c = night.tmin_c + error.bias_c + risk.offset_c
        error_c = math.hypot(error.error_c, risk.offset_spread_c)
        chance = night_chance(risk.threshold_c, plot_c, error_c)
        nights.append(NightChance(night.date, round(plot_c, 2), round(error_c, 2), chance))
    return tuple(nights)


def _after(
    risk: FrostRisk,
    slots: NDArray[np.intp],
    this_season: NDArray[np.bool_],
    chances: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Forecast nights that are still to come, and the climate after the last of them."""
    after = risk.after_by_slot[slots].copy()
    n = chances.size
    later = after[n] if this_season[n] else 0.0
    n_ours = np.count_nonzero(this_season[:n])
    after[:n_ours] = 1 - (1 - later) * none_from(chances[:n_ours])
    return after


def _season_so_far(
    risk: FrostRisk, as_of: date, observed: Record | None
) -> tuple[float, date | None]:
    """Chance that no damaging night has come since the warmest day, and the last day looked at.

    Without spread the chance is 0 or 1; it is 1, and no day, where no record reaches here.
    """
    tomorrow = as_of + timedelta(days=1)
    start = risk.cycle.date_of(risk.cycle.start_year_of(tomorrow), 0)
    if observed is None or min(as_of, observed.season.last) < max(start, observed.season.first):
        return 1.0, None
    seen = Season.between(start, min(as_of, observed.season.last))
    tmin_c = seen.laid_over(observed.season, observed.tmin_c)
    missing = np.isnan(tmin_c)
    key, spread_c = station_key(risk.threshold_c, risk.offset_c), risk.offset_spread_c
    read_c = tmin_c[~missing].tolist()
    if spread_c == 0:
        none_yet = float(not any(hundredths(night_c) <= key for night_c in read_c))
    else:
        none_yet = math.prod(1 - night_chance(key / 100, night_c, spread_c) for night_c in read_c)
    if risk.climate is not None:  # own dates know no chances
        # a night that nobody read is no night without frost: it keeps the chance it always had
        slots, _ = risk.cycle.slots_of(seen)
        none_by = _none_before(risk)
        none_yet *= float(np.prod((none_by[slots + 1] / none_by[slots])[missing]))
    return none_yet, seen.last


def _none_before(risk: FrostRisk) -> NDArray[np.float64]:
    """(367,) chance by climate that no frost has come before each slot."""
    return np.concatenate(([1.0], 1 - risk.before_by_slot))


def _before(
    risk: FrostRisk,
    slots: NDArray[np.intp],
    this_season: NDArray[np.bool_],
    chances: NDArray[np.float64],
    none_yet: float,
    seen_until: date | None,
) -> NDArray[np.float64]:
    """Nothing seen so far, nothing in the forecast, nothing by climate before and after that."""
    none_by = _none_before(risk)
    none_by_end = none_by[slots + 1]
    none_on = none_by_end / np.append(none_by[slots[0]], none_by_end[:-1])
    none_on[: chances.size] = 1 - chances
    since = 0 if seen_until is None else risk.cycle.slot_of(seen_until) + 1
    none = none_yet * none_by[slots[0]] / none_by[since] * np.cumprod(none_on)
    before = np.where(this_season, 1 - none, risk.before_by_slot[slots])
    return np.clip(before, 0.0, 1.0)
