"""What grows in a plot becomes the work that is due: cover, hours, material."""

from scheduler.stand.biomass import Material, chave_2014_kg, dry_mass_kg, material_of
from scheduler.stand.canopy import Cover, cover_of
from scheduler.stand.work import (
    HeldBack,
    HourRange,
    Task,
    held_back,
    left_to_utility,
    never_cut,
    tasks_of,
)

__all__ = [
    "Cover",
    "HeldBack",
    "HourRange",
    "Material",
    "Task",
    "chave_2014_kg",
    "cover_of",
    "dry_mass_kg",
    "held_back",
    "left_to_utility",
    "material_of",
    "never_cut",
    "tasks_of",
]
