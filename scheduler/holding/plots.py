"""``plots.toml`` and ``stock.csv``: the plots, and what grows in them."""

from dataclasses import field
from typing import Literal

from scheduler.files import fields


@fields.table
class Line:
    """``[[plot.line]]``: one tree line."""

    id: fields.Name  # within its plot
    length_m: fields.LineM
    width_m: fields.WidthM = 1.5  # of the strip that is weeded and mulched
    # from its nearest tree, where that is not the distance of the plot's hazard
    power_line_m: fields.DistanceM | None = None
    mulch_cm: fields.MulchCm | None = None  # depth of the mulch that lay there
    mulch_on: fields.Day | None = None  # day on which that was measured

    @property
    def area_m2(self) -> float:
        """Ground that is weeded and mulched, m2."""
        return self.length_m * self.width_m


@fields.table
class Hazard:
    """``[[plot.hazard]]``: something in or by the plot that can hurt people."""

    kind: Literal["power-line", "building", "road", "slope", "water", "dead-wood", "nests"]
    distance_m: fields.DistanceM | None = None  # from the nearest tree that is cut
    note: str = ""  # the grower's own words


@fields.table
class Trigger:
    """``trigger = [{ stratum = "high", share = 0.25 }]``: cover at which a stratum is cut."""

    stratum: fields.Stratum
    share: fields.Positive


@fields.table
class ChosenAdjustment:
    """``adjustment = [{ id = "hollow", by_c = -2 }]``: a published range the grower takes from."""

    id: fields.Slug  # a ``[[site_adjustment]]`` of frost.toml
    # how much warmer (colder if negative) the plot's frosty nights are, degrees C; for each 100 m
    # where the range is told so
    by_c: fields.OffsetC
    height_m: fields.DistanceM | None = None  # above the basin floor, for ranges told by 100 m


@fields.table
class Plot:
    """``[[plot]]`` of ``plots.toml``."""

    id: fields.Slug  # short name used in the other files
    name: fields.Name
    area_m2: fields.GroundM2  # whole ground, alleys included
    planted: fields.Year
    # plot minus station on a frosty night, degrees C; a hollow is negative. Where it is left out,
    # it is fitted from ``logger``, else guessed from ``elev_m``, else 0
    frost_offset_c: fields.OffsetC | None = None
    logger: fields.Told | None = None  # file of a data logger that stood there
    elev_m: fields.ElevM | None = None  # above sea level, for a guess where nothing was measured
    adjustment: tuple[ChosenAdjustment, ...] = ()
    threshold_c: fields.Celsius | None = None  # the grower's own damaging temperature here
    own_last: fields.MonthDay | None = None  # the last frost, used where no record is
    own_first: fields.MonthDay | None = None  # likewise the first frost
    alley_plants: fields.Count = 0  # shade-tolerant plants to set in the opened alleys
    alley_light: str = ""  # light class of the alley crops, as ``partial``; empty asks for none
    line_light: str = ""  # likewise of the seedlings in the lines
    ripe_later_days: fields.RipeLater = 0  # later than the months of a kind say; below 0 earlier
    watered: fields.YesNo = False  # young plants are watered through the dry months
    # most of the support trees of a row that go in a year, in place of the rule book's
    removal_share: fields.Share | None = None
    also: tuple[fields.Slug, ...] = ()  # task types that it asks for, such as ``free-vines``
    trigger: tuple[Trigger, ...] = ()  # in place of those of the rule book
    line: tuple[Line, ...] = ()
    hazard: tuple[Hazard, ...] = ()


@fields.table
class CountedStock:
    """One row of ``stock.csv``: plants of one kind and size in one plot; much may be empty."""

    # any words: what leads to no plot or kind is a fault of its own, with the nearest name
    plot: fields.Told
    plant: fields.Told  # kind in the rule book, or one that is guessed
    stratum: fields.Stratum | None = None
    role: fields.Role | None = None  # what it is there for
    cut_system: fields.CutSystem | None = None  # how it is cut; ``none`` is never cut
    count: fields.CountOfSome
    # diameter at breast height (many stems: root of the sum of squares)
    stem_cm: fields.StemCm | None = None
    height_m: fields.TreeM | None = None
    # width of the crown once grown out, or grown back after a cut
    crown_m: fields.WidthM | None = None
    line: str = ""  # id of the tree line; empty where the plants stand outside the lines
    last_cut: fields.Day | None = None  # the last heavy one, if known
    cut_share: fields.Share | None = None  # of the crown, in place of the rule book's
    power_line_m: fields.DistanceM | None = None  # goes before the distance of line and plot
    group: str = ""  # of a kind that the rule book lacks: three answers, or a group
    note: str = ""  # the grower's own words


@fields.table
class Stock(CountedStock):
    """A row of stock with nothing empty that the work needs."""

    stratum: fields.Stratum = field()
    role: fields.Role = field()
    cut_system: fields.CutSystem = field()
    stem_cm: fields.StemCm = field()
    height_m: fields.TreeM = field()
    crown_m: fields.WidthM = field()
    assumed: tuple[str, ...] = ()  # names of the sizes that nobody measured
