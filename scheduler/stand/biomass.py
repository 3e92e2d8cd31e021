"""Mass of what a cut brings down.

Dry mass comes from published equations in stem diameter (``rules/biomass.toml``; each with
its range and source) and, where a kind has none, from the pantropical equation 4 of Chave
et al. 2014. Within half or double is what such equations are good for.
"""

import math
from collections.abc import Iterable
from dataclasses import astuple, dataclass
from typing import Literal

from scheduler.holding import Equation, Plant, RuleBook, Stock
from scheduler.stand.cutting import cut_share


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

    def of(self, layer: Literal["logs", "branches", "twigs", "leaves", "juicy"]) -> float:
        """Fresh kg of one layer."""
        return {
            "logs": self.logs_kg,
            "branches": self.branches_kg,
            "twigs": self.twigs_kg,
            "leaves": self.leaves_kg,
            "juicy": self.juicy_kg,
        }[layer]

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

    Args:
        d_cm: stem diameter, 5 to 212 cm in the data it was fitted on (from memory).
        height_m: height, m.
        density_g_cm3: wood density, g/cm3.

    >>> round(chave_2014_kg(20.0, 12.0, 0.6), 1)
    160.1
    """
    return float(0.0673 * (density_g_cm3 * height_m * d_cm**2) ** 0.976)


def material_of(stock: Iterable[Stock], rules: RuleBook, *, leafless: bool = False) -> Material:
    """What cutting these plants by their cut systems brings down.

    Args:
        stock: the plants.
        rules: the rule book.
        leafless: whether kinds that drop their leaves stand without them.

    Returns:
        Fresh mass by layer.
    """
    total = Material()
    for row in stock:
        total += _material_of_row(row, rules.plants[row.plant], rules, leafless=leafless)
    return total


def mass_range(
    stock: Iterable[Stock], rules: RuleBook, *, leafless: bool = False
) -> tuple[float, float]:
    """Between what the fresh mass of a cut may lie, kg.

    The equations are good to the figure ``mass-spread`` on either side; where another
    published equation of the same kind (the crown equation of the other habit, the pantropical
    one of Chave for a whole tree) gives less or more than that, the range reaches to it.
    """
    spread = rules.figure("mass-spread")
    low_kg = high_kg = 0.0
    for row in stock:
        plant = rules.plants[row.plant]
        usual, *others = (
            _material_of_row(row, plant, rules, leafless=leafless, other=other).fresh_kg
            for other in (False, True)
        )
        low_kg += min(usual * (1 - spread), *others)
        high_kg += max(usual * (1 + spread), *others)
    return low_kg, high_kg


def _material_of_row(
    row: Stock, plant: Plant, rules: RuleBook, *, leafless: bool, other: bool = False
) -> Material:
    """Fresh mass of a row; by the other published equation, where there is one."""
    share = cut_share(row, rules) * row.count
    if plant.habit == "herb":
        each_kg = _juicy_kg(row, rules) if plant.cut_kg is None else plant.cut_kg
        return Material(juicy_kg=share * each_kg)
    if plant.cut_kg is not None:
        split = rules.wood_splits[row.cut_system]
        each_kg = plant.cut_kg * row.count
        return Material(each_kg * split.logs, each_kg * split.branches, each_kg * split.twigs)
    wood, leaves = _dry_parts(row, plant, rules, other=other)
    if row.cut_system == "leaves":
        wood = 0.0
    if leafless and plant.habit == "deciduous":
        leaves = 0.0
    split = rules.wood_splits[row.cut_system]
    wood_kg = share * wood / rules.figure("dry-share-wood")
    return Material(
        logs_kg=wood_kg * split.logs,
        branches_kg=wood_kg * split.branches,
        twigs_kg=wood_kg * split.twigs,
        leaves_kg=share * leaves / rules.figure("dry-share-leaf"),
    )


def _dry_parts(row: Stock, plant: Plant, rules: RuleBook, *, other: bool) -> tuple[float, float]:
    """Wood and leaves, dry kg, of what the cut system takes from one plant in leaf."""
    of = _OTHER_HABIT[plant.habit] if other else plant.habit
    leaves = dry_mass_kg(rules.equations[f"leaves-{of}"], row.stem_cm)
    if row.cut_system not in ("remove", "coppice"):
        return dry_mass_kg(rules.equations[f"branches-{of}"], row.stem_cm), leaves
    tree = _tree_kg(row, plant, rules, other=other)
    if plant.habit == "deciduous":
        leaves = tree * min(1.0, dry_mass_kg(rules.equations["leaf-share-hardwood"], row.stem_cm))
    return max(0.0, tree - leaves), leaves


_OTHER_HABIT = {"evergreen": "deciduous", "deciduous": "evergreen"}


def _tree_kg(row: Stock, plant: Plant, rules: RuleBook, *, other: bool) -> float:
    if plant.biomass and not other:
        return dry_mass_kg(rules.equations[plant.biomass], row.stem_cm)
    return chave_2014_kg(row.stem_cm, row.height_m, rules.figure("wood-density"))


def _juicy_kg(row: Stock, rules: RuleBook) -> float:
    volume_m3 = math.pi / 4 * (row.stem_cm / 100) ** 2 * row.height_m * rules.figure("juicy-form")
    return volume_m3 * rules.figure("juicy-density")


def out_of_range(stock: Iterable[Stock], rules: RuleBook) -> tuple[tuple[str, Equation], ...]:
    """Kinds whose stems lie outside what their equation was fitted on, with the equation."""
    found: dict[str, Equation] = {}
    for row in stock:
        plant = rules.plants[row.plant]
        if plant.habit == "herb":
            continue
        whole = row.cut_system in ("remove", "coppice") and plant.biomass
        equation = rules.equations[plant.biomass if whole else f"branches-{plant.habit}"]
        if not equation.d_min_cm <= row.stem_cm <= equation.d_max_cm:
            found[row.plant] = equation
    return tuple(found.items())
