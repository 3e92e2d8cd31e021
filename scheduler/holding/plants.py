"""Kinds of plants, what a cut takes off them, the cover they are kept to: rule book entries."""

from typing import Literal

from scheduler.holding.fields import (
    Amount,
    Celsius,
    CutSystem,
    Number,
    Positive,
    Share,
    Slug,
    Stratum,
    Told,
    WinterMonth,
    table,
)


@table
class Plant:
    """``[[plant]]``: one kind.

    Args:
        id: name used in ``stock.csv``.
        name: common name.
        botanical: scientific name.
        group: which rules of cutting speak of it, such as ``stone-fruit``.
        habit: keeps its leaves, drops them, or dies back.
        rest_c: temperature that kills it hardened and at rest, degrees C, where known.
        growth_c: temperature that kills new growth, degrees C.
        picked_by: month after the local winter solstice by which its crop is usually picked.
        biomass: id of the equation for its mass; empty takes the crown equation of its
            habit.
        caution: what its sap, thorns or dust do to people, if anything.
        source: where the temperatures come from.
    """

    id: Slug
    name: Told
    botanical: Told
    group: Slug
    habit: Literal["evergreen", "deciduous", "herb"]
    rest_c: Celsius | None = None
    growth_c: Celsius = -1.0
    picked_by: WinterMonth | None = None
    biomass: str = ""
    caution: str = ""
    source: Told


@table
class CutShare:
    """``[[cut_share]]``: share of the crown (or tree) that a cut takes, by cut system."""

    id: CutSystem
    share: Share
    source: Told


@table
class WoodSplit:
    """``[[wood_split]]``: what the cut wood of a cut system is, as shares of its mass.

    Args:
        logs: thicker than a forearm; laid first.
        branches: laid across the logs.
        twigs: chipped, or laid with the leaves.
    """

    id: CutSystem
    logs: Share
    branches: Share
    twigs: Share
    source: Told


@table
class Equation:
    """``[[equation]]``: a published dry mass (kg) from stem diameter (cm).

    Args:
        form: ``exp-ln`` is exp(a + b ln D), ``ten-log`` is 10^(a + b log10 D), ``power`` is
            a D^b.
        of: whole tree above ground, or branches or leaves of the crown.
        d_min_cm: thinnest stem it was fitted on.
        d_max_cm: thickest stem it was fitted on.
    """

    id: Slug
    form: Literal["exp-ln", "ten-log", "power"]
    of: Literal["tree", "branches", "leaves"]
    a: Number
    b: Number
    d_min_cm: Amount
    d_max_cm: Positive
    source: Told


@table
class CoverTarget:
    """``[[cover_target]]``: crown cover a stratum is kept to, as a share of the plot."""

    id: Stratum
    share: Share
    source: Told
