"""``plots.toml`` and ``stock.csv``: the plots, and what grows in them."""

from typing import Literal

from scheduler.files import fields


@fields.table
class Line:
    """``[[plot.line]]``: one tree line.

    Args:
        id: name of the line within its plot.
        length_m: length, m.
        width_m: width of the strip that is weeded and mulched, m.
        power_line_m: from its nearest tree to a power line, m, where that is not the
            distance of the plot's hazard.
        mulch_cm: depth of the mulch that lay on it, cm.
        mulch_on: day on which that was measured.
    """

    id: fields.Name
    length_m: fields.LineM
    width_m: fields.WidthM = 1.5
    power_line_m: fields.DistanceM | None = None
    mulch_cm: fields.MulchCm | None = None
    mulch_on: fields.Day | None = None

    @property
    def area_m2(self) -> float:
        """Ground that is weeded and mulched, m2."""
        return self.length_m * self.width_m


@fields.table
class Hazard:
    """``[[plot.hazard]]``: something in or by the plot that can hurt people.

    Args:
        kind: what it is.
        distance_m: from the nearest tree that is cut, m.
        note: the grower's own words.
    """

    kind: Literal["power-line", "building", "road", "slope", "water", "dead-wood", "nests"]
    distance_m: fields.DistanceM | None = None
    note: str = ""


@fields.table
class Trigger:
    """``trigger = [{ stratum = "high", share = 0.25 }]``: cover at which a stratum is cut."""

    stratum: fields.Stratum
    share: fields.Positive


@fields.table
class ChosenAdjustment:
    """``adjustment = [{ id = "hollow", by_c = -2 }]``: a published range the grower takes from.

    Args:
        id: a ``[[site_adjustment]]`` of frost.toml.
        by_c: how much warmer (colder if negative) the plot's frosty nights are, degrees C; for
            each 100 m where the range is told so.
        height_m: height above the basin floor, for ranges told by 100 m.
    """

    id: fields.Slug
    by_c: fields.OffsetC
    height_m: fields.DistanceM | None = None


@fields.table
class Plot:
    """``[[plot]]`` of ``plots.toml``.

    Args:
        id: short name used in the other files.
        name: what people call it.
        area_m2: whole ground, alleys included, m2.
        planted: year of planting.
        frost_offset_c: plot minus station on a frosty night, degrees C; a hollow is
            negative. Where it is left out, it is fitted from ``logger``, else guessed from
            ``elev_m``, else 0.
        logger: file of a data logger that stood in the plot beside the running station.
        elev_m: height above sea level, for a guess where nothing was measured.
        adjustment: published adjustments the grower has chosen.
        threshold_c: the grower's own damaging temperature here, degrees C.
        own_last: the grower's own last frost here, MM-DD, used where no record is.
        own_first: likewise the first frost.
        alley_plants: shade-tolerant plants to set in the opened alleys.
        alley_light: light class of the alley crops, such as ``partial``; empty asks for none.
        line_light: light class of the seedlings in the lines; empty asks for none.
        ripe_later_days: days by which crops ripen later here than their kind's months say; below 0
            earlier.
        watered: whether young plants are watered through the dry months.
        removal_share: most of the support trees of a row that go in a year, where that is not
            the rule book's.
        also: task types that are done only where a plot asks for them, such as ``free-vines``.
        trigger: cover at which the grower cuts a stratum here, in place of the rule book's.
        line: the tree lines.
        hazard: what can hurt people there.
    """

    id: fields.Slug
    name: fields.Name
    area_m2: fields.GroundM2
    planted: fields.Year
    frost_offset_c: fields.OffsetC | None = None
    logger: fields.Told | None = None
    elev_m: fields.ElevM | None = None
    adjustment: tuple[ChosenAdjustment, ...] = ()
    threshold_c: fields.Celsius | None = None
    own_last: fields.MonthDay | None = None
    own_first: fields.MonthDay | None = None
    alley_plants: fields.Count = 0
    alley_light: str = ""
    line_light: str = ""
    ripe_later_days: fields.RipeLater = 0
    watered: fields.YesNo = False
    removal_share: fields.Share | None = None
    also: tuple[fields.Slug, ...] = ()
    trigger: tuple[Trigger, ...] = ()
    line: tuple[Line, ...] = ()
    hazard: tuple[Hazard, ...] = ()


@fields.table
class Stock:
    """One row of ``stock.csv``: plants of one kind and size in one plot.

    Args:
        plot: id of the plot.
        line: id of the tree line; empty where the plants stand outside the lines.
        plant: id of the kind in the rule book.
        stratum: layer it fills.
        role: what it is there for.
        cut_system: how it is cut; ``none`` is never cut.
        count: number of plants.
        stem_cm: stem diameter at breast height, cm (many stems: root of the sum of squares).
        height_m: height, m.
        crown_m: width of the grown-out crown, m; after a cut, the width it grows back to.
        last_cut: day of the last heavy cut, if known.
        cut_share: share of the crown that a cut takes here, where the grower sets it.
        power_line_m: from the nearest of them to a power line, m; goes before the distance
            of line and plot.
        note: the grower's own words.
    """

    plot: fields.Slug
    plant: fields.Slug
    stratum: fields.Stratum
    role: fields.Role
    cut_system: fields.CutSystem
    count: fields.CountOfSome
    stem_cm: fields.StemCm
    height_m: fields.TreeM
    crown_m: fields.WidthM
    line: str = ""
    last_cut: fields.Day | None = None
    cut_share: fields.Share | None = None
    power_line_m: fields.DistanceM | None = None
    note: str = ""
