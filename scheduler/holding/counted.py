"""Stock of which a grower tells plot, plant and count: what is taken for the rest of it.

Decided: a plant that the rule book lacks is taken as the tenderest of its genus, so that frost is
feared too much and not too little. Held by
tests/holding/test_stock_from_counts.py::test_a_genus_lends_its_tenderest_kind.
Refused: a guess by the last word of a common name; a prickly pear is no pear. Held by
tests/holding/test_stock_from_counts.py::test_a_common_name_is_never_guessed.
"""

import dataclasses
import math
import statistics
import zlib
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, TypeAlias

from scheduler.files import CsvRow, Fault, did_you_mean, fields, shown
from scheduler.holding.kind_names import ids_by_name, plain_name
from scheduler.holding.plants import Names, Plant, PlantGrowth
from scheduler.holding.plots import CountedStock, Plot, Stock
from scheduler.holding.rulebook import RuleBook

NamedRow: TypeAlias = tuple[CsvRow, dict[str, Any]]
SIZES = ("stem_cm", "height_m", "crown_m")
MOST_SCALE = 4.0  # times the usual size that one told size makes of the others
NEAR, TYPED_WRONG = (0.8, 0.93)  # likeness of names from which one is a slip; the latter of Latin
ANSWERS = (
    "evergreen, deciduous or herb; fruit, support or cutting; tender (a frost at 0 °C hurts it) "
    "or hardy; such as 'evergreen fruit tender'"
)


def id_of_plot(name: str, plots: Sequence[Plot]) -> str:
    """The id of the plot of an id or name, however it is written; the word itself for none."""
    named = ids_by_name((plain_name(plot.name), plot.id) for plot in plots)
    ids = ids_by_name((plain_name(plot.id), plot.id) for plot in plots)
    found = (named | ids).get(plain_name(name), frozenset())
    return min(found) if len(found) == 1 else name


def with_kinds(rows: Sequence[NamedRow], rules: RuleBook) -> tuple[dict[str, Plant], list[Fault]]:
    """Put ids in the place of the names of kinds in rows of stock.

    Returns:
        The kinds that the rule book lacks, as they are taken, by id; and the faults.
    """
    told: dict[str, str] = {}
    for _, row in rows:
        if row.get("group"):
            told.setdefault(plain_name(row.get("plant", "")), row["group"])
    kinds, faults = dict[str, Plant](), list[Fault]()
    found: dict[str, Plant | Fault | None] = {"": None}  # the same in many rows is looked for once
    for where, row in rows:
        name = row.get("plant", "")
        group = told.get(plain_name(name), "")
        if name not in found:
            found[name] = _kind_of(where, name, group, rules)
        kind = found[name]
        if isinstance(kind, Fault):
            faults.append(dataclasses.replace(kind, rows=(where.number,)))
        elif kind is not None:
            row["plant"] = kind.id
            kinds |= {} if kind.id in rules.plants else {kind.id: kind}
            if kind.id in kinds and row.get("group", group) != group:
                wanted = f"the same in all rows of a plant; another says {shown(group)}"
                faults.append(where.fault("group", shown(row["group"]), wanted))
    return kinds, faults


def _kind_of(where: CsvRow, name: str, told: str, rules: RuleBook) -> Plant | Fault:
    """The kind that a name means, or that it is taken as; what to write where it is neither."""
    called = rules.kind_names.called(name)
    if len(called) == 1:
        return rules.plants[called[0]]
    genus = plain_name(name).partition(" ")[0]
    kin = [
        p for p in rules.plants.values() if f"{plain_name(p.botanical)} ".startswith(f"{genus} ")
    ]
    groups = sorted({plant.group for plant in kin})
    if told and not called:
        return _as_told(where, name, told, kin, rules)
    near = rules.kind_names.near(name, TYPED_WRONG if kin else NEAR)
    if len(groups) == 1 and not (called or near):
        return _lent(name, kin, f"the tenderest {genus.capitalize()} there")
    several = called or rules.kind_names.kin(name)
    return where.fault("plant", shown(name), _which(several, near, groups))


def _which(several: Sequence[str], near: tuple[str, str] | None, groups: Sequence[str]) -> str:
    """What to write for a name that means no kind, or more than one."""
    if len(several) == 1:
        near = (several[0], several[0])
    if several[1:]:
        return f"one of {', '.join(several)}: which is it?"
    if near is not None:
        return f"{did_you_mean([repr(near[0])])}Write: {near[1]}"
    said = " or ".join(groups) or ANSWERS
    return f"a kind of the rule book; or a column group that says what it is like: {said}"


def _as_told(
    where: CsvRow, name: str, told: str, kin: Sequence[Plant], rules: RuleBook
) -> Plant | Fault:
    """A kind by the column group: three answers in any order, or a group of the rule book."""
    words = plain_name(told).split()
    for like in rules.likenesses.values():
        if sorted(like.id.split("-")) == sorted(words):
            return _lent(name, [like], "by your answers")
    group = "-".join(words)
    for plants in (kin, list(rules.plants.values())):
        if same := [plant for plant in plants if plant.group == group]:
            return _lent(name, same, f"the tenderest of the group {group}")
    groups = ", ".join(sorted({plant.group for plant in rules.plants.values()}))
    return where.fault("group", shown(told), f"{ANSWERS}; or one of {groups}")


def _lent(name: str, kin: Sequence[Plant], why: str) -> Plant:
    """A kind of its own id with what the rule book says of the tenderest of some others."""
    like = max(kin, key=lambda plant: -math.inf if plant.rest_c is None else plant.rest_c)
    plain = plain_name(name)
    slug = plain.replace(" ", "-")
    if not fields.is_slug(slug):
        slug = f"kind-{zlib.crc32(plain.encode('utf-8', 'replace')):08x}"
    own = {"id": slug, "name": name, "botanical": name, "names": Names(), "invasive": ""}
    return dataclasses.replace(like, **own, source=f"{like.name.lower()}, {why}")  # type: ignore[arg-type]  # fields by name


def filled(
    rows: Iterable[tuple[CsvRow, CountedStock]], plots: Iterable[Plot], rules: RuleBook, year: int
) -> list[tuple[CsvRow, Stock]]:
    """Rows of stock with all that they leave empty, as plants are in a year.

    Rows of plots or kinds that there are not have faults elsewhere and are left out.
    """
    planted = {plot.id: plot.planted for plot in plots}
    return [
        (where, _filled(row, max(1, year - planted[row.plot]), rules))
        for where, row in rows
        if row.plot in planted and row.plant in rules.plants
    ]


def _filled(row: CountedStock, age: int, rules: RuleBook) -> Stock:
    """A row whose plants are so many years old: what is told, then of the kind, then usual."""
    plant = rules.plants[row.plant]
    usual = rules.usuals.get(plant.group) or rules.usuals["other"]
    told = {column.name: getattr(row, column.name) for column in dataclasses.fields(row)}
    for place in ("stratum", "role", "cut_system"):
        told[place] = told[place] or getattr(plant, place) or getattr(usual, place)
    growth = _growth_of(plant.group, told["stratum"], rules)
    share = 1 - 2 ** (-age / growth.half_years)
    sizes = _sizes(told, {size: getattr(growth, size) * share for size in SIZES})
    return Stock(**(told | sizes), assumed=tuple(size for size in SIZES if told[size] is None))


def _growth_of(group: str, stratum: str, rules: RuleBook) -> PlantGrowth:
    for growth in rules.growths.values():
        if group in (growth.groups or (group,)) and stratum in (growth.strata or (stratum,)):
            return growth
    return rules.growths["other"]


def _sizes(told: Mapping[str, Any], grown: Mapping[str, float]) -> dict[str, float]:
    """The sizes of a row; what is told says how much larger or smaller the others are."""
    scales = [told[size] / grown[size] for size in SIZES if told[size]]
    scale = min(statistics.fmean(scales), MOST_SCALE) if scales else 1.0
    assumed = {size: max(0.1, round(grown[size] * scale, 1)) for size in SIZES}
    return {size: assumed[size] if told[size] is None else told[size] for size in SIZES}


def kind_doubt(name: str, like: str, rules: RuleBook) -> str:
    """What to write for a name that means no kind; empty where it means one, or is guessed.

    ``like`` is the column ``group``: three answers, or nothing.
    """
    _, faults = with_kinds([(CsvRow("", 1, ()), {"plant": name, "group": like})], rules)
    return faults[0].allowed if faults else ""
