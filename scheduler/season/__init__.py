"""The walk through the rooms, and what comes of it. Pure: it reads no clock and no disk."""

from scheduler.season.bookings import logged_words
from scheduler.season.compare import (
    Comparison,
    Sums,
    compared,
    known_preferences,
    preference_of,
    with_visit_on,
)
from scheduler.season.errands import Errand
from scheduler.season.half_done import HALF_DONE_CODE
from scheduler.season.moves import Move, obstacle_words
from scheduler.season.night_estimate import NoEstimateError, Tonight, tonight_of
from scheduler.season.outlook import Outlook, outlook_of
from scheduler.season.placed import Published, finished, progress_of
from scheduler.season.spare import (
    SPARE_CODE,
    SPARE_STEP,
    RainDays,
    SpareTime,
    share_words,
    spare_time_of,
    spare_words,
)
from scheduler.season.walk import SeasonPlan, plan_season
from scheduler.season.worked import planned_from, visits_on, worked_until

__all__ = [
    "HALF_DONE_CODE",
    "SPARE_CODE",
    "SPARE_STEP",
    "Comparison",
    "Errand",
    "Move",
    "NoEstimateError",
    "Outlook",
    "Published",
    "RainDays",
    "SeasonPlan",
    "SpareTime",
    "Sums",
    "Tonight",
    "compared",
    "finished",
    "known_preferences",
    "logged_words",
    "obstacle_words",
    "outlook_of",
    "plan_season",
    "planned_from",
    "preference_of",
    "progress_of",
    "share_words",
    "spare_time_of",
    "spare_words",
    "tonight_of",
    "visits_on",
    "with_visit_on",
    "worked_until",
]
