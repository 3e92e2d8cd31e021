"""Stock and plan become tasks, with their hours, teams and cautions."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from scheduler.files import fields
from scheduler.holding import Holding, Plot, RuleBook, Stock, TaskType
from scheduler.stand.biomass import Material, cut_material
from scheduler.stand.chipper import hours_by_hand, machines_come
from scheduler.stand.hazards import (
    caution_words,
    hired_for,
    is_locked_out,
    line_distance_m,
    team_of,
)
from scheduler.stand.kinds import Share, names_of, rounds_of, shares_of
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
    cut_in_visit,
    due_rows,
    left_out_by_name,
    line_balance,
    never_opened,
    stock_in,
    takers_of,
    takes,
    task_id_of,
    usual_day,
    wanted,
)

WHOLE_HOLDING = "holding"
LOCKED_OUT = "it is within its own height and the clearance of the power line: licensed people"
HAUL = "haul"  # the rate of what goes from line to line


@dataclass(frozen=True)
class Task:
    """One piece of work."""

    id: str  # ``<plot>.<task type>``; the whole holding counts as plot ``holding``
    plot: Plot | None  # where; None for the whole holding
    type: TaskType
    stock: tuple[Stock, ...]  # the plants it takes; empty for work on ground or material
    hours: HourRange
    team: Mapping[fields.Skill, int]  # smallest useful team, people by skill
    hired: tuple[str, ...]  # ids of hired kit and people it needs
    material: Material  # what it brings down, for tasks that cut; what is laid, for the others
    # plain words, the general ones first, then those of the place and plants
    cautions: tuple[str, ...]
    groups: frozenset[str]  # groups of its plants
    batches: tuple[Batch, ...] = ()  # its plants by line and tool, for tasks that go by stems
    # what the site's own log has taught of its rate; None where the book stands
    learned: Learned | None = None
    part: str = ""  # its first kind, and the round of picking, where kinds are tasks of their own
    round: int = 1  # which round of picking it is, from 1 on
    rounds: int = 1  # how many rounds there are
    # ids of the rules that say when and how its plants are cut
    cut_rules: frozenset[str] = frozenset()
    title: str = ""  # short imperative words

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
        return task_id_of(self.plot_id, self.type.apart or self.type.id, self.part)


@dataclass(frozen=True, slots=True)
class HeldBack:
    """A row of stock that a visit leaves alone.

    ``until`` is the visit in which it is cut, None where no wanted work takes it; ``why`` the
    words of the rule that holds it back, empty where there is none.
    """

    stock: Stock
    until: fields.Visit | None
    why: str


def tasks_of(holding: Holding) -> tuple[Task, ...]:
    """All tasks that the plan in force asks for, by plot and order of work.

    Hours are the book's; where the site's own log holds enough jobs of a rate, its own.
    """
    book = _book_tasks(holding)
    rates = {task.id: (task.type.rate, task.hours.usual) for task in book}
    learned = learned_rates(holding.log, rates, holding.rules)
    return tuple(
        replace(task, hours=own.factors.scaled(task.hours.usual), learned=own) if own else task
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
        for kind in _in_order(holding.rules)
        if (kind.scope == "holding") == (plot is None) and wanted(kind, plot, holding)
        if not never_opened(kind, plot, holding)
        for share in _shares(kind, plot, holding)
        if (task := _task_of(kind, plot, share, holding)) is not None
        if not left_out_by_name(kind, task.stock, plot, holding)
    )


def _in_order(rules: RuleBook) -> list[TaskType]:
    return sorted(rules.tasks.values(), key=lambda kind: kind.order)


def bookings_of(holding: Holding) -> tuple[str, ...]:
    """Ids of the errands to book what is hired, one for each visit."""
    return tuple(hire.booking_of(visit) for hire in holding.crew.hire for visit in fields.VISITS)


def calls_of(holding: Holding) -> frozenset[str]:
    """Ids of what may have to be done beside the work: bookings, calls, covers on a cold night."""
    calls = ("call-utility", "protect-tender")
    asked = (f"{plot.id}.{call}" for plot in holding.plots for call in calls)
    return frozenset((*bookings_of(holding), *asked))


def is_picked(row: Stock, holding: Holding) -> bool:
    """Whether the plan has a task that picks a row of stock."""
    plot = next(plot for plot in holding.plots if plot.id == row.plot)
    takers = takers_of(row, holding.rules)
    return any(
        kind.picks
        and wanted(kind, plot, holding)
        and not left_out_by_name(kind, [row], plot, holding)
        for kind in takers
    )


def left_to_utility(plot: Plot, holding: Holding) -> str | None:
    """Words about trees too near a power line for the crew, None where there are none."""
    rules = holding.rules
    rows = [
        row
        for row in stock_in(plot, holding)
        if takers_of(row, rules) and is_locked_out(row, plot, rules)
    ]
    if not rows:
        return None
    works = [
        _title(kind, taken, rules)
        for kind in _in_order(rules)
        if not kind.cuts and wanted(kind, plot, holding)
        if (taken := [row for row in rows if takes(kind, row, rules)])
    ]
    return _power_line_words(plot, rows, works, rules)


def _power_line_words(
    plot: Plot, rows: Sequence[Stock], works: Sequence[str], rules: RuleBook
) -> str:
    names = ", ".join(f"{row.count} {rules.plants[row.plant].name.lower()}" for row in rows)
    tallest_m = max(row.height_m for row in rows)
    nearest_m = min(line_distance_m(plot, row) for row in rows)
    near = f"{nearest_m:g} m" if nearest_m > 0 else "an unknown distance"
    without = ", cuts and all else (" + "; ".join(works) + ")" if works else ""
    return (
        f"{names} in {plot.name}, up to {tallest_m:g} m high, are {near} from a power line, "
        f"within their height plus {rules.figure('line-clearance')} m. They are left out of the "
        f"crew's work{without}: call the utility, only licensed line-clearance people work there."
    )


def _title(kind: TaskType, stock: Sequence[Stock], rules: RuleBook) -> str:
    """What a kind of work on some plants is called."""
    return kind.title.replace("{kinds}", names_of(stock, rules))


def held_back(plot: Plot, visit: fields.Visit, holding: Holding) -> tuple[HeldBack, ...]:
    """Stock of a plot that could be cut but not in this visit, or not by the crew at all."""
    rules, held = holding.rules, []
    for row in stock_in(plot, holding):
        if row.cut_system == "none":
            continue
        cuts = [kind for kind in takers_of(row, rules) if kind.cuts]
        if is_locked_out(row, plot, rules):
            held.append(HeldBack(row, None, LOCKED_OUT))
        elif visit not in {kind.visit for kind in cuts}:
            until = (kind.visit for kind in cuts if wanted(kind, plot, holding))
            held.append(HeldBack(row, next(until, None), _why_not(row, rules)))
    return tuple(held)


def _why_not(row: Stock, rules: RuleBook) -> str:
    group = rules.plants[row.plant].group
    cutting = (rule for rule in rules.rules.values() if rule.cuts_only)
    return next((rule.words for rule in cutting if group in rule.groups), "")


def _shares(kind: TaskType, plot: Plot | None, holding: Holding) -> Iterator[Share]:
    """What a kind of work does in one go: plants that go together, and each of its rounds."""
    if kind.selects is None:
        yield from rounds_of(Share("", (), rounds=kind.rounds), kind.rounds)
        return
    stock = due_rows(kind, plot, holding)
    for share in shares_of(kind, stock, holding.rules) if stock else ():
        if kind.picks and plot is not None:
            # fewer rounds where the crop is too small to go for it so often
            whole = _picking_hours(plot, replace(share, rounds=1), holding).usual
            yield from rounds_of(share, int(whole / holding.rules.figure("picking-round")))
        else:
            yield share


def _task_of(kind: TaskType, plot: Plot | None, share: Share, holding: Holding) -> Task | None:
    """The task of plants that are done together; None where there is too little to do."""
    rules, stock = holding.rules, share.stock
    material = _material(kind, plot, stock, holding)
    if kind.kit and not machines_come(kind, plot, holding):
        return None
    if kind.picks and plot is not None:
        hours = _picking_hours(plot, share, holding)
    else:
        hours = book_hours(kind, stock, plot, material, rules)
        hours = hours_by_hand(kind, plot, material.twigs_kg, hours, holding)
    if hours.usual < rules.figure("least-work"):
        return None
    batches = batches_of(kind, stock, rules)
    team = team_of(kind, stock, batches, holding)
    which = f", round {share.round} of {share.rounds}" if share.rounds > 1 else ""
    return Task(
        id=task_id_of(plot.id if plot else WHOLE_HOLDING, kind.id, share.part),
        plot=plot,
        type=kind,
        stock=stock,
        hours=hours,
        team=team,
        hired=hired_for(kind, team, holding),
        material=material,
        cautions=tuple(caution_words(kind, stock, batches, plot, rules)),
        groups=frozenset(rules.plants[row.plant].group for row in stock),
        batches=batches,
        part=share.part,
        round=share.round,
        rounds=share.rounds,
        cut_rules=frozenset(
            rule.id for row in stock if not kind.trims for rule in rules.cut_rules_of(row.plant)
        ),
        title=_title(kind, stock, rules) + which,
    )


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
