"""Mass of what a cut brings down.

Dry mass comes from published equations in stem diameter (``rules/biomass.toml``; each with
its range and source) and, where a kind has none, from the pantropical equation 4 of Chave
et al. 2014. Within half or double is what such equations are good for.
"""

import math
from collections.abc import Iterable
from dataclasses import astuple, dataclass
from datetime import date
from typing import Literal

from scheduler.files import fields
from scheduler.holding import Equation, Plant, RuleBook, Stock, TaskType
from scheduler.stand.canopy import cut_share
from scheduler.stand.warmth import MONTH_DAYS

LayerName = Literal["logs", "branches", "twigs", "leaves", "juicy"]
LEAFLESS: fields.Visit = "dormant"  # the visit in which kinds that drop their leaves have none
WHOLE_TREE = ("remove", "coppice")  # cut systems that take the tree, not its crown
LAYERS: tuple[LayerName, ...] = ("logs", "branches", "twigs", "leaves", "juicy")  # coarse to fine
_OTHER_HABIT = {"evergreen": "deciduous", "deciduous": "evergreen"}


@dataclass(frozen=True, slots=True)
class Material:
    """What a cut brings down, fresh kg, coarse to fine."""

    logs_kg: float = 0.0
    branches_kg: float = 0.0
    twigs_kg: float = 0.0
    leaves_kg: float = 0.0
    juicy_kg: float = 0.0

    def __add__(self, other: "Material") -> "Material":
        return Material(*(a + b for a, b in zip(astuple(self), astuple(other), strict=True)))

    def scaled(self, factor: float) -> "Material":
        """The same, times a factor."""
        return Material(*(part * factor for part in astuple(self)))

    def of(self, layer: LayerName) -> float:
        """Fresh kg of one layer."""
        return float(getattr(self, f"{layer}_kg"))

    @property
    def fresh_kg(self) -> float:
        """All of it, fresh kg."""
        return float(sum(astuple(self)))


def dry_mass_kg(equation: Equation, d_cm: float) -> float:
    """Dry mass (kg) of a stem of diameter ``d_cm`` by a published equation.

    >>> from scheduler.holding.site_files import package_rules
    >>> book = RuleBook.of(package_rules())
    >>> round(dry_mass_kg(book.equations["alder"], 10.0), 1)  # Forrester et al. 2017
    25.5
    """
    if d_cm <= 0:
        return 0.0
    if equation.form == "exp-ln":
        return math.exp(equation.a + equation.b * math.log(d_cm))
    if equation.form == "exp-inverse":
        return math.exp(equation.a + equation.b / d_cm)
    if equation.form == "ten-log":
        return float(10 ** (equation.a + equation.b * math.log10(d_cm)))
    return float(equation.a * d_cm**equation.b)


def chave_2014_kg(d_cm: float, height_m: float, density_g_cm3: float) -> float:
    """Above-ground dry mass (kg) by equation 4 of Chave et al. 2014.

    It was fitted on stems of 5 to 212 cm (from memory).

    >>> round(chave_2014_kg(20.0, 12.0, 0.6), 1)
    160.1
    """
    return float(0.0673 * (density_g_cm3 * height_m * d_cm**2) ** 0.976)


def material_of(
    row: Stock, rules: RuleBook, *, leafless: bool = False, other: bool = False
) -> Material:
    """What cutting a row of stock by its cut system brings down, fresh kg by layer.

    ``leafless`` if kinds that drop their leaves stand without them; ``other`` by the other
    published equation, where there is one: the crown equation of the other habit, the
    pantropical one of Chave for a whole tree.
    """
    plant, share = rules.plants[row.plant], cut_share(row, rules) * row.count
    if plant.habit == "herb":
        stem_m3 = math.pi / 4 * (row.stem_cm / 100) ** 2 * row.height_m
        juicy_kg = stem_m3 * rules.figure("juicy-form") * rules.figure("juicy-density")
        return Material(juicy_kg=share * (plant.cut_kg or juicy_kg))
    if plant.cut_kg is not None:
        wood_kg, leaves_kg = plant.cut_kg * row.count, 0.0
    else:
        wood, leaves = _dry_parts(row, plant, rules, other=other)
        wood_kg = share * wood / rules.figure("dry-share-wood")
        leaves_kg = share * leaves / rules.figure("dry-share-leaf")
    if leafless and plant.habit == "deciduous":
        leaves_kg = 0.0
    if row.cut_system == "leaves":
        return Material(leaves_kg=leaves_kg)
    split = rules.wood_splits[row.cut_system]
    return Material(
        wood_kg * split.logs, wood_kg * split.branches, wood_kg * split.twigs, leaves_kg
    )


def _dry_parts(row: Stock, plant: Plant, rules: RuleBook, *, other: bool) -> tuple[float, float]:
    """Wood and leaves, dry kg, of what the cut system takes from one plant in leaf."""
    of = _OTHER_HABIT[plant.habit] if other else plant.habit
    leaves = dry_mass_kg(rules.equations[f"leaves-{of}"], row.stem_cm)
    if row.cut_system not in WHOLE_TREE:
        return dry_mass_kg(rules.equations[f"branches-{of}"], row.stem_cm), leaves
    if plant.biomass and not other:
        tree = dry_mass_kg(rules.equations[plant.biomass], row.stem_cm)
    else:
        tree = chave_2014_kg(row.stem_cm, row.height_m, rules.figure("wood-density"))
    if plant.habit == "deciduous":
        leaves = tree * min(1.0, dry_mass_kg(rules.equations["leaf-share-hardwood"], row.stem_cm))
    return max(0.0, tree - leaves), leaves


def cut_material(
    kind: TaskType, stock: Iterable[Stock], rules: RuleBook, on: date | None = None
) -> Material:
    """What a cutting task brings down about a day.

    In the dormant visit without leaves that fall; of what was cut before, what has grown back
    since, by calendar months. Without a day, what was cut before counts as grown back.
    """
    total, leafless = Material(), kind.visit == LEAFLESS
    for row in stock:
        whole = material_of(row, rules, leafless=leafless)
        total += whole.scaled(_regrown(kind, row, rules, on))
    return total


def cut_mass_range(
    kind: TaskType, stock: Iterable[Stock], rules: RuleBook, on: date | None = None
) -> tuple[float, float]:
    """Between what the fresh mass of it may lie, kg.

    The equations are good to the figure ``mass-spread`` on either side; where the other
    published equation gives less or more than that, the range reaches to it.
    """
    spread, leafless = rules.figure("mass-spread"), kind.visit == LEAFLESS
    low_kg = high_kg = 0.0
    for row in stock:
        usual, other = (
            material_of(row, rules, leafless=leafless, other=other).fresh_kg
            for other in (False, True)
        )
        share = _regrown(kind, row, rules, on)
        low_kg += share * min(usual * (1 - spread), other)
        high_kg += share * max(usual * (1 + spread), other)
    return low_kg, high_kg


def _regrown(kind: TaskType, row: Stock, rules: RuleBook, on: date | None) -> float:
    """Share of what a cut takes that has grown back since an earlier cut."""
    regrowth, months = rules.regrowth_of(row.plant), kind.regrown_months
    if months is None and on is not None and row.last_cut is not None:
        months = max(0.0, (on - row.last_cut).days / MONTH_DAYS)
    return 1.0 if months is None or regrowth is None else min(1.0, months / regrowth.months)


def out_of_range(stock: Iterable[Stock], rules: RuleBook) -> tuple[tuple[str, Equation], ...]:
    """Kinds whose stems lie outside what their equation was fitted on, with the equation."""
    outside: dict[str, Equation] = {}
    for row in stock:
        plant = rules.plants[row.plant]
        if plant.habit == "herb":
            continue
        whole = row.cut_system in WHOLE_TREE and plant.biomass
        equation = rules.equations[plant.biomass if whole else f"branches-{plant.habit}"]
        if not equation.d_min_cm <= row.stem_cm <= equation.d_max_cm:
            outside[row.plant] = equation
    return tuple(outside.items())
