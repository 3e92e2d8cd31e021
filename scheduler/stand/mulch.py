"""The mulch of the tree lines: layers coarse to fine, how deep, how long they last."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Literal, TypeAlias, get_args

import numpy as np
from numpy.typing import NDArray

from scheduler.files import fields
from scheduler.holding import Layer, Line, Plot, RuleBook, Stock
from scheduler.stand.biomass import Material
from scheduler.stand.cut_mass import cut_material
from scheduler.stand.growth import HORIZON_DAYS
from scheduler.stand.rotting import Rotting
from scheduler.stand.work import Task

Life: TypeAlias = Literal["half_life_months", "quick_months", "slow_months"]
USUAL: Life = "half_life_months"
OLD_MULCH = "twigs"  # what lay there before is taken to rot as chips do


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


@dataclass(frozen=True, slots=True)
class Lying:
    """Cover that lies on a line since a day.

    Args:
        layer: what it is made of.
        depth_cm: depth on that day, cm.
        since: the day.
    """

    layer: Layer
    depth_cm: float
    since: date


@dataclass(frozen=True)
class LineMulch:
    """The mulch of one line after one visit.

    Args:
        line: the line.
        on: day on which it is laid.
        area_m2: ground that is mulched: the strip without the bare rings, m2.
        bare_m2: bare rings round the stems of the line, m2.
        layers: what is laid, coarse to fine; those without mass are left out.
        short_kg: fresh kg of chips missing to the least cover; 0 where there is enough.
        surplus_kg: fresh kg of cover above the most a line takes; 0 where there is room.
        old_cm: what lay on the line before, as far as it is known, and is left that day, cm.
        feed_on: first day on which its cover is thinner than wanted; None where never so
            within ten years.
        feed_early: the same day if all rots as quickly as is reported.
        feed_late: the same day if all rots as slowly as is reported.
    """

    line: Line
    on: date
    area_m2: float
    bare_m2: float
    layers: tuple[LaidLayer, ...]
    short_kg: float = 0.0
    surplus_kg: float = 0.0
    old_cm: float = 0.0
    feed_on: date | None = None
    feed_early: date | None = None
    feed_late: date | None = None

    @property
    def cover_cm(self) -> float:
        """Depth of the layers that cover and feed, cm."""
        return sum(laid.depth_cm for laid in self.layers if laid.layer.feeds)

    @property
    def lying(self) -> tuple[Lying, ...]:
        """What it adds to the cover of the line."""
        return tuple(
            Lying(laid.layer, laid.depth_cm, self.on) for laid in self.layers if laid.layer.feeds
        )


@dataclass(frozen=True, eq=False)
class Laying:
    """What a visit lays.

    Args:
        visit: the visit whose cuts are laid.
        tasks: the tasks of the plan.
        stock: stock of all plots.
        rotting: how fast it rots.
    """

    visit: fields.Visit
    tasks: Sequence[Task]
    stock: Sequence[Stock]
    rotting: Rotting


def mulch_of(
    plot: Plot, laying: Laying, on: date, before: Sequence[LineMulch] = ()
) -> tuple[LineMulch, ...]:
    """What a visit lays on each line of a plot.

    What is cut in a line stays on it; what is cut outside the lines goes to all lines by
    their area.

    Args:
        plot: the plot; one without lines has no mulch.
        laying: the visit whose cuts are laid, and what there is to know of it.
        on: day on which it is laid.
        before: what earlier visits of the plan lay on the lines.

    Returns:
        One entry a line, in the order of ``plots.toml``.
    """
    there, rotting = (plot.id, laying.visit), laying.rotting
    cuts = [t for t in laying.tasks if t.type.cuts and (t.plot_id, t.type.visit) == there]
    whole_m2 = sum(line.area_m2 for line in plot.line)
    rules, stems = rotting.rules, [row for row in laying.stock if row.plot == plot.id]
    outside = _cut_in("", cuts, rules, on)
    return tuple(
        _line_mulch(
            line,
            _cut_in(line.id, cuts, rules, on) + outside.scaled(line.area_m2 / whole_m2),
            _bare_m2(line, stems, rules),
            (*measured(line, rules), *(x for m in before if m.line == line for x in m.lying)),
            rotting,
            on,
        )
        for line in plot.line
    )


def _bare_m2(line: Line, stems: Sequence[Stock], rules: RuleBook) -> float:
    rings = sum(_ring_m2(row, rules) for row in stems if row.line == line.id)
    return min(rules.figure("bare-most") * line.area_m2, rings)


def measured(line: Line, rules: RuleBook) -> tuple[Lying, ...]:
    """What the grower has measured on a line; empty where nobody has."""
    if line.mulch_cm is None or line.mulch_on is None:
        return ()
    return (Lying(rules.layers[OLD_MULCH], line.mulch_cm, line.mulch_on),)


def left_cm(
    lying: Sequence[Lying], rotting: Rotting, on: date, n_days: int, life: Life = USUAL
) -> NDArray[np.float64]:
    """(n_days + 1,) cover that is left on a day and on those after it, cm."""
    ahead, left = rotting.months(on, n_days), np.zeros(n_days + 1)
    for x in lying:
        gone_by = rotting.months(x.since, max(0, (on - x.since).days))[-1]
        left += x.depth_cm * np.exp2(-(gone_by + ahead) / getattr(x.layer, life))
    return left


def left_of_old_cm(line: Line, rotting: Rotting, on: date) -> float | None:
    """What is left on a day of the mulch that was measured, cm; None where nobody measured."""
    lying = measured(line, rotting.rules)
    return float(left_cm(lying, rotting, on, 0)[0]) if lying else None


def _cut_in(line_id: str, tasks: Sequence[Task], rules: RuleBook, on: date) -> Material:
    total = Material()
    for task in tasks:
        rows = [row for row in task.stock if row.line == line_id]
        total += cut_material(task.type, rows, rules, on)
    return total


def _ring_m2(row: Stock, rules: RuleBook) -> float:
    radius_m = row.stem_cm / 200 + rules.figure("bare-ring")
    return math.pi * radius_m**2 * row.count


def _line_mulch(
    line: Line,
    material: Material,
    bare_m2: float,
    old: tuple[Lying, ...],
    rotting: Rotting,
    on: date,
) -> LineMulch:
    rules = rotting.rules
    area_m2 = line.area_m2 - bare_m2
    laid = LineMulch(line, on, area_m2, bare_m2, tuple(laid_layers(material, area_m2, rules)))
    old_cm = float(left_cm(old, rotting, on, 0)[0])
    cover_cm = old_cm + laid.cover_cm
    chips = rules.layers["twigs"].bulk_kg_m3 * area_m2 / 100  # kg to the cm
    usual, early, late = _feed_days((*old, *laid.lying), rotting, on)
    return replace(
        laid,
        short_kg=max(0.0, rules.figure("mulch-least") - cover_cm) * chips,
        surplus_kg=max(0.0, cover_cm - rules.figure("mulch-most")) * chips,
        old_cm=old_cm,
        feed_on=usual,
        feed_early=early,
        feed_late=late,
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


def feed_day(line: Line, rotting: Rotting, on: date) -> date | None:
    """First day, ``on`` or later, on which what was measured is thinner than wanted.

    None where nobody measured, or where it lasts for ten years.
    """
    lying = measured(line, rotting.rules)
    return next(_feed_days(lying, rotting, on)) if lying else None


def _feed_days(lying: Sequence[Lying], rotting: Rotting, on: date) -> Iterator[date | None]:
    """When the cover is too thin: as usual, at the quickest and at the slowest reported."""
    least_cm = rotting.rules.figure("mulch-feed")
    for life in get_args(Life):
        thin = left_cm(lying, rotting, on, HORIZON_DAYS, life) < least_cm
        yield on + timedelta(days=int(np.argmax(thin))) if thin.any() else None
