"""Why the plan is as it is, what stays out and what would free it: computed when asked. Pure."""

from scheduler.reasons.compare import Comparison, Sums, compared, known_preferences, preference_of
from scheduler.reasons.left_out import HALF_DONE_CODE
from scheduler.reasons.moves import because_not_on, obstacle_words
from scheduler.reasons.notices import GUESS_CODES
from scheduler.reasons.season_plan import SeasonPlan, plan_season
