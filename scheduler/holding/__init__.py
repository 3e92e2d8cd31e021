"""What the grower's files say, read and checked; the rules of the trade as data."""

from scheduler.holding import dayrules
from scheduler.holding.crew import Crew, Hire
from scheduler.holding.frost_data import FrostData, SiteAdjustment
from scheduler.holding.plan import Work
from scheduler.holding.plants import CrownLight, Equation, Layer, Picking, Plant
from scheduler.holding.plots import Line, Plot, Stock
from scheduler.holding.rulebook import RuleBook
from scheduler.holding.site import DryMonths, Site
from scheduler.holding.site_files import (
    FIRST_PLAN_DAY,
    LAST_PLAN_DAY,
    Holding,
    read_holding,
    read_site_file,
    write_new_site,
)
from scheduler.holding.starter import Answers, checked_answer, starter_files
from scheduler.holding.tasktypes import After, AmountRate, Caution, StemRate, TaskType, Tool
from scheduler.holding.worklog import (
    LOG_FILE,
    LogEntry,
    contradictions,
    hours_to_do,
    locked_site,
    log_with,
    percent_so_far,
    steps_back,
)
from scheduler.holding.zones import distance_km, place_notices, record_notices
