"""What the grower's files say, read and checked; the rules of the trade as data."""

from scheduler.holding import dayrules
from scheduler.holding.counted import ANSWERS, id_of_plot, kind_doubt
from scheduler.holding.crew import Crew, Hire, Person
from scheduler.holding.frost_data import FrostData, SiteAdjustment
from scheduler.holding.plan import FIRST_PLAN_DAY, LAST_PLAN_DAY, Work, own_date_at, years_later
from scheduler.holding.plants import CrownLight, Equation, Layer, Picking, Plant
from scheduler.holding.plots import CountedStock, Line, Plot, Stock
from scheduler.holding.references import days_in_no_plan
from scheduler.holding.rulebook import RuleBook
from scheduler.holding.site import DryMonths, Site
from scheduler.holding.site_files import Holding, package_book, read_holding, read_site_file
from scheduler.holding.starter import (
    Answers,
    NewPlot,
    growing_year,
    next_plan,
    refuse_what_is_there,
    starter_files,
    write_new_site,
)
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
