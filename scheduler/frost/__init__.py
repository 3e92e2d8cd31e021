"""The station record as last and first frosts of each season, and chances by day."""

from scheduler.frost.answers import FrostDates
from scheduler.frost.calibration import Bin, Calibration, calibration_of
from scheduler.frost.changes import Change, changes_of
from scheduler.frost.climate import PERIOD_SEASONS, climate_of
from scheduler.frost.damage import bud_kill, critical_temperatures, season_kill
from scheduler.frost.evenings import read_evenings
from scheduler.frost.forecast import (
    ForecastNight,
    LeadError,
    latest_forecast,
    lead_errors,
    read_forecast,
)
from scheduler.frost.night import (
    NightModel,
    dew_point_c,
    fit_night_model,
    hour_at_or_below,
    night_curve_c,
)
from scheduler.frost.notices import risk_notices
from scheduler.frost.outlook import FrostOutlook, NightChance, outlook_of
from scheduler.frost.risk import FrostRisk, risk_of
from scheduler.frost.seasons import FrostClimate, SeasonDates, SideDates
from scheduler.frost.tables import (
    FreeSeason,
    HalfMonth,
    free_season,
    frost_nights,
    severity,
)
from scheduler.frost.tender import (
    Exposed,
    Stage,
    exposed_by,
    hurt_at,
    hurt_in_bloom,
    tenderest,
)
from scheduler.frost.transfer import (
    PlotOffset,
    adjusted,
    offset_from_elevation,
    offset_from_overlap,
)

__all__ = [
    "PERIOD_SEASONS",
    "Bin",
    "Calibration",
    "Change",
    "Exposed",
    "ForecastNight",
    "FreeSeason",
    "FrostClimate",
    "FrostDates",
    "FrostOutlook",
    "FrostRisk",
    "HalfMonth",
    "LeadError",
    "NightChance",
    "NightModel",
    "PlotOffset",
    "SeasonDates",
    "SideDates",
    "Stage",
    "adjusted",
    "bud_kill",
    "calibration_of",
    "changes_of",
    "climate_of",
    "critical_temperatures",
    "dew_point_c",
    "exposed_by",
    "fit_night_model",
    "free_season",
    "frost_nights",
    "hour_at_or_below",
    "hurt_at",
    "hurt_in_bloom",
    "latest_forecast",
    "lead_errors",
    "night_curve_c",
    "offset_from_elevation",
    "offset_from_overlap",
    "outlook_of",
    "read_evenings",
    "read_forecast",
    "risk_notices",
    "risk_of",
    "season_kill",
    "severity",
    "tenderest",
]
