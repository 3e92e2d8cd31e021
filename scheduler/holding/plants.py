"""Kinds of plants, what a cut takes off them, the cover they are kept to: rule book entries."""

from typing import Literal

from scheduler.files import fields


@fields.table
class Names:
    """``names = { es = [...], pt = [...], fr = [...] }``: what else people call a kind."""

    en: tuple[fields.Told, ...] = ()
    es: tuple[fields.Told, ...] = ()  # the usual one first
    pt: tuple[fields.Told, ...] = ()
    fr: tuple[fields.Told, ...] = ()

    @property
    def every(self) -> tuple[str, ...]:
        """All of them."""
        return (*self.en, *self.es, *self.pt, *self.fr)


@fields.table
class Picking:
    """``picked = {...}``: when and how fast a kind is picked."""

    first: fields.WinterMonth  # month after the local winter solstice in which its crop gets ripe
    last: fields.WinterMonth  # by which it is picked; below ``first`` where it runs over midwinter
    rounds: fields.SmallCount = 1  # spread evenly over that time
    kg_hour: fields.Positive  # fresh, in a person-hour
    source: fields.Told  # where months and pace come from


@fields.table
class Plant:
    """``[[plant]]``: one kind."""

    id: fields.Slug  # name used in ``stock.csv``
    name: fields.Told
    names: Names = Names()
    botanical: fields.Told
    group: fields.Slug  # which rules of cutting speak of it, such as ``stone-fruit``
    habit: fields.Habit  # keeps its leaves, drops them, or dies back
    # taken where stock.csv leaves them empty, in place of the usual ones of its group
    stratum: fields.Stratum | None = None
    role: fields.Role | None = None
    cut_system: fields.CutSystem | None = None
    rest_c: fields.Celsius | None = None  # kills it hardened and at rest, degrees C
    growth_c: fields.Celsius = -1.0  # kills new growth
    # kills it in its first three years; left out, the figure ``young-tenderer`` above ``rest_c``
    young_c: fields.Celsius | None = None
    picked: Picking | None = None  # None where nobody picks it
    invasive: str = ""  # where it runs wild, and what to mind; empty where it is not known to
    cut_kg: fields.Positive | None = None  # fresh, off one plant, where its stem tells little
    biomass: str = ""  # equation for its mass; empty takes the crown equation of its habit
    caution: str = ""  # what its sap, thorns or dust do to people, if anything
    source: fields.Told  # where the temperatures come from


@fields.table
class Usual:
    """``[[usual]]``: where plants of a group stand, what for, and how they are cut."""

    id: fields.Slug  # a group of plants
    stratum: fields.Stratum
    role: fields.Role
    cut_system: fields.CutSystem
    source: fields.Told


@fields.table
class PlantGrowth:
    """``[[growth]]``: size of plants by age; the first entry that fits is taken."""

    id: fields.Slug
    groups: tuple[fields.Slug, ...] = ()  # all where left out
    strata: tuple[fields.Stratum, ...] = ()  # likewise
    stem_cm: fields.Positive  # once grown, as kept in a food forest
    height_m: fields.Positive  # likewise
    crown_m: fields.Positive  # likewise, the width
    half_years: fields.Positive  # in which half of it is reached
    source: fields.Told


@fields.table
class CutShare:
    """``[[cut_share]]``: share of the crown (or tree) that a cut takes, by cut system."""

    id: fields.CutSystem
    share: fields.Share
    source: fields.Told


@fields.table
class WoodSplit:
    """``[[wood_split]]``: what the cut wood of a cut system is, as shares of its mass."""

    id: fields.CutSystem
    logs: fields.Share  # thicker than a forearm; laid first
    branches: fields.Share  # laid across the logs
    twigs: fields.Share  # chipped, or laid with the leaves
    source: fields.Told


@fields.table
class Equation:
    """``[[equation]]``: a published dry mass (kg) from stem diameter (cm)."""

    id: fields.Slug
    # ``exp-ln`` is exp(a + b ln D), ``ten-log`` is 10^(a + b log10 D), ``power`` is a D^b,
    # ``exp-inverse`` is exp(a + b / D)
    form: Literal["exp-ln", "ten-log", "power", "exp-inverse"]
    # whole tree above ground, or branches or leaves of the crown; ``leaf-share`` is the leaves'
    # share of the whole tree
    of: Literal["tree", "branches", "leaves", "leaf-share"]
    a: fields.Number
    b: fields.Number
    d_min_cm: fields.Amount  # thinnest stem it was fitted on
    d_max_cm: fields.Positive  # thickest stem it was fitted on
    source: fields.Told


@fields.table
class CoverTarget:
    """``[[cover_target]]``: crown cover a stratum is kept to, as a share of the plot."""

    id: fields.Stratum
    share: fields.Share  # cover that is wanted
    trigger: fields.Positive  # cover at which it is cut; a plot may have its own
    source: fields.Told


@fields.table
class Regrowth:
    """``[[regrowth]]``: how a kind or group comes back after a cut."""

    id: fields.Slug  # a group of plants, or one kind, which then goes before its group
    months: fields.Positive  # to a full crown, in months of the year's mean warmth
    low: fields.Positive  # months in the quickest report
    high: fields.Positive  # months in the slowest report
    base_c: fields.Celsius  # a night's minimum below this adds no growth, degrees C
    least_months: fields.Amount  # cut again sooner than this it weakens or dies
    source: fields.Told


@fields.table
class CrownLight:
    """``[[crown_light]]``: share of the light that a crown lets through, by habit."""

    id: fields.Habit
    through: fields.Share  # in leaf
    bare: fields.Share | None = None  # leafless; left out, it never stands so
    leaf_first: fields.WinterMonth = 0.0  # when in leaf; the grower's own signs go before
    leaf_last: fields.WinterMonth = 12.0  # when the leaves are down
    source: fields.Told


@fields.table
class LightClass:
    """``[[light_class]]``: least share of open light that crops of a class want."""

    id: fields.Slug
    least: fields.Share
    source: fields.Told


@fields.table
class Layer:
    """``[[layer]]``: one layer of the tree-line mulch."""

    id: Literal["logs", "branches", "twigs", "leaves", "juicy"]
    order: fields.CountOfSome  # 1 lies lowest
    bulk_kg_m3: fields.Positive  # fresh mass of a cubic metre as it lies
    # until half of it has rotted, in months at the temperature of the figure ``rot-reference``
    half_life_months: fields.Positive
    quick_months: fields.Positive  # the same in the quickest report
    slow_months: fields.Positive  # the same in the slowest
    feeds: fields.YesNo  # whether it covers and feeds the line, or lies below as its frame
    source: fields.Told


@fields.table
class Yield:
    """``[[harvest]]``: fresh harvest of one plant of a kind in a year."""

    id: fields.Slug
    first_year: fields.CountOfSome  # year after planting of the first harvest worth picking
    full_year: fields.CountOfSome  # year after planting from which it bears in full
    low_kg: fields.Amount  # in a poor year, in full bearing
    high_kg: fields.Positive  # in a good year, in full bearing
    source: fields.Told
