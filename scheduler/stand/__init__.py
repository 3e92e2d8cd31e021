"""What grows in a plot becomes the work that is due: cover, hours, material."""

from scheduler.stand.biomass import out_of_range
from scheduler.stand.canopy import cover_of
from scheduler.stand.chipper import Chipping
from scheduler.stand.cut_mass import cut_mass_range, line_balance
from scheduler.stand.cutting import conditions_of
from scheduler.stand.due import PlotDue, StratumDue, due_of
from scheduler.stand.growth import MONTH_DAYS, too_soon_months, warmth_of
from scheduler.stand.kinds import SLOTS, ripe_slots
from scheduler.stand.logged_cuts import LoggedCuts
from scheduler.stand.mulch import Laying, LineMulch, feed_day, left_of_old_cm, mulch_of
from scheduler.stand.people import cautions_of, wants_two
from scheduler.stand.rates import HourRange
from scheduler.stand.rotting import Rotting
from scheduler.stand.succession import Harvest, Removal, harvests_of, removals_of
from scheduler.stand.taken import never_cut, usual_day, wants_cover, within_reach
from scheduler.stand.work import (
    HAUL,
    HeldBack,
    Task,
    book_hours_of,
    bookings_of,
    calls_of,
    chippings_of,
    held_back,
    is_picked,
    left_to_utility,
    split_id,
    tasks_of,
)

__all__ = [
    "HAUL",
    "MONTH_DAYS",
    "SLOTS",
    "Chipping",
    "Harvest",
    "HeldBack",
    "HourRange",
    "Laying",
    "LineMulch",
    "LoggedCuts",
    "PlotDue",
    "Removal",
    "Rotting",
    "StratumDue",
    "Task",
    "book_hours_of",
    "bookings_of",
    "calls_of",
    "cautions_of",
    "chippings_of",
    "conditions_of",
    "cover_of",
    "cut_mass_range",
    "due_of",
    "feed_day",
    "harvests_of",
    "held_back",
    "is_picked",
    "left_of_old_cm",
    "left_to_utility",
    "line_balance",
    "mulch_of",
    "never_cut",
    "out_of_range",
    "removals_of",
    "ripe_slots",
    "split_id",
    "tasks_of",
    "too_soon_months",
    "usual_day",
    "wants_cover",
    "wants_two",
    "warmth_of",
    "within_reach",
]
