"""Hours of a piece of work: published rates, and what a site's own log has taught."""

import math
import statistics
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from scheduler.holding import AmountRate, LogEntry, Plot, RuleBook, StemRate, Stock, TaskType, Tool
from scheduler.stand.biomass import Material

CLIMBER = "climber"
LEAST_TOGETHER = 2  # people at a saw, a chipper or a ladder, or below a climber


@dataclass(frozen=True, slots=True)
class HourRange:
    """Person-hours: what is planned for, and between what it may lie."""

    low: float
    usual: float
    high: float

    def scaled(self, factor: float) -> "HourRange":
        """The same, times a factor."""
        return HourRange(self.low * factor, self.usual * factor, self.high * factor)


@dataclass(frozen=True, slots=True)
class Learned:
    """What the site's own log says of a rate, as factors on the usual published hours.

    Args:
        n: finished and counted jobs it rests on.
        low: factor of a quick job, the 10th percentile of a normal spread of the logarithms.
        usual: factor of the middle job, the geometric mean.
        high: factor of a slow job, the 90th percentile.
    """

    n: int
    low: float
    usual: float
    high: float

    @property
    def words(self) -> str:
        """Where the hours come from."""
        return (
            f"learned from {self.n} jobs in this site's own log, {self.usual:.2g} times the book"
        )

    def of(self, book: HourRange) -> HourRange:
        """The site's own range in place of the book's."""
        return HourRange(*(book.usual * factor for factor in (self.low, self.usual, self.high)))


@dataclass(frozen=True, slots=True)
class Batch:
    """Plants of one line that are done with one tool, in one go.

    Args:
        line: id of the tree line; empty outside the lines.
        tool: what they are cut with.
        skill: what the tool needs.
        count: number of plants.
        hours: usual hours, bringing the tool to the line among them: person-hours, or the
            climber's own where the tool is climbed with.
    """

    line: str
    tool: str
    skill: str
    count: int
    hours: float


def book_hours(
    kind: TaskType,
    stock: Sequence[Stock],
    plot: Plot | None,
    material: Material,
    rules: RuleBook,
) -> HourRange:
    """Hours by the rate in the rule book, person-hours."""
    rate = rules.rates[kind.rate]
    if isinstance(rate, StemRate):
        return _stem_hours(kind, stock, rules)
    amount = _amount(rate, stock, plot, material)
    if kind.least is not None and amount < kind.least:
        return HourRange(0.0, 0.0, 0.0)
    return HourRange(amount / rate.high, amount / rate.per_hour, amount / rate.low)


def _stem_hours(kind: TaskType, stock: Sequence[Stock], rules: RuleBook) -> HourRange:
    """Hours of the own crew: what is climbed takes the climber's time of everybody below.

    More hands on the ground do not shorten it.
    """
    below = max(sum(kind.team.values()), LEAST_TOGETHER)
    low = usual = high = 0.0
    for batch in batches_of(kind, stock, rules):
        rate = _rate_with(batch.tool, kind, rules)
        hours = batch.hours * (below if batch.skill == CLIMBER else 1)
        low, usual, high = low + hours * rate.low, usual + hours, high + hours * rate.high
    return HourRange(low, usual, high)


def _rate_with(tool_id: str, kind: TaskType, rules: RuleBook) -> StemRate:
    """The rate of stems worked with a tool."""
    rate = rules.rates[rules.tools[tool_id].rate or kind.rate]
    assert isinstance(rate, StemRate), "tools go with rates by stem"
    return rate


def batches_of(kind: TaskType, stock: Sequence[Stock], rules: RuleBook) -> tuple[Batch, ...]:
    """The plants of a task by line and tool, so that each tool is set up once a line.

    Empty where the hours do not go by stems.
    """
    rate = rules.rates[kind.rate]
    if not isinstance(rate, StemRate):
        return ()
    groups: dict[tuple[str, str, str], list[Stock]] = {}
    for row in sorted(stock, key=lambda row: row.line):
        tool = tool_of(row, rules)
        groups.setdefault((row.line, tool.id, tool.skill), []).append(row)
    return tuple(
        Batch(
            line, tool_id, skill, sum(row.count for row in rows),
            (with_it.line_minutes
             + sum(r.count * _tree_minutes(with_it, r.stem_cm) for r in rows)) / 60,
        )
        for (line, tool_id, skill), rows in groups.items()
        for with_it in (_rate_with(tool_id, kind, rules),)
    )  # fmt: skip


def tool_of(row: Stock, rules: RuleBook) -> Tool:
    """The first tool of the rule book that reaches a plant."""
    tools = list(rules.tools.values())
    fits = (
        tool
        for tool in tools
        if row.stem_cm <= tool.up_to_cm
        and row.height_m <= tool.up_to_m
        and (not tool.cut_systems or row.cut_system in tool.cut_systems)
        and (not tool.habits or rules.plants[row.plant].habit in tool.habits)
    )
    return next(fits, tools[-1])


def _tree_minutes(rate: StemRate, stem_cm: float) -> float:
    fitting = (stem.minutes for stem in rate.stem if stem_cm <= stem.up_to_cm)
    return rate.around_minutes + next(fitting, rate.stem[-1].minutes)


def _amount(
    rate: AmountRate, stock: Sequence[Stock], plot: Plot | None, material: Material
) -> float:
    """How much of what the rate counts there is to do."""
    return {
        "line-area-m2": sum(line.area_m2 for line in plot.line) if plot else 0.0,
        "alley-plants": float(plot.alley_plants) if plot else 0.0,
        "plants": float(sum(row.count for row in stock)),
        "coarse-kg": material.logs_kg + material.branches_kg,
        "chip-kg": material.twigs_kg,
        "fine-kg": material.twigs_kg + material.leaves_kg + material.juicy_kg,
        "haul-kg": material.leaves_kg,
        "alley-m2": max(plot.area_m2 - sum(ln.area_m2 for ln in plot.line), 0.0) if plot else 0.0,
        "plots": 1.0,
    }[rate.of]


def learned_rates(
    log: Sequence[LogEntry], book: Mapping[str, tuple[str, float]], rules: RuleBook
) -> dict[str, Learned]:
    """What the log teaches, by rate, once enough jobs are finished and counted.

    Each job is measured against what the book gave for it when it was done, where the log
    holds that (``book_h``); else against what the book gives for the stock of today, which
    may have been felled, planted or grown since.

    Args:
        log: the work log.
        book: rate and usual hours by the book, by task id, with the stock of today.
        rules: the rule book; it says how many jobs are enough.

    Returns:
        Factors by rate id; rates with too few jobs are left out.
    """
    ratios: dict[str, list[float]] = {}
    for task_id, hours, done, then_h in _jobs(log):
        rate, now_h = book.get(task_id, ("", 0.0))
        usual_h = now_h if then_h is None else then_h
        if rate and usual_h > 0:
            ratios.setdefault(rate, []).append(hours / (usual_h * done))
    enough = rules.figure("log-entries")
    wide = rules.figure("spread-deviations")
    return {rate: _spread(found, wide) for rate, found in ratios.items() if len(found) >= enough}


def _jobs(log: Sequence[LogEntry]) -> list[tuple[str, float, float, float | None]]:
    """Task, hours, share done and hours by the book of then, of jobs counted on every day."""
    jobs: dict[tuple[str, str], list[LogEntry]] = {}
    for entry in log:
        jobs.setdefault((entry.plan, entry.task), []).append(entry)
    found = []
    for (_, task_id), entries in jobs.items():
        hours = [entry.hours for entry in entries if entry.hours]
        if len(hours) == len(entries):
            done = max(entry.percent for entry in entries) / 100
            then_h = next((entry.book_h for entry in entries if entry.book_h), None)
            found.append((task_id, sum(hours), done, then_h))
    return found


def _spread(ratios: Sequence[float], wide: float) -> Learned:
    logs = [math.log(ratio) for ratio in ratios]
    middle, spread = statistics.fmean(logs), statistics.stdev(logs) if len(logs) > 1 else 0.0
    low, high = middle - wide * spread, middle + wide * spread
    return Learned(len(logs), math.exp(low), math.exp(middle), math.exp(high))
