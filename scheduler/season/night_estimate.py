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
)
from scheduler.season.outlook import Outlook
from scheduler.sky import sky_of
from scheduler.terms import Season


class NoEstimateError(Exception):
    """The night cannot be estimated; the message says why, in plain words."""


@dataclass(frozen=True)
class PlotTonight:
    """One plot's night."""

    plot: str
    minimum_c: float  # expected, degrees C, with its standard error ``error_c``
    error_c: float
    threshold_c: float  # damage there, degrees C
    chance: float  # that the night is at or below it
    reached_at: datetime | None  # by the expected curve; None where it is not


@dataclass(frozen=True)
class Tonight:
    """The night after an evening."""

    evening: date
    sunset: datetime  # of the evening, in the site's zone, and ``sunrise`` of the morning after
    sunrise: datetime
    model: NightModel  # fitted on the site's own clear evenings
    minimum_c: float  # expected where the evenings were read, degrees C
    plots: tuple[PlotTonight, ...]
    beyond: bool  # whether the evening lies outside those that the model was fitted on


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
    rows = evening_rows(holding.frost.evenings)
    try:
        model = fit_night_model(rows, holding.frost.data)
    except ValueError as error:
        name = holding.site.frost.evenings or "evenings = ... under [frost] in site.toml"
        raise NoEstimateError(f"{name}: {error}") from error
    sky = sky_of(holding.site.place, Season(evening, 2))
    if not (sky.sun.sets[0] and sky.sun.rises[1]):
        raise NoEstimateError(f"the Sun does not set and rise again after {evening}")
    sunset, sunrise = sky.sun.sets[0][-1], sky.sun.rises[1][0]
    hours = (sunrise - sunset).total_seconds() / 3600
    if not hours > START_H + 1:
        raise NoEstimateError(f"the night of {evening} is too short for this estimate")
    minimum_c = min(model.minimum_c(temperature_c, dew_point_c), temperature_c)
    plots = []
    for plot_id, risk in outlook.frost.items():
        start_c, plot_c = temperature_c + risk.offset_c, minimum_c + risk.offset_c
        error_c = float(np.hypot(max(model.error_c, 0.1), risk.offset_spread_c))
        at = hour_at_or_below(risk.threshold_c, start_c, plot_c, hours)
        plots.append(
            PlotTonight(
                plot_id,
                round(plot_c, 1),
                round(error_c, 1),
                risk.threshold_c,
                night_chance(risk.threshold_c, plot_c, error_c),
                None if at is None else sunset + timedelta(hours=at),
            )
        )
    # a line fitted on some evenings says little of much warmer, colder or drier ones
    now, fitted = np.array([temperature_c, dew_point_c]), rows[:, :2]
    beyond = bool(((now < fitted.min(axis=0)) | (now > fitted.max(axis=0))).any())
    return Tonight(evening, sunset, sunrise, model, minimum_c, tuple(plots), beyond)
