"""Stock and plan become tasks, with their hours, teams and cautions."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from scheduler.files import fields
from scheduler.holding import AmountRate, Holding, Plot, RuleBook, Stock, TaskType
from scheduler.stand.biomass import Material
from scheduler.stand.chipper import CHIPS, FINE, Chipping, by_hand_h, chipping_of
from scheduler.stand.cut_mass import cut_in_visit, cut_material, line_balance
from scheduler.stand.hazards import locked_out, power_line_words, reckoned_cautions
from scheduler.stand.kinds import Share, names_of, rounds_of, shares_of
from scheduler.stand.people import caution_words, hired_for, team_of
from scheduler.stand.rates import (
    CLIMBER,
    Batch,
    HourRange,
    Learned,
    batches_of,
    book_hours,
    learned_rates,
)
from scheduler.stand.succession import harvests_of
from scheduler.stand.taken import (
    due_rows,
    never_opened,
    stock_in,
    stock_taken,
    takes,
    usual_day,
    wanted,
)

WHOLE_HOLDING = "holding"
PLOT_CALLS = ("call-utility", "protect-tender")
LOCKED_OUT = "it stands within its own height and the clearance of the power line: licensed people"
HAUL = "haul"  # the rate of what goes from line to line


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
        part: its first kind, and the round of picking, where kinds are tasks of their own.
        round: which round of picking it is, from 1 on.
        rounds: how many rounds there are.
        cut_rules: ids of the rules that say when and how its plants are cut.
        title: short imperative words.
    """

    id: str
    plot: Plot | None
    type: TaskType
    stock: tuple[Stock, ...]
    hours: HourRange
    team: Mapping[fields.Skill, int]
    hired: tuple[str, ...]
    material: Material
    cautions: tuple[str, ...]
    groups: frozenset[str]
    batches: tuple[Batch, ...] = ()
    learned: Learned | None = None
    part: str = ""
    round: int = 1
    rounds: int = 1
    cut_rules: frozenset[str] = frozenset()
    title: str = ""

    @property
    def plot_id(self) -> str:
        """Id of the plot, or ``holding``."""
        return self.plot.id if self.plot else WHOLE_HOLDING

    @property
    def crew_max(self) -> int:
        """Largest useful team; below a climber more hands are no help."""
        if CLIMBER in self.team:
            return sum(self.team.values()) - (CLIMBER in self.hired)
        return self.type.crew_max

    @property
    def saws(self) -> bool:
        """Whether a chainsaw runs on the ground."""
        in_team = not self.batches and "ground-saw" in self.type.team
        return in_team or any(batch.skill == "ground-saw" for batch in self.batches)

    @property
    def is_step(self) -> bool:
        """Whether it is a step of its plot's visit; else it is other work with its own place."""
        return self.plot is not None and self.type.visit != "year" and self.type.apart is None

    @property
    def visit_id(self) -> str:
        """Id of the visit it is part of: ``<plot>.<kind of visit>``, or that of other work."""
        if self.is_step:
            return f"{self.plot_id}.{self.type.visit}"
        return _id(self.plot_id, self.type.apart or self.type.id, self.part)


@dataclass(frozen=True, slots=True)
class HeldBack:
    """Stock that a visit leaves alone, and why.

    Args:
        stock: the row.
        until: the visit in which it is cut, None where no wanted work takes it.
        why: words of the rule that holds it back; empty where there is none.
    """

    stock: Stock
    until: fields.Visit | None
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
        if (kind.scope == "holding") == (plot is None) and wanted(kind, plot, holding)
        for task in _task(kind, plot, holding)
    )


def bookings_of(holding: Holding) -> tuple[str, ...]:
    """Ids of the errands to book what is hired, one for each visit."""
    return tuple(hire.booking_of(visit) for hire in holding.crew.hire for visit in fields.VISITS)


def calls_of(holding: Holding) -> frozenset[str]:
    """Ids of what may have to be done beside the work: bookings, calls, covers on a cold night."""
    asked = (f"{plot.id}.{call}" for plot in holding.plots for call in PLOT_CALLS)
    return frozenset((*bookings_of(holding), *asked))


def is_picked(row: Stock, holding: Holding) -> bool:
    """Whether the plan has a task that picks a row of stock."""
    plot = next(plot for plot in holding.plots if plot.id == row.plot)
    return any(
        kind.picks and wanted(kind, plot, holding) and takes(kind, row, holding.rules)
        for kind in holding.rules.tasks.values()
    )


def left_to_utility(plot: Plot, holding: Holding) -> str | None:
    """Words about trees too near a power line for the crew, None where there are none."""
    rules, clearance_m = holding.rules, holding.rules.figure("line-clearance")
    kinds = rules.tasks.values()
    worked = [r for r in stock_in(plot, holding) if any(takes(k, r, rules) for k in kinds)]
    rows = locked_out(plot, worked, clearance_m)
    if not rows:
        return None
    names = ", ".join(f"{row.count} {rules.plants[row.plant].name.lower()}" for row in rows)
    works = [
        _title(kind, taken, rules)
        for kind in sorted(kinds, key=lambda kind: kind.order)
        if not kind.cuts and wanted(kind, plot, holding)
        if (taken := [row for row in rows if takes(kind, row, rules)])
    ]
    return power_line_words(plot, rows, names, clearance_m, works)


def _title(kind: TaskType, stock: Sequence[Stock], rules: RuleBook) -> str:
    """What a kind of work on some plants is called."""
    return kind.title.replace("{kinds}", names_of(stock, rules))


def held_back(plot: Plot, visit: fields.Visit, holding: Holding) -> tuple[HeldBack, ...]:
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
        or not any(kind.visit == visit and takes(kind, row, rules) for kind in kinds)
    )


def _visit_that_takes(
    row: Stock, kinds: Sequence[TaskType], plot: Plot, holding: Holding
) -> fields.Visit | None:
    return next(
        (
            kind.visit
            for kind in kinds
            if takes(kind, row, holding.rules) and wanted(kind, plot, holding)
        ),
        None,
    )


def _why_not(row: Stock, rules: RuleBook) -> str:
    group = rules.plants[row.plant].group
    return next(
        (rule.words for rule in rules.rules.values() if rule.cuts_only and group in rule.groups),
        "",
    )


def _task(kind: TaskType, plot: Plot | None, holding: Holding) -> Iterator[Task]:
    rules = holding.rules
    stock = stock_taken(kind, plot, holding)
    if kind.selects is None:
        for n in range(1, kind.rounds + 1) if not never_opened(kind, plot, holding) else ():
            part = f"{n}" if kind.rounds > 1 else ""
            yield from _task_of(kind, plot, Share(part, (), n, kind.rounds), holding)
        return
    if stock and not never_opened(kind, plot, holding):
        for share in shares_of(kind, due_rows(kind, plot, stock, holding), rules):
            for each in _rounds(share, plot, holding) if kind.picks else (share,):
                yield from _task_of(kind, plot, each, holding)


def _task_of(kind: TaskType, plot: Plot | None, share: Share, holding: Holding) -> Iterator[Task]:
    """The task of plants that are done together; none where there is too little to do."""
    material = _material(kind, plot, share.stock, holding)
    if kind.kit and not _machine_comes(kind, plot, material, holding):
        return
    hours = _hours(kind, plot, share, material, holding)
    if hours.usual >= holding.rules.figure("least-work"):
        yield replace(_made(kind, plot, share, hours, holding), material=material)


def _material(
    kind: TaskType, plot: Plot | None, stock: Sequence[Stock], holding: Holding
) -> Material:
    """What the task cuts, hauls or lays."""
    if kind.cuts:
        return cut_material(kind, stock, holding.rules, usual_day(kind.visit, holding))
    if kind.rate == HAUL and plot is not None:
        over = line_balance(kind, plot, holding).values()
        return Material(leaves_kg=sum(kg for kg in over if kg > 0))
    return cut_in_visit(kind, plot, holding)


def _hours(
    kind: TaskType, plot: Plot | None, share: Share, material: Material, holding: Holding
) -> HourRange:
    """The hours of the book; twigs that no chipper takes are cut up by hand."""
    rules = holding.rules
    if kind.picks and plot is not None:
        return _picking_hours(plot, share, holding)
    hours, rate = book_hours(kind, share.stock, plot, material, rules), rules.rates[kind.rate]
    if isinstance(rate, AmountRate) and rate.of == FINE and not _chipped(kind, plot, holding):
        return hours.scaled(1 + by_hand_h(material.twigs_kg, rules) / max(hours.usual, 1e-9))
    return hours


def _rounds(share: Share, plot: Plot | None, holding: Holding) -> Iterator[Share]:
    """The rounds of picking, fewer where the crop is too small to go for it so often."""
    least = holding.rules.figure("picking-round")
    whole = _picking_hours(plot, replace(share, rounds=1), holding).usual if plot else least
    yield from rounds_of(share, int(whole / least))


def _picking_hours(plot: Plot, share: Share, holding: Holding) -> HourRange:
    """Hours of one round of picking, by the crop of the year and the pace of each kind."""
    rules, year = holding.rules, holding.plan.season.last.year
    low = high = 0.0
    for crop in harvests_of(plot, share.stock, rules, (year,)):
        picked = rules.plants[crop.plant].picked
        if picked is not None:
            low += crop.low_kg / picked.kg_hour
            high += crop.high_kg / picked.kg_hour
    return HourRange(low, (low + high) / 2, high).scaled(1 / share.rounds)


def chippings_of(holding: Holding) -> tuple[Chipping, ...]:
    """What a chipper would do in each plot whose wanted work brings down enough to chip."""
    found = (
        chipping_of(kind, plot, cut_in_visit(kind, plot, holding).twigs_kg, holding)
        for plot in holding.plots
        for kind in holding.rules.tasks.values()
        if _chips(kind, holding.rules) and wanted(kind, plot, holding)
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
        and wanted(other, plot, holding)
        and _machine_comes(other, plot, cut_in_visit(other, plot, holding), holding)
        for other in holding.rules.tasks.values()
    )


def _id(plot_id: str, name: str, part: str) -> str:
    return f"{plot_id}.{name}:{part}" if part else f"{plot_id}.{name}"


def split_id(task_id: str) -> tuple[str, str, str]:
    """Plot, task type and part of the id of a task.

    >>> split_id("low.pick:apple-2"), split_id("low.weed-lines")
    (('low', 'pick', 'apple-2'), ('low', 'weed-lines', ''))
    """
    plot_id, _, rest = task_id.partition(".")
    name, _, part = rest.partition(":")
    return plot_id, name, part


def _made(
    kind: TaskType, plot: Plot | None, share: Share, hours: HourRange, holding: Holding
) -> Task:
    """The task with its team and cautions, its material still to be told."""
    rules, stock = holding.rules, share.stock
    rounds = f", round {share.round} of {share.rounds}" if share.rounds > 1 else ""
    batches = batches_of(kind, stock, rules)
    team = team_of(kind, stock, batches, holding)
    return Task(
        id=_id(plot.id if plot else WHOLE_HOLDING, kind.id, share.part),
        title=_title(kind, stock, rules) + rounds,
        part=share.part,
        round=share.round,
        rounds=share.rounds,
        cut_rules=frozenset(
            r.id for row in stock if not kind.trims for r in rules.cut_rules_of(row.plant)
        ),
        plot=plot,
        type=kind,
        stock=stock,
        hours=hours,
        team=team,
        hired=hired_for(kind, team, holding),
        material=Material(),
        cautions=(
            *caution_words(kind, stock, plot, rules),
            *reckoned_cautions(kind, stock, batches, rules),
        ),
        groups=frozenset(rules.plants[row.plant].group for row in stock),
        batches=batches,
    )
