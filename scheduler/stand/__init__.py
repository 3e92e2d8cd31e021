"""What grows in a plot becomes the work that is due: cover, hours, material."""

from scheduler.stand.biomass import (
    Material,
    chave_2014_kg,
    dry_mass_kg,
    material_of,
    out_of_range,
)
from scheduler.stand.canopy import Cover, alley_light, cover_of, cuts_a_year, day_over, leafless
from scheduler.stand.chipper import Chipping
from scheduler.stand.cutting import care_words, conditions_of, cut_share, most_share
from scheduler.stand.due import PlotDue, StratumDue, due_of
from scheduler.stand.growth import Warmth, full_again, grown_share, too_soon_months, warmth_of
from scheduler.stand.logged_cuts import LoggedCuts
from scheduler.stand.mulch import (
    Laying,
    LineMulch,
    feed_day,
    left_of_old_cm,
    mulch_of,
)
from scheduler.stand.rates import Batch, HourRange, Learned, learned_rates
from scheduler.stand.rotting import Rotting
from scheduler.stand.succession import Harvest, Removal, harvests_of, removals_of
from scheduler.stand.work import (
    HeldBack,
    Task,
    book_hours_of,
    bookings_of,
    calls_of,
    cautions_of,
    chippings_of,
    cut_mass_range,
    held_back,
    left_to_utility,
    never_cut,
    tasks_of,
    wants_cover,
    within_reach,
)

__all__ = [
    "Batch",
    "Chipping",
    "Cover",
    "Harvest",
    "HeldBack",
    "HourRange",
    "Laying",
    "Learned",
    "LineMulch",
    "LoggedCuts",
    "Material",
    "PlotDue",
    "Removal",
    "Rotting",
    "StratumDue",
    "Task",
    "Warmth",
    "alley_light",
    "book_hours_of",
    "bookings_of",
    "calls_of",
    "care_words",
    "cautions_of",
    "chave_2014_kg",
    "chippings_of",
    "conditions_of",
    "cover_of",
    "cut_mass_range",
    "cut_share",
    "cuts_a_year",
    "day_over",
    "dry_mass_kg",
    "due_of",
    "feed_day",
    "full_again",
    "grown_share",
    "harvests_of",
    "held_back",
    "leafless",
    "learned_rates",
    "left_of_old_cm",
    "left_to_utility",
    "material_of",
    "most_share",
    "mulch_of",
    "never_cut",
    "out_of_range",
    "removals_of",
    "tasks_of",
    "too_soon_months",
    "wants_cover",
    "warmth_of",
    "within_reach",
]
