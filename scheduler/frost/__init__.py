"""The station record as last and first frosts of each season, and chances by day."""

from scheduler.frost.answers import FrostDates
from scheduler.frost.calibration import Calibration, calibration_of
from scheduler.frost.changes import Change, changes_of
from scheduler.frost.climate import climate_of
from scheduler.frost.evenings import evening_rows
from scheduler.frost.forecast import LeadError, latest_forecast, lead_errors, unlikely
from scheduler.frost.forecast_outlook import FrostOutlook, night_chance, outlook_of
from scheduler.frost.night import (
    START_H,
    NightModel,
    dew_point_c,
    fit_night_model,
    hour_at_or_below,
    night_curve_c,
)
from scheduler.frost.risk import FrostRisk, risk_of
from scheduler.frost.risk_notices import risk_notices
from scheduler.frost.seasons import FrostClimate, SideDates
from scheduler.frost.standing import HardNight, hard_nights, standing_at
from scheduler.frost.station_report import DatesAt, StationReport, report_of
from scheduler.frost.summaries import (
    HalfMonth,
    free_season,
    frost_nights,
    severity,
)
from scheduler.frost.tender import (
    Exposed,
    exposed_by,
    hurt_at,
    hurt_in_bloom,
)
from scheduler.frost.transfer import (
    PlotOffset,
    adjusted,
    offset_from_elevation,
    offset_from_overlap,
)

__all__ = [
    "START_H",
    "Calibration",
    "Change",
    "DatesAt",
    "Exposed",
    "FrostClimate",
    "FrostDates",
    "FrostOutlook",
    "FrostRisk",
    "HalfMonth",
    "HardNight",
    "LeadError",
    "NightModel",
    "PlotOffset",
    "SideDates",
    "StationReport",
    "adjusted",
    "calibration_of",
    "changes_of",
    "climate_of",
    "dew_point_c",
    "evening_rows",
    "exposed_by",
    "fit_night_model",
    "free_season",
    "frost_nights",
    "hard_nights",
    "hour_at_or_below",
    "hurt_at",
    "hurt_in_bloom",
    "latest_forecast",
    "lead_errors",
    "night_chance",
    "night_curve_c",
    "offset_from_elevation",
    "offset_from_overlap",
    "outlook_of",
    "report_of",
    "risk_notices",
    "risk_of",
    "severity",
    "standing_at",
    "unlikely",
]
