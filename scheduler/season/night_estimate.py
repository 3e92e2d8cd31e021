"""The evening estimate: how cold the night will be, at the station and at each plot."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta

import numpy as np

from scheduler.frost import (
    START_H,
    NightModel,
    evening_rows,
    fit_night_model,
    hour_at_or_below,
    night_chance,
    night_curve_c,
)
from scheduler.holding import Holding
from scheduler.season.outlook import Outlook
from scheduler.sky import sky_of
from scheduler.terms import Season


class NoEstimateError(Exception):
    """The night cannot be estimated; the message says why, in plain words."""


@dataclass(frozen=True)
class PlotTonight:
    """One plot's night.

    Args:
        plot: its id.
        minimum_c: expected, degrees C.
        error_c: its standard error.
        threshold_c: damage there, degrees C.
        chance: that the night is at or below it.
        reached_at: by the expected curve; None where it is not.
    """

    plot: str
    minimum_c: float
    error_c: float
    threshold_c: float
    chance: float
    reached_at: datetime | None


@dataclass(frozen=True)
class Tonight:
    """The night after an evening.

    Args:
        evening: its day.
        sunset: of the evening, in the site's zone.
        sunrise: of the morning after.
        model: fitted on the site's own clear evenings.
        minimum_c: expected where the evenings were read, degrees C.
        hourly: times and expected temperatures there, from two hours after sunset on.
        plots: each plot's night.
        beyond: whether the evening lies outside those that the model was fitted on.
    """

    evening: date
    sunset: datetime
    sunrise: datetime
    model: NightModel
    minimum_c: float
    hourly: tuple[tuple[datetime, float], ...]
    plots: tuple[PlotTonight, ...]
    beyond: bool


def tonight_of(outlook: Outlook, temperature_c: float, dew_point_c: float) -> Tonight:
    """Estimate the night of ``outlook.as_of``, if it is clear and calm.

    Args:
        outlook: for the plots' offsets and thresholds.
        temperature_c: two hours after sunset, degrees C.
        dew_point_c: at the same time, degrees C.

    Raises:
        NoEstimateError: too few evenings to fit on, or no night to speak of.
    """
    holding, evening = outlook.holding, outlook.as_of
    model = _model(holding)
    sunset, sunrise = _night(holding, evening)
    hours = (sunrise - sunset).total_seconds() / 3600
    if not hours > START_H + 1:
        raise NoEstimateError(f"the night of {evening} is too short for this estimate")
    minimum_c = min(model.minimum_c(temperature_c, dew_point_c), temperature_c)
    curve = night_curve_c(temperature_c, minimum_c, hours)
    return Tonight(
        evening,
        sunset,
        sunrise,
        model,
        minimum_c,
        tuple(
            (sunset + timedelta(hours=START_H) + timedelta(hours=at), float(now_c))
            for at, now_c in enumerate(curve)
        ),
        tuple(
            _at_plot(known.plot.id, outlook, model, (temperature_c, minimum_c), (sunset, hours))
            for known in outlook.plots.values()
        ),
        _beyond(holding, temperature_c, dew_point_c),
    )


def _beyond(holding: Holding, temperature_c: float, dew_point_c: float) -> bool:
    """A line fitted on some evenings says little of much warmer, colder or drier ones."""
    rows = evening_rows(holding.frost.evenings)[:, :2]
    now = np.array([temperature_c, dew_point_c])
    return bool(((now < rows.min(axis=0)) | (now > rows.max(axis=0))).any())


def _model(holding: Holding) -> NightModel:
    try:
        return fit_night_model(evening_rows(holding.frost.evenings), holding.frost.data)
    except ValueError as error:
        name = holding.site.frost.evenings or "evenings = ... under [frost] in site.toml"
        raise NoEstimateError(f"{name}: {error}") from error


def _night(holding: Holding, evening: date) -> tuple[datetime, datetime]:
    sky = sky_of(holding.site.place, Season(evening, 2))
    if not (sky.sunset[0] and sky.sunrise[1]):
        raise NoEstimateError(f"the Sun does not set and rise again after {evening}")
    return sky.sunset[0][-1], sky.sunrise[1][0]


def _at_plot(
    plot_id: str,
    outlook: Outlook,
    model: NightModel,
    course_c: tuple[float, float],
    night: tuple[datetime, float],
) -> PlotTonight:
    risk = outlook.plots[plot_id].risk
    sunset, hours = night
    start_c, minimum_c = course_c[0] + risk.offset_c, course_c[1] + risk.offset_c
    error_c = float(np.hypot(max(model.error_c, 0.1), risk.offset_spread_c))
    at = hour_at_or_below(risk.threshold_c, start_c, minimum_c, hours)
    return PlotTonight(
        plot_id,
        round(minimum_c, 1),
        round(error_c, 1),
        risk.threshold_c,
        night_chance(risk.threshold_c, minimum_c, error_c),
        None if at is None else sunset + timedelta(hours=at),
    )
