"""The mulch of the tree lines: layers coarse to fine, how deep, how long they last."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from scheduler.holding import Layer, Line, Plot, RuleBook, Stock
from scheduler.stand.biomass import Material, cut_material
from scheduler.stand.canopy import HORIZON_DAYS
from scheduler.stand.warmth import Rotting
from scheduler.stand.work import Task

LIVES = ("half_life_months", "quick_months", "slow_months")  # usual, quickest, slowest
OLD_MULCH = "twigs"  # what lay there before is taken to rot as chips do


@dataclass(frozen=True, slots=True)
class Layered:
    """One layer that lies on a line since a day.

    ``depth_cm`` is that on the day, over the line without its bare rings; ``kg`` the fresh mass
    when it was laid, 0 where only its depth was measured.
    """

    layer: Layer
    depth_cm: float
    since: date
    kg: float = 0.0


@dataclass(frozen=True)
class LineMulch:
    """The mulch of one line after one visit."""

    line: Line
    on: date  # day on which it is laid
    area_m2: float  # ground that is mulched: the strip without the bare rings, m2
    bare_m2: float  # bare rings round the stems of the line, m2
    layers: tuple[Layered, ...]  # what is laid, coarse to fine; those without mass are left out
    cover: tuple[Layered, ...]  # those of them that cover and feed the line
    short_kg: float  # fresh kg of chips missing to the least cover; 0 where there is enough
    surplus_kg: float  # fresh kg of cover above the most a line takes; 0 where there is room
    old_cm: float  # what lay on the line before, as far as it is known, and is left that day, cm
    # first day on which its cover is thinner than wanted; None where never so within ten years
    feed_on: date | None
    feed_early: date | None  # the same day if all rots as quickly as is reported
    feed_late: date | None  # the same day if all rots as slowly as is reported


def mulch_of(
    plot: Plot,
    cuts: Sequence[Task],
    stock: Sequence[Stock],
    rotting: Rotting,
    on: date,
    before: Sequence[LineMulch] = (),
) -> tuple[LineMulch, ...]:
    """What is laid on each line of a plot, in the order of ``plots.toml``.

    What the cuts bring down in a line stays on it; what is cut outside the lines goes to all
    lines by their area. ``before`` is what was laid on them earlier in the plan. ``stock`` may
    be that of other plots too.
    """
    whole_m2, rules = sum(line.area_m2 for line in plot.line), rotting.rules
    outside, mulches = _cut_in("", cuts, rules, on), []
    for line in plot.line:
        rings_m2 = sum(
            math.pi * (row.stem_cm / 200 + rules.figure("bare-ring")) ** 2 * row.count
            for row in stock
            if (row.plot, row.line) == (plot.id, line.id)
        )
        bare_m2 = min(rules.figure("bare-most") * line.area_m2, rings_m2)
        area_m2 = line.area_m2 - bare_m2
        material = _cut_in(line.id, cuts, rules, on) + outside.scaled(line.area_m2 / whole_m2)
        layers = tuple(laid_layers(material, area_m2, rules, on))
        cover = tuple(laid for laid in layers if laid.layer.feeds)
        earlier = (laid for mulch in before if mulch.line == line for laid in mulch.cover)
        old = (*measured(line, rules), *earlier)
        old_cm = float(left_cm(old, rotting, on, 0)[0])
        cover_cm = old_cm + sum(laid.depth_cm for laid in cover)
        chips = rules.layers["twigs"].bulk_kg_m3 * area_m2 / 100  # kg to the cm
        usual, early, late = _feed_days((*old, *cover), rotting, on)
        mulches.append(
            LineMulch(
                line=line,
                on=on,
                area_m2=area_m2,
                bare_m2=bare_m2,
                layers=layers,
                cover=cover,
                short_kg=max(0.0, rules.figure("mulch-least") - cover_cm) * chips,
                surplus_kg=max(0.0, cover_cm - rules.figure("mulch-most")) * chips,
                old_cm=old_cm,
                feed_on=usual,
                feed_early=early,
                feed_late=late,
            )
        )
    return tuple(mulches)


def measured(line: Line, rules: RuleBook) -> tuple[Layered, ...]:
    """What the grower has measured on a line; empty where nobody has."""
    if line.mulch_cm is None or line.mulch_on is None:
        return ()
    return (Layered(rules.layers[OLD_MULCH], line.mulch_cm, line.mulch_on),)


def left_cm(
    lying: Sequence[Layered], rotting: Rotting, on: date, n_days: int, life: str = LIVES[0]
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


def laid_layers(
    material: Material, area_m2: float, rules: RuleBook, on: date
) -> Iterator[Layered]:
    """The layers of a mass spread over an area on a day, coarse to fine.

    Depth in cm is 100 times fresh kg/m2 over the bulk density: 26.5 kg/m2 of wet chips at
    265 kg/m3 lie 10 cm deep.
    """
    for layer in sorted(rules.layers.values(), key=lambda layer: layer.order):
        kg = material.of(layer.id)
        if kg > 0:
            yield Layered(layer, 100 * kg / layer.bulk_kg_m3 / area_m2, on, kg)


def feed_day(line: Line, rotting: Rotting, on: date) -> date | None:
    """First day, ``on`` or later, on which what was measured is thinner than wanted.

    None where nobody measured, or where it lasts for ten years.
    """
    lying = measured(line, rotting.rules)
    return next(_feed_days(lying, rotting, on)) if lying else None


def _feed_days(lying: Sequence[Layered], rotting: Rotting, on: date) -> Iterator[date | None]:
    """When the cover is too thin: as usual, at the quickest and at the slowest reported."""
    least_cm = rotting.rules.figure("mulch-feed")
    for life in LIVES:
        thin = left_cm(lying, rotting, on, HORIZON_DAYS, life) < least_cm
        yield on + timedelta(days=int(np.argmax(thin))) if thin.any() else None
