"""The walk through the rooms, and what comes of it. Pure: it reads no clock and no disk."""

from scheduler.season.errands import Errand
from scheduler.season.outlook import Outlook, outlook_of
from scheduler.season.plot_frost import PlotFrost
from scheduler.season.tonight import NoEstimateError, Tonight, tonight_of
from scheduler.season.walk import SeasonPlan, plan_season

__all__ = [
    "Errand",
    "NoEstimateError",
    "Outlook",
    "PlotFrost",
    "SeasonPlan",
    "Tonight",
    "outlook_of",
    "plan_season",
    "tonight_of",
]
