"""The mulch of the tree lines: layers coarse to fine, how deep, how long they last."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from scheduler.holding import Holding, Plot, RuleBook, Stock
from scheduler.holding.fields import Visit
from scheduler.holding.plants import Layer
from scheduler.holding.plots import Line
from scheduler.stand.biomass import Material
from scheduler.stand.growth import Warmth
from scheduler.stand.work import Task, cut_material

_FREEZING_C = 0.0  # nothing rots in ice
_HORIZON_DAYS = 3653  # how far ahead the day is looked for on which a line wants feeding


@dataclass(frozen=True, slots=True)
class LaidLayer:
    """One layer on one line.

    Args:
        layer: what it is made of.
        kg: fresh mass, kg.
        volume_m3: as it lies, m3.
        depth_cm: over the line without its bare rings, cm.
    """

    layer: Layer
    kg: float
    volume_m3: float
    depth_cm: float


@dataclass(frozen=True)
class LineMulch:
    """The mulch of one line after one visit.

    Args:
        line: the line.
        area_m2: ground that is mulched: the strip without the bare rings, m2.
        bare_m2: bare rings round the stems of the line, m2.
        layers: what is laid, coarse to fine; those without mass are left out.
        short_kg: fresh kg of chips missing to the least cover; 0 where there is enough.
        surplus_kg: fresh kg of cover above the most a line takes; 0 where there is room.
        feed_on: first day on which its cover is thinner than wanted; None where never so
            within ten years.
    """

    line: Line
    area_m2: float
    bare_m2: float
    layers: tuple[LaidLayer, ...]
    short_kg: float
    surplus_kg: float
    feed_on: date | None

    @property
    def cover_cm(self) -> float:
        """Depth of the layers that cover and feed, cm."""
        return sum(laid.depth_cm for laid in self.layers if laid.layer.feeds)

    @property
    def depth_cm(self) -> float:
        """Depth of all layers, cm."""
        return sum(laid.depth_cm for laid in self.layers)


def mulch_of(
    plot: Plot, visit: Visit, tasks: Sequence[Task], holding: Holding, on: date, warmth: Warmth
) -> tuple[LineMulch, ...]:
    """What a visit lays on each line of a plot.

    What is cut in a line stays on it; what is cut outside the lines goes to all lines by
    their area.

    Args:
        plot: the plot; one without lines has no mulch.
        visit: the visit whose cuts are laid.
        tasks: the tasks of the plan.
        holding: the site's files.
        on: day on which it is laid.
        warmth: what rotting is counted by.

    Returns:
        One entry a line, in the order of ``plots.toml``.
    """
    mine = [t for t in tasks if t.plot_id == plot.id and t.type.cuts and t.type.visit == visit]
    whole_m2 = sum(line.area_m2 for line in plot.line)
    rules, stems = holding.rules, [row for row in holding.stock if row.plot == plot.id]
    outside = _cut_in("", mine, rules)
    return tuple(
        _line_mulch(
            line,
            _cut_in(line.id, mine, rules) + outside.scaled(line.area_m2 / whole_m2),
            min(0.5 * line.area_m2, sum(_ring_m2(r, rules) for r in stems if r.line == line.id)),
            rules,
            (on, warmth),
        )
        for line in plot.line
    )


def _cut_in(line_id: str, tasks: Sequence[Task], rules: RuleBook) -> Material:
    total = Material()
    for task in tasks:
        rows = [row for row in task.stock if row.line == line_id]
        total += cut_material(task.type, rows, rules)
    return total


def _ring_m2(row: Stock, rules: RuleBook) -> float:
    radius_m = row.stem_cm / 200 + rules.figure("bare-ring")
    return math.pi * radius_m**2 * row.count


def _line_mulch(
    line: Line, material: Material, bare_m2: float, rules: RuleBook, since: tuple[date, Warmth]
) -> LineMulch:
    area_m2 = line.area_m2 - bare_m2
    layers = tuple(laid_layers(material, area_m2, rules))
    cover_cm = sum(laid.depth_cm for laid in layers if laid.layer.feeds)
    chips = rules.layers["twigs"].bulk_kg_m3 * area_m2 / 100  # kg to the cm
    return LineMulch(
        line=line,
        area_m2=area_m2,
        bare_m2=bare_m2,
        layers=layers,
        short_kg=max(0.0, rules.figure("mulch-least") - cover_cm) * chips,
        surplus_kg=max(0.0, cover_cm - rules.figure("mulch-most")) * chips,
        feed_on=_feed_on(layers, rules, *since),
    )


def laid_layers(material: Material, area_m2: float, rules: RuleBook) -> Iterator[LaidLayer]:
    """The layers of a mass spread over an area, coarse to fine.

    Depth in cm is 100 times fresh kg/m2 over the bulk density: 26.5 kg/m2 of wet chips at
    265 kg/m3 lie 10 cm deep.
    """
    for layer in sorted(rules.layers.values(), key=lambda layer: layer.order):
        kg = material.of(layer.id)
        if kg > 0:
            volume_m3 = kg / layer.bulk_kg_m3
            yield LaidLayer(layer, kg, volume_m3, 100 * volume_m3 / area_m2)


def cover_left_cm(layers: Sequence[LaidLayer], months: float) -> float:
    """Depth of cover, cm, that is left after months of mean warmth."""
    return sum(
        laid.depth_cm * math.exp2(-months / laid.layer.half_life_months)
        for laid in layers
        if laid.layer.feeds
    )


def _feed_on(
    layers: Sequence[LaidLayer], rules: RuleBook, on: date, warmth: Warmth
) -> date | None:
    least_cm, base_c = rules.figure("mulch-feed"), _FREEZING_C
    low, high = on, on + timedelta(days=_HORIZON_DAYS)
    if cover_left_cm(layers, warmth.months(on, high, base_c)) >= least_cm:
        return None
    while low < high:
        middle = low + (high - low) // 2
        if cover_left_cm(layers, warmth.months(on, middle, base_c)) < least_cm:
            high = middle
        else:
            low = middle + timedelta(days=1)
    return low


@dataclass(frozen=True, slots=True)
class ChipperWorth:
    """Whether a chipper is worth its hire.

    Args:
        twigs_kg: what would be chipped, fresh kg.
        saved_h: person-hours it saves against sectioning and laying by hand.
        days: days of hire.
        worth: whether each of those days saves enough.
    """

    twigs_kg: float
    saved_h: float
    days: int
    worth: bool


def chipper_worth(tasks: Sequence[Task], rules: RuleBook) -> ChipperWorth:
    """Weigh a chipper against laying twigs by hand, for tasks that call for one.

    Chipped twigs are fed to the machine and spread with the fine layers; without it they
    are sectioned and laid by hand.

    Args:
        tasks: tasks that use a chipper, of one plot or of several that share one hire.
        rules: the rule book.
    """
    chips = [task for task in tasks if task.hired and task.type.rate == "chip"]
    twigs_kg = sum(task.material.twigs_kg for task in chips)
    feeding_h = sum(task.hours.usual for task in chips)
    spread = rules.rates["lay-fine"]
    spread_h = twigs_kg / spread.per_hour if spread.kind == "by-amount" else 0.0
    saved_h = twigs_kg / rules.figure("brush-by-hand") - feeding_h - spread_h
    people = max((sum(task.team.values()) for task in chips), default=1)
    days = math.ceil(feeding_h / people / rules.figure("hire-day-hours"))
    return ChipperWorth(
        twigs_kg, saved_h, days, days > 0 and saved_h >= days * rules.figure("hire-day-worth")
    )
