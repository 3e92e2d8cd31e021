"""Kinds of plants, what a cut takes off them, the cover they are kept to: rule book entries."""

from typing import Literal

from scheduler.files import fields


@fields.table
class Names:
    """``names = { es = [...], pt = [...], fr = [...] }``: what else people call a kind.

    Args:
        en: further English names.
        es: Spanish names, the usual one first.
        pt: Portuguese names.
        fr: French names.
    """

    en: tuple[fields.Told, ...] = ()
    es: tuple[fields.Told, ...] = ()
    pt: tuple[fields.Told, ...] = ()
    fr: tuple[fields.Told, ...] = ()

    @property
    def every(self) -> tuple[str, ...]:
        """All of them."""
        return (*self.en, *self.es, *self.pt, *self.fr)


@fields.table
class Picking:
    """``picked = {...}``: when and how fast a kind is picked.

    Args:
        first: month after the local winter solstice from which its crop is ripe.
        last: month by which it is picked; smaller than ``first`` where it runs over midwinter.
        rounds: how often one goes through, evenly over that time.
        kg_hour: fresh kg in a person-hour.
        source: where months and pace come from.
    """

    first: fields.WinterMonth
    last: fields.WinterMonth
    rounds: fields.SmallCount = 1
    kg_hour: fields.Positive
    source: fields.Told


@fields.table
class Plant:
    """``[[plant]]``: one kind.

    Args:
        id: name used in ``stock.csv``.
        name: common name.
        names: other common names, by language.
        botanical: scientific name.
        group: which rules of cutting speak of it, such as ``stone-fruit``.
        habit: keeps its leaves, drops them, or dies back.
        rest_c: temperature that kills it hardened and at rest, degrees C, where known.
        growth_c: temperature that kills new growth, degrees C.
        young_c: temperature that kills it in its first three years, degrees C; where it is
            not known, the figure ``young-tenderer`` above ``rest_c``.
        picked: when its crop is picked; None where nobody picks it.
        invasive: where it runs wild, and what to mind; empty where it is not known to.
        cut_kg: fresh mass that a usual cut takes off one plant, kg, where its stem tells little.
        biomass: id of the equation for its mass; empty takes the crown equation of its
            habit.
        leaf_area: leaf area over the ground below its crown (m2/m2), where it is known; else
            light passes as ``[[crown_light]]`` of its habit says.
        caution: what its sap, thorns or dust do to people, if anything.
        source: where the temperatures come from.
    """

    id: fields.Slug
    name: fields.Told
    names: Names = Names()
    botanical: fields.Told
    group: fields.Slug
    habit: fields.Habit
    rest_c: fields.Celsius | None = None
    growth_c: fields.Celsius = -1.0
    young_c: fields.Celsius | None = None
    picked: Picking | None = None
    invasive: str = ""
    cut_kg: fields.Positive | None = None
    biomass: str = ""
    leaf_area: fields.Positive | None = None
    caution: str = ""
    source: fields.Told


@fields.table
class CutShare:
    """``[[cut_share]]``: share of the crown (or tree) that a cut takes, by cut system."""

    id: fields.CutSystem
    share: fields.Share
    source: fields.Told


@fields.table
class WoodSplit:
    """``[[wood_split]]``: what the cut wood of a cut system is, as shares of its mass.

    Args:
        logs: thicker than a forearm; laid first.
        branches: laid across the logs.
        twigs: chipped, or laid with the leaves.
    """

    id: fields.CutSystem
    logs: fields.Share
    branches: fields.Share
    twigs: fields.Share
    source: fields.Told


@fields.table
class Equation:
    """``[[equation]]``: a published dry mass (kg) from stem diameter (cm).

    Args:
        form: ``exp-ln`` is exp(a + b ln D), ``ten-log`` is 10^(a + b log10 D), ``power`` is
            a D^b, ``exp-inverse`` is exp(a + b / D).
        of: whole tree above ground, or branches or leaves of the crown; ``leaf-share`` is the
            leaves' share of the whole tree.
        d_min_cm: thinnest stem it was fitted on.
        d_max_cm: thickest stem it was fitted on.
    """

    id: fields.Slug
    form: Literal["exp-ln", "ten-log", "power", "exp-inverse"]
    of: Literal["tree", "branches", "leaves", "leaf-share"]
    a: fields.Number
    b: fields.Number
    d_min_cm: fields.Amount
    d_max_cm: fields.Positive
    source: fields.Told


@fields.table
class CoverTarget:
    """``[[cover_target]]``: crown cover a stratum is kept to, as a share of the plot.

    Args:
        id: stratum.
        share: cover that is wanted.
        trigger: cover at which it is cut; a plot may have its own.
    """

    id: fields.Stratum
    share: fields.Share
    trigger: fields.Positive
    source: fields.Told


@fields.table
class Regrowth:
    """``[[regrowth]]``: how a kind or group comes back after a cut.

    Args:
        id: a group of plants, or one kind, which then goes before its group.
        months: to a full crown, in months of the year's mean warmth.
        low: months in the quickest report.
        high: months in the slowest report.
        base_c: a night's minimum below this adds no growth, degrees C.
        least_months: cut again sooner than this it weakens or dies.
    """

    id: fields.Slug
    months: fields.Positive
    low: fields.Positive
    high: fields.Positive
    base_c: fields.Celsius
    least_months: fields.Amount
    source: fields.Told


@fields.table
class CrownLight:
    """``[[crown_light]]``: share of the light that a crown lets through, by habit.

    Args:
        id: habit.
        through: in leaf.
        bare: leafless; left out, it never stands so.
        leaf_first: month after the local winter solstice in which it comes into leaf.
        leaf_last: month in which the leaves are down; the grower's own signs go before.
    """

    id: fields.Habit
    through: fields.Share
    bare: fields.Share | None = None
    leaf_first: fields.WinterMonth = 0.0
    leaf_last: fields.WinterMonth = 12.0
    source: fields.Told


@fields.table
class LightClass:
    """``[[light_class]]``: least share of open light that crops of a class want."""

    id: fields.Slug
    least: fields.Share
    source: fields.Told


@fields.table
class Layer:
    """``[[layer]]``: one layer of the tree-line mulch.

    Args:
        id: what it is made of.
        order: 1 lies lowest.
        bulk_kg_m3: fresh mass of a cubic metre as it lies.
        half_life_months: until half of it has rotted, in months at the temperature of the
            figure ``rot-reference``.
        quick_months: the same in the quickest report.
        slow_months: the same in the slowest.
        feeds: whether it covers and feeds the line, or lies below as its frame.
    """

    id: Literal["logs", "branches", "twigs", "leaves", "juicy"]
    order: fields.CountOfSome
    bulk_kg_m3: fields.Positive
    half_life_months: fields.Positive
    quick_months: fields.Positive
    slow_months: fields.Positive
    feeds: fields.YesNo
    source: fields.Told


@fields.table
class Yield:
    """``[[harvest]]``: fresh harvest of one plant of a kind in a year.

    Args:
        id: kind.
        first_year: year after planting of the first harvest worth picking.
        full_year: year after planting from which it bears in full.
        low_kg: in a poor year, in full bearing.
        high_kg: in a good year, in full bearing.
    """

    id: fields.Slug
    first_year: fields.CountOfSome
    full_year: fields.CountOfSome
    low_kg: fields.Amount
    high_kg: fields.Positive
    source: fields.Told
