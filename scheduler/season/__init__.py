"""The walk through the rooms, and what comes of it. Pure: it reads no clock and no disk."""

from scheduler.season.errands import CALLS, Errand, booking_notices, errands_of
from scheduler.season.kept_days import day_to_keep, numbers_of
from scheduler.season.log_rows import (
    NotLoggedError,
    Said,
    is_day,
    person_hours,
    recorded,
    ticked,
    unknown_words,
)
from scheduler.season.night_estimate import NoEstimateError, Tonight, tonight_of
from scheduler.season.outlook import Outlook, outlook_of
from scheduler.season.placed import Placed, once_a_plan
from scheduler.season.roster_problem import SAW, Published, problem_of, with_own_days
from scheduler.season.spare import (
    SPARE_CODE,
    SpareTime,
    share_words,
    spare_notices,
    spare_time_of,
    spare_words,
)
from scheduler.season.walk import placed_season
