"""The station record as last and first frosts of each season, and chances by day."""

from scheduler.frost.chance_curves import FrostDates
from scheduler.frost.forecast import LeadError, night_chance
from scheduler.frost.kind_words import kinds_words, names_words, night_words, tenderest_of
from scheduler.frost.night import (
    START_H,
    NightModel,
    dew_point_c,
    evening_rows,
    fit_night_model,
    hour_at_or_below,
)
from scheduler.frost.plot_frost import (
    FrostKnown,
    FrostReach,
    PlotFrost,
    changes_of,
    forecast_notices,
    plot_frost,
    reach_of,
    reach_words,
)
from scheduler.frost.risk import FrostRisk, risk_notices
from scheduler.frost.seasons import FrostClimate, climate_of
from scheduler.frost.station_report import Calibration, StationReport, report_of
from scheduler.frost.tender import Exposed
