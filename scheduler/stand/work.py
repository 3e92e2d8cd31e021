"""Stock and plan become tasks, with their hours, teams and cautions."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from scheduler.holding import Holding, Plot, RuleBook, Stock, TaskType
from scheduler.holding.fields import VISITS, Skill, Visit
from scheduler.holding.tasktypes import AmountRate, Caution, Selection
from scheduler.stand.biomass import Material, mass_range, material_of
from scheduler.stand.chipper import CHIPS, FINE, Chipping, by_hand_h, chipping_of
from scheduler.stand.hazards import locked_out, power_line_words, reckoned_cautions
from scheduler.stand.rates import Batch, HourRange, Learned, batches_of, book_hours, learned_rates

CLIMBER = "climber"
WHOLE_HOLDING = "holding"
PLOT_CALLS = ("call-utility", "protect-tender")
LOCKED_OUT = "it stands within its own height and the clearance of the power line: licensed people"
LEAFLESS: Visit = "dormant"  # the visit in which kinds that drop their leaves have none


@dataclass(frozen=True)
class Task:
    """One piece of work.

    Args:
        id: ``<plot>.<task type>``; the whole holding counts as plot ``holding``.
        plot: where; None for the whole holding.
        type: what kind of work.
        stock: the plants it takes; empty for work on ground or material.
        hours: person-hours.
        team: smallest useful team, people by skill.
        hired: ids of hired kit and people it needs.
        material: what it brings down, for tasks that cut; what is laid, for the others.
        cautions: plain words, the general ones first, then those of the place and plants.
        groups: groups of its plants.
        batches: its plants by line and tool, for tasks that go by stems.
        learned: what the site's own log has taught of its rate; None where the book stands.
    """

    id: str
    plot: Plot | None
    type: TaskType
    stock: tuple[Stock, ...]
    hours: HourRange
    team: Mapping[Skill, int]
    hired: tuple[str, ...]
    material: Material
    cautions: tuple[str, ...]
    groups: frozenset[str]
    batches: tuple[Batch, ...] = ()
    learned: Learned | None = None

    @property
    def plot_id(self) -> str:
        """Id of the plot, or ``holding``."""
        return self.plot.id if self.plot else WHOLE_HOLDING

    @property
    def is_step(self) -> bool:
        """Whether it is a step of its plot's visit; else it is other work with its own place."""
        return self.plot is not None and self.type.visit != "year" and self.type.apart is None

    @property
    def visit_id(self) -> str:
        """Id of the visit it is part of: ``<plot>.<kind of visit>``, or that of other work."""
        apart = self.type.apart or self.type.id
        return f"{self.plot_id}.{self.type.visit if self.is_step else apart}"


@dataclass(frozen=True, slots=True)
class HeldBack:
    """Stock that a visit leaves alone, and why.

    Args:
        stock: the row.
        until: the visit in which it is cut, None where no wanted work takes it.
        why: words of the rule that holds it back; empty where there is none.
    """

    stock: Stock
    until: Visit | None
    why: str


def tasks_of(holding: Holding) -> tuple[Task, ...]:
    """All tasks that the plan in force asks for, by plot and order of work.

    Hours are the book's; where the site's own log holds enough jobs of a rate, its own.
    """
    book = _book_tasks(holding)
    told = {task.id: (task.type.rate, task.hours.usual) for task in book}
    learned = learned_rates(holding.log, told, holding.rules)
    return tuple(
        replace(task, hours=own.of(task.hours), learned=own) if own else task
        for task in book
        for own in (learned.get(task.type.rate),)
    )


def book_hours_of(task_id: str, holding: Holding) -> float | None:
    """What the rule book gives for a task with the stock of today; None for no task of it."""
    return next((t.hours.usual for t in _book_tasks(holding) if t.id == task_id), None)


def _book_tasks(holding: Holding) -> tuple[Task, ...]:
    return tuple(
        task
        for plot in (*holding.plots, None)
        for kind in sorted(holding.rules.tasks.values(), key=lambda kind: kind.order)
        if (kind.scope == "holding") == (plot is None) and _wanted(kind, plot, holding)
        for task in _task(kind, plot, holding)
    )


def bookings_of(holding: Holding) -> tuple[str, ...]:
    """Ids of the errands to book what is hired, one for each visit."""
    return tuple(hire.booking_of(visit) for hire in holding.crew.hire for visit in VISITS)


def calls_of(holding: Holding) -> frozenset[str]:
    """Ids of what may have to be done beside the work: bookings, calls, covers on a cold night."""
    asked = (f"{plot.id}.{call}" for plot in holding.plots for call in PLOT_CALLS)
    return frozenset((*bookings_of(holding), *asked))


def stock_taken(kind: TaskType, plot: Plot, holding: Holding) -> tuple[Stock, ...]:
    """The stock of a plot that a kind of work takes, but for what the crew may not touch."""
    taken = tuple(r for r in _stock_in(plot, holding) if _takes(kind, r, holding.rules))
    return _free_of_lines(plot, taken, holding.rules)


def left_to_utility(plot: Plot, holding: Holding) -> str | None:
    """Words about trees too near a power line for the crew, None where there are none."""
    rules, clearance_m = holding.rules, holding.rules.figure("line-clearance")
    kinds = rules.tasks.values()
    worked = [r for r in _stock_in(plot, holding) if any(_takes(k, r, rules) for k in kinds)]
    rows = locked_out(plot, worked, clearance_m)
    if not rows:
        return None
    names = ", ".join(f"{row.count} {rules.plants[row.plant].name.lower()}" for row in rows)
    works = [
        kind.title
        for kind in sorted(kinds, key=lambda kind: kind.order)
        if not kind.cuts
        and _wanted(kind, plot, holding)
        and any(_takes(kind, row, rules) for row in rows)
    ]
    return power_line_words(plot, rows, names, clearance_m, works)


def never_cut(holding: Holding) -> tuple[Stock, ...]:
    """Stock that says how it is cut, but that no task type takes."""
    kinds = [kind for kind in holding.rules.tasks.values() if kind.cuts]
    return tuple(
        row
        for row in holding.stock
        if row.cut_system != "none" and not any(_takes(k, row, holding.rules) for k in kinds)
    )


def wants_cover(plot: Plot, holding: Holding) -> tuple[Stock, ...]:
    """The rows of a plot that are covered before frost, by whatever task of the rule book."""
    rules = holding.rules
    covering = [kind for kind in rules.tasks.values() if kind.covers]
    taken = (r for r in _stock_in(plot, holding) if any(_takes(k, r, rules) for k in covering))
    return _free_of_lines(plot, tuple(taken), rules)


def within_reach(stock: Iterable[Stock], rules: RuleBook) -> tuple[Stock, ...]:
    """The rows that are low enough to be covered by hand."""
    heights = [
        kind.selects.up_to_m for kind in rules.tasks.values() if kind.covers and kind.selects
    ]
    highest_m = max((height for height in heights if height is not None), default=0.0)
    return tuple(row for row in stock if row.height_m <= highest_m)


def held_back(plot: Plot, visit: Visit, holding: Holding) -> tuple[HeldBack, ...]:
    """Stock of a plot that could be cut but not in this visit, or not by the crew at all."""
    rules = holding.rules
    kinds = [kind for kind in rules.tasks.values() if kind.cuts]
    stock = [r for r in holding.stock if r.plot == plot.id and r.cut_system != "none"]
    locked = locked_out(plot, stock, rules.figure("line-clearance"))
    return tuple(
        HeldBack(row, None, LOCKED_OUT)
        if row in locked
        else HeldBack(row, _visit_that_takes(row, kinds, plot, holding), _why_not(row, rules))
        for row in stock
        if row in locked
        or not any(kind.visit == visit and _takes(kind, row, rules) for kind in kinds)
    )


def _visit_that_takes(
    row: Stock, kinds: Sequence[TaskType], plot: Plot, holding: Holding
) -> Visit | None:
    return next(
        (
            kind.visit
            for kind in kinds
            if _takes(kind, row, holding.rules) and _wanted(kind, plot, holding)
        ),
        None,
    )


def _why_not(row: Stock, rules: RuleBook) -> str:
    group = rules.plants[row.plant].group
    return next(
        (rule.words for rule in rules.rules.values() if rule.cuts_only and group in rule.groups),
        "",
    )


def _wanted(kind: TaskType, plot: Plot | None, holding: Holding) -> bool:
    return holding.rules.is_on(kind.switch) and any(
        (kind.id in work.types or kind.visit in work.types)
        and kind.id not in work.without
        and (kind.light or not work.lighter)
        and (plot is None or not work.plots or plot.id in work.plots)
        for work in holding.plan.says.work
    )


def _task(kind: TaskType, plot: Plot | None, holding: Holding) -> Iterator[Task]:
    rules = holding.rules
    taken = tuple(row for row in _stock_in(plot, holding) if _takes(kind, row, rules))
    stock = _free_of_lines(plot, taken, rules)
    if (kind.selects is not None and not stock) or _never_opened(kind, plot, holding):
        return
    material = (
        cut_material(kind, stock, rules) if kind.cuts else _cut_in_visit(kind, plot, holding)
    )
    if kind.kit and not _machine_comes(kind, plot, material, holding):
        return
    hours = book_hours(kind, stock, plot, material, rules)
    rate = rules.rates[kind.rate]
    if isinstance(rate, AmountRate) and rate.of == FINE and not _chipped(kind, plot, holding):
        hand_h = by_hand_h(material.twigs_kg, rules)
        hours = HourRange(
            *(
                h + hand_h * h / max(hours.usual, 1e-9)
                for h in (hours.low, hours.usual, hours.high)
            )
        )
    if hours.usual >= rules.figure("least-work"):
        yield replace(_made(kind, plot, stock, hours, holding), material=material)


def chippings_of(holding: Holding) -> tuple[Chipping, ...]:
    """What a chipper would do in each plot whose wanted work brings down enough to chip."""
    found = (
        chipping_of(kind, plot, _cut_in_visit(kind, plot, holding).twigs_kg, holding)
        for plot in holding.plots
        for kind in holding.rules.tasks.values()
        if _chips(kind, holding.rules) and _wanted(kind, plot, holding)
    )
    return tuple(chipping for chipping in found if chipping is not None)


def _chips(kind: TaskType, rules: RuleBook) -> bool:
    rate = rules.rates[kind.rate]
    return bool(kind.kit) and isinstance(rate, AmountRate) and rate.of == CHIPS


def _machine_comes(
    kind: TaskType, plot: Plot | None, material: Material, holding: Holding
) -> bool:
    """Whether the machines of a task are to be had, and a chipper pays or is wanted."""
    hired = {hire.id for hire in holding.crew.hire}
    if not hired.issuperset(kind.kit):
        return False
    if plot is None or not _chips(kind, holding.rules):
        return True
    chipping = chipping_of(kind, plot, material.twigs_kg, holding)
    return chipping is not None and chipping.comes


def _chipped(kind: TaskType, plot: Plot | None, holding: Holding) -> bool:
    """Whether the twigs of a visit are chipped before its fine layers are laid."""
    return any(
        other.visit == kind.visit
        and _chips(other, holding.rules)
        and _wanted(other, plot, holding)
        and _machine_comes(other, plot, _cut_in_visit(other, plot, holding), holding)
        for other in holding.rules.tasks.values()
    )


def _made(
    kind: TaskType, plot: Plot | None, stock: tuple[Stock, ...], hours: HourRange, holding: Holding
) -> Task:
    """The task with its team and cautions, its material still to be told."""
    rules = holding.rules
    team, batches = _team(kind, stock), batches_of(kind, stock, rules)
    return Task(
        id=f"{plot.id if plot else WHOLE_HOLDING}.{kind.id}",
        plot=plot,
        type=kind,
        stock=stock,
        hours=hours,
        team=team,
        hired=_hired(kind, team, holding),
        material=Material(),
        cautions=(
            *_cautions(kind, stock, plot, rules),
            *reckoned_cautions(kind, stock, batches, rules),
        ),
        groups=frozenset(rules.plants[row.plant].group for row in stock),
        batches=batches,
    )


def _free_of_lines(
    plot: Plot | None, stock: tuple[Stock, ...], rules: RuleBook
) -> tuple[Stock, ...]:
    """What the crew may cut, pick or cover: trees within reach of a power line are locked out.

    A ladder or a picking pole comes as near to the line as a saw does.
    """
    locked = locked_out(plot, stock, rules.figure("line-clearance"))
    return tuple(row for row in stock if row not in locked)


def _never_opened(kind: TaskType, plot: Plot | None, holding: Holding) -> bool:
    """Whether it is work on opened ground, and all cuts that would open it are locked out."""
    if not kind.opened:
        return False
    rules = holding.rules
    cut = tuple(
        row
        for other in rules.tasks.values()
        if other.cuts and other.visit == kind.visit and _wanted(other, plot, holding)
        for row in _stock_in(plot, holding)
        if _takes(other, row, rules)
    )
    return bool(cut) and not _free_of_lines(plot, cut, rules)


def _stock_in(plot: Plot | None, holding: Holding) -> Iterator[Stock]:
    return (row for row in holding.stock if plot is None or row.plot == plot.id)


def _takes(kind: TaskType, row: Stock, rules: RuleBook) -> bool:
    """Whether a task type takes a row, and no other that is switched on takes it instead."""
    return (
        rules.is_on(kind.switch)
        and _fits(kind, row, rules)
        and not any(
            other.instead_of == kind.id and rules.is_on(other.switch) and _fits(other, row, rules)
            for other in rules.tasks.values()
        )
    )


def _fits(kind: TaskType, row: Stock, rules: RuleBook) -> bool:
    wants = kind.selects
    if wants is None:
        return False
    plant = rules.plants[row.plant]
    return (
        _among(plant.group, wants.groups)
        and row.plant not in wants.not_plants
        and _among(row.stratum, wants.strata)
        and _among(row.role, wants.roles)
        and _among(row.cut_system, wants.cut_systems)
        and _tender_enough(plant.rest_c, wants)
        and (wants.up_to_m is None or row.height_m <= wants.up_to_m)
    )


def _among(value: str, wanted: Sequence[str]) -> bool:
    return not wanted or value in wanted


def _tender_enough(rest_c: float | None, wants: Selection) -> bool:
    return wants.rest_c_above is None or (rest_c is not None and rest_c > wants.rest_c_above)


def cut_material(kind: TaskType, stock: Iterable[Stock], rules: RuleBook) -> Material:
    """What a cutting task brings down.

    In the dormant visit without leaves that fall; in a second cut of the year what has grown
    since the first.
    """
    total, leafless = Material(), kind.visit == LEAFLESS
    for row in stock:
        whole = material_of([row], rules, leafless=leafless)
        total += whole.scaled(_regrown(kind, row, rules))
    return total


def cut_mass_range(kind: TaskType, stock: Iterable[Stock], rules: RuleBook) -> tuple[float, float]:
    """Between what the fresh mass of it may lie, kg."""
    low_kg = high_kg = 0.0
    for row in stock:
        share = _regrown(kind, row, rules)
        low, high = mass_range([row], rules, leafless=kind.visit == LEAFLESS)
        low_kg, high_kg = low_kg + share * low, high_kg + share * high
    return low_kg, high_kg


def _regrown(kind: TaskType, row: Stock, rules: RuleBook) -> float:
    """Share of what a cut takes that has grown back since an earlier cut of the year."""
    regrowth = rules.regrowth_of(row.plant)
    if kind.regrown_months is None or regrowth is None:
        return 1.0
    return min(1.0, kind.regrown_months / regrowth.months)


def _cut_in_visit(kind: TaskType, plot: Plot | None, holding: Holding) -> Material:
    """What the wanted cutting tasks bring down in the plot whose wood the task lays."""
    total, kinds = Material(), holding.rules.tasks.values()
    others = [other for other in kinds if other.id != kind.id and other.rate == kind.rate]
    laid = {task_id for other in others for task_id in other.lays}
    for other in kinds:
        mine = other.id in kind.lays if kind.lays else other.id not in laid
        if other.cuts and mine and other.visit == kind.visit and _wanted(other, plot, holding):
            rows = (row for row in _stock_in(plot, holding) if _takes(other, row, holding.rules))
            stock = _free_of_lines(plot, tuple(rows), holding.rules)
            total += cut_material(other, stock, holding.rules)
    return total


def _team(kind: TaskType, stock: Sequence[Stock]) -> dict[Skill, int]:
    """The smallest useful team; somebody climbs where a tree is too tall for the ground."""
    tallest_m = max((row.height_m for row in stock), default=0.0)
    if kind.climb_above_m is None or tallest_m <= kind.climb_above_m:
        return dict(kind.team)
    return {**kind.team, "climber": 1}


def _hired(kind: TaskType, team: Mapping[Skill, int], holding: Holding) -> tuple[str, ...]:
    own_skills = {skill for person in holding.crew.person for skill in person.skills}
    on_hire = {hire.id for hire in holding.crew.hire}
    climbs = [CLIMBER] if CLIMBER in team and CLIMBER not in own_skills else []
    return tuple(name for name in (*climbs, *kind.kit) if name in on_hire)


def cautions_of(kind: TaskType, plot: Plot | None, rules: RuleBook) -> tuple[Caution, ...]:
    """The cautions of a kind of work, and those that the hazards of the plot call for."""
    own = [rules.cautions[name] for name in kind.cautions]
    hazards = {hazard.kind for hazard in plot.hazard} if plot else set()
    called = (c for c in rules.cautions.values() if hazards & set(c.hazards) and c not in own)
    return (*own, *(called if kind.cuts or kind.heavy else ()))


def _cautions(
    kind: TaskType, stock: Sequence[Stock], plot: Plot | None, rules: RuleBook
) -> Iterator[str]:
    for caution in cautions_of(kind, plot, rules):
        yield caution.words
    if kind.cuts:
        for plant_id in dict.fromkeys(row.plant for row in stock):
            plant = rules.plants[plant_id]
            if plant.caution:
                yield f"{plant.name}: {plant.caution}"
