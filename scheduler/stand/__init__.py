"""What grows in a plot becomes the work that is due: cover, hours, material."""

from scheduler.stand.biomass import LAYERS, cut_mass_range, out_of_range
from scheduler.stand.canopy import cover_of, too_soon_months
from scheduler.stand.chipper import Chipping, chippings_of
from scheduler.stand.due import PlotDue, StratumDue, due_of
from scheduler.stand.first_measured import measured_first
from scheduler.stand.hazards import cautions_of, conditions_of, wants_two
from scheduler.stand.mulch import LineMulch, feed_day, left_of_old_cm, mulch_of
from scheduler.stand.rates import HourRange
from scheduler.stand.succession import Harvest, Removal, harvests_of, removals_of
from scheduler.stand.taken import (
    LoggedCuts,
    change_taken,
    line_balance,
    never_cut,
    split_id,
    usual_day,
    wants_cover,
    within_reach,
)
from scheduler.stand.warmth import MONTH_DAYS, Rotting
from scheduler.stand.work import (
    HAUL,
    HeldBack,
    Task,
    book_hours_of,
    bookings_of,
    calls_of,
    held_back,
    is_picked,
    left_to_utility,
    tasks_of,
)
