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

    It rests on ``n`` finished and counted jobs: the geometric mean of their factors, and the
    10th and 90th percentile of a normal spread of the logarithms.
    """

    n: int
    factors: HourRange

    @property
    def words(self) -> str:
        """Where the hours come from."""
        usual = self.factors.usual
        return f"learned from {self.n} jobs in this site's own log, {usual:.2g} times the book"


@dataclass(frozen=True, slots=True)
class Batch:
    """Plants of one line that are done with one tool, in one go.

    ``line`` is empty outside the lines, ``skill`` what the tool needs. ``hours`` are the usual
    ones, bringing the tool to the line among them: person-hours, or the climber's own where
    the tool is climbed with.
    """

    line: str
    tool: str
    skill: str
    count: int
    hours: float


def book_hours(
    kind: TaskType, stock: Sequence[Stock], plot: Plot | None, material: Material, rules: RuleBook
) -> HourRange:
    """Hours by the rate in the rule book, person-hours."""
    rate = rules.rates[kind.rate]
    if isinstance(rate, StemRate):
        return _stem_hours(kind, stock, rules)
    amount = _amount(rate, stock, plot, material)
    if kind.least is not None and amount < kind.least:
        return HourRange(0.0, 0.0, 0.0)
    return HourRange(amount / rate.high, amount / rate.per_hour, amount / rate.low)


def rate_counts(kind: TaskType, rules: RuleBook) -> str:
    """What the rate of a kind of work counts; empty where it goes by stems."""
    rate = rules.rates[kind.rate]
    return rate.of if isinstance(rate, AmountRate) else ""


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
    if not isinstance(rules.rates[kind.rate], StemRate):
        return ()
    groups: dict[tuple[str, str], list[Stock]] = {}
    for row in sorted(stock, key=lambda row: row.line):
        groups.setdefault((row.line, tool_of(row, rules).id), []).append(row)
    batches = []
    for (line, tool_id), rows in groups.items():
        rate = _rate_with(tool_id, kind, rules)
        minutes = rate.line_minutes
        for row in rows:
            fitting = (stem.minutes for stem in rate.stem if row.stem_cm <= stem.up_to_cm)
            tree_minutes = rate.around_minutes + next(fitting, rate.stem[-1].minutes)
            minutes += row.count * tree_minutes
        count = sum(row.count for row in rows)
        batches.append(Batch(line, tool_id, rules.tools[tool_id].skill, count, minutes / 60))
    return tuple(batches)


def tool_of(row: Stock, rules: RuleBook) -> Tool:
    """The first tool of the rule book that reaches a plant, else the last."""
    tools = list(rules.tools.values())
    reaching = (
        tool
        for tool in tools
        if row.stem_cm <= tool.up_to_cm
        and row.height_m <= tool.up_to_m
        and (not tool.cut_systems or row.cut_system in tool.cut_systems)
        and (not tool.habits or rules.plants[row.plant].habit in tool.habits)
    )
    return next(reaching, tools[-1])


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
    """What the log teaches, by rate, once enough jobs are finished and counted on every day.

    Each job is measured against what the book gave for it when it was done, where the log
    holds that (``book_h``); else against what the book gives for the stock of today, which
    may have been felled, planted or grown since. That is ``book``: rate and usual hours by
    task id.
    """
    jobs: dict[tuple[str, str], list[LogEntry]] = {}
    for entry in log:
        jobs.setdefault((entry.plan, entry.task), []).append(entry)
    logs: dict[str, list[float]] = {}
    for (_, task_id), entries in jobs.items():
        rate, now_h = book.get(task_id, ("", 0.0))
        ratio = _ratio(entries, now_h)
        if rate and ratio is not None:
            logs.setdefault(rate, []).append(math.log(ratio))
    enough, wide = rules.figure("log-entries"), rules.figure("spread-deviations")
    learned = {}
    for rate, own in logs.items():
        if len(own) >= enough:
            middle = statistics.fmean(own)
            spread = wide * statistics.stdev(own) if len(own) > 1 else 0.0
            factors = (math.exp(middle + by) for by in (-spread, 0.0, spread))
            learned[rate] = Learned(len(own), HourRange(*factors))
    return learned


def _ratio(entries: Sequence[LogEntry], now_h: float) -> float | None:
    """Hours of a job over those of the book; None where a day of it was not counted."""
    usual_h = next((entry.book_h for entry in entries if entry.book_h), now_h)
    hours = [entry.hours for entry in entries if entry.hours]
    if usual_h <= 0 or len(hours) < len(entries):
        return None
    return sum(hours) / (usual_h * max(entry.percent for entry in entries) / 100)
