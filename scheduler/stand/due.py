"""Which plot comes first, and why: what a walk through the plots would tell."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from scheduler.holding import Holding, Plot, RuleBook, Stock
from scheduler.stand.canopy import (
    Cover,
    alley_light,
    cover_of,
    cuts_a_year,
    day_over,
    in_stratum,
    is_full_again,
    leafless,
)
from scheduler.stand.mulch import left_of_old_cm
from scheduler.stand.taken import LoggedCuts
from scheduler.stand.warmth import Rotting, Warmth
from scheduler.stand.work import Task
from scheduler.terms import day_words


@dataclass(frozen=True, slots=True)
class StratumDue:
    """One stratum of one plot, against its trigger."""

    cover: Cover  # cover today, target and trigger
    grown: float  # cover with all crowns grown out
    # first day at or above the trigger without another cut, today or later; None where it never
    # gets there
    on: date | None
    early: date | None  # the same day if all kinds grow back as quickly as is reported
    late: date | None  # the same day if they grow back as slowly as is reported
    # interventions a year that the trigger means; None where a cut does not bring it below
    cuts_a_year: float | None
    too_often: str  # name of a kind in it that does not stand so many; empty if all do
    # cuts a year that its least tolerant kind stands; None where nothing is cut
    stands: float | None
    after: float  # its cover, were all cuts of the plan done today


@dataclass(frozen=True)
class PlotDue:
    """A plot in the order of the work."""

    plot: Plot
    released: date | None  # first day after its frost window; None where none is known
    strata: tuple[StratumDue, ...]  # from tall to low
    light: float  # share of open light that reaches the alley, crowns in leaf
    light_now: float  # the same with those crowns bare that stand leafless today
    light_after: float  # the same in leaf, were all cuts of the plan done today
    # least share its alley crops want; None where the grower asks for none
    light_wanted: float | None
    # least share the seedlings in its lines want; None where nobody asks
    line_light_wanted: float | None
    full_again: int  # rows whose crowns are full again after their last cut
    # tree lines whose measured mulch is thinner than wanted, with what is left, cm
    thin: Mapping[str, float]
    # hired kit and people its work needs that another plot needs too, with the names of those
    # plots
    hires: Mapping[str, tuple[str, ...]]
    reasons: tuple[str, ...] = ()  # why it stands where it does, in words, the weightiest first

    def overdue(self, on: date) -> float:
        """Points of cover by which its strata stand above their triggers on a day."""
        return sum(
            due.cover.share - due.cover.trigger
            for due in self.strata
            if due.on is not None and due.on <= on
        )

    @property
    def nests(self) -> bool:
        """Whether nests are known in the plot."""
        return any(hazard.kind == "nests" for hazard in self.plot.hazard)


def due_of(
    holding: Holding, tasks: Sequence[Task], as_of: date, released: Mapping[str, date | None]
) -> tuple[PlotDue, ...]:
    """The plots in the order in which their heavy work comes, with why.

    Earliest frost release first, then the most overdue, then those that share a hire, then
    those without known nests (common practice, no source). Crowns grow back from the last cut
    that stock.csv or the work log gives, whichever is later. ``released`` gives the first day
    after the frost window of each plot, None where none is known.
    """
    warmth = Warmth(holding.record, holding.rules.figure("mean-above-night"))
    holding = replace(holding, stock=LoggedCuts(holding, as_of).stock)
    dues = [
        _plot_due(plot, holding, tasks, as_of, released.get(plot.id), warmth)
        for plot in holding.plots
    ]
    dues.sort(
        key=lambda due: (
            due.released or date.max,
            -round(due.overdue(as_of), 6),
            -len(due.hires),
            due.nests,
        )
    )
    return tuple(replace(due, reasons=tuple(_reasons(due, as_of))) for due in dues)


def _plot_due(
    plot: Plot,
    holding: Holding,
    tasks: Sequence[Task],
    as_of: date,
    released: date | None,
    warmth: Warmth,
) -> PlotDue:
    stock, rules = holding.stock, holding.rules
    alley, line = (
        rules.light_classes[wanted].least if wanted else None
        for wanted in (plot.alley_light, plot.line_light)
    )
    mine = [row for row in stock if row.plot == plot.id and row.role != "fruit"]
    after = _cut_today(plot, stock, tasks, as_of)
    rotting, thin_cm = Rotting(holding.record, rules), rules.figure("mulch-feed")
    left = {line.id: left_of_old_cm(line, rotting, as_of) for line in plot.line}
    return PlotDue(
        plot=plot,
        released=released,
        strata=tuple(_strata(plot, holding, as_of, warmth, after)),
        light=alley_light(plot, stock, rules, as_of, warmth),
        light_now=alley_light(plot, stock, rules, as_of, warmth, leafless(holding, as_of)),
        light_after=alley_light(plot, after, rules, as_of, warmth),
        light_wanted=alley,
        line_light_wanted=line,
        full_again=sum(is_full_again(row, as_of, rules, warmth) for row in mine),
        thin={line: cm for line, cm in left.items() if cm is not None and cm < thin_cm},
        hires=_shared_hires(plot, tasks),
    )


def _cut_today(
    plot: Plot, stock: Sequence[Stock], tasks: Sequence[Task], as_of: date
) -> tuple[Stock, ...]:
    """The stock as it would be, were every cut of the plan done today."""
    cuts = [task for task in tasks if task.type.cuts and task.plot_id == plot.id]
    taken = {_key(row): row.count for task in cuts for row in task.stock}
    after = []
    for row in stock:
        gone = taken.get(_key(row), 0)
        if gone and row.cut_system != "remove":
            after.append(replace(row, last_cut=as_of))
        elif gone < row.count:
            after.append(replace(row, count=row.count - gone))
    return tuple(after)


def _key(row: Stock) -> tuple[object, ...]:
    """What tells a row of stock from the others, but for its count and its last cut."""
    return (row.plot, row.line, row.plant, row.stratum, row.role, row.stem_cm, row.height_m)


def _strata(
    plot: Plot, holding: Holding, as_of: date, warmth: Warmth, after: Sequence[Stock]
) -> Iterator[StratumDue]:
    stock, rules = holding.stock, holding.rules
    regrowths = rules.regrowths.values()
    quick = {regrowth.id: replace(regrowth, months=regrowth.low) for regrowth in regrowths}
    slow = {regrowth.id: replace(regrowth, months=regrowth.high) for regrowth in regrowths}
    books = (rules, replace(rules, regrowths=quick), replace(rules, regrowths=slow))
    for cover, grown, left in zip(
        cover_of(plot, stock, rules, as_of, warmth),
        cover_of(plot, stock, rules),
        cover_of(plot, after, rules, as_of, warmth),
        strict=True,
    ):
        on, early, late = (day_over(plot, cover, stock, book, as_of, warmth) for book in books)
        cuts = cuts_a_year(plot, cover, stock, rules)
        wants, kind = _least_tolerant(in_stratum(plot, cover.stratum, stock), rules)
        yield StratumDue(
            cover=cover,
            grown=grown.share,
            on=on,
            early=early,
            late=late,
            cuts_a_year=cuts,
            too_often=kind if cuts and cuts * wants > 12 else "",
            stands=12 / wants if wants else None,
            after=left.share,
        )


def _least_tolerant(rows: Sequence[Stock], rules: RuleBook) -> tuple[float, str]:
    """Months that the kind which stands the fewest cuts wants between two, and its name."""
    return max(
        (
            (regrowth.least_months, rules.plants[row.plant].name.lower())
            for row in rows
            if row.role == "support"
            and row.cut_system not in ("none", "remove")
            and (regrowth := rules.regrowth_of(row.plant)) is not None
        ),
        default=(0.0, ""),
    )


def _shared_hires(plot: Plot, tasks: Sequence[Task]) -> dict[str, tuple[str, ...]]:
    """What the work of a plot hires that other plots hire too, with their names."""
    mine = {hire for task in tasks if task.plot_id == plot.id for hire in task.hired}
    shared: dict[str, dict[str, None]] = {}
    for task in tasks:
        if task.plot and task.plot_id != plot.id:
            for hire in mine.intersection(task.hired):
                shared.setdefault(hire, {})[task.plot.name] = None
    return {hire: tuple(names) for hire, names in sorted(shared.items())}


def _reasons(due: PlotDue, as_of: date) -> Iterator[str]:
    if due.released is None:
        yield "its frost window never closes, or no frost dates are known"
    elif due.released <= as_of:
        yield "frost does not hold it back now"
    else:
        yield f"frost holds it back until {day_words(due.released - timedelta(days=1))}"
    yield from _cover_reasons(due, as_of)
    for wanted, whose, name in (
        (due.light_wanted, "alley in leaf, its crops want", f" ({due.plot.alley_light})"),
        (due.line_light_wanted, "seedlings of the lines, which want", ""),
    ):
        if wanted is not None and due.light < wanted:
            yield f"{due.light:.0%} of open light reaches the {whose} {wanted:.0%}{name}"
    if due.full_again:
        rows = "row of stock has" if due.full_again == 1 else "rows of stock have"
        yield f"{due.full_again} {rows} grown back"
    if due.thin:
        lines = ", ".join(f"{line} ({cm:.1f} cm left)" for line, cm in due.thin.items())
        yield f"mulch is thin on {lines}"
    for hire, names in due.hires.items():
        yield f"shares the {hire} with {', '.join(names)}: book them together"
    if due.nests:
        yield "nests are known here: cut big crowns in the dormant visit, check before any cut"


def _cover_reasons(due: PlotDue, as_of: date) -> Iterator[str]:
    for stratum in due.strata:
        cover, on = stratum.cover, stratum.on
        if on is None:
            continue
        if on <= as_of:
            yield f"overdue: {cover.stratum} at {cover.share:.0%}, cut at {cover.trigger:.0%}"
        elif on <= as_of + timedelta(days=365):
            early, late = stratum.early, stratum.late
            first = "already" if early is None or early <= as_of else day_words(early)
            last = "later than ten years" if late is None else day_words(late)
            yield (
                f"{cover.stratum} at {cover.trigger:.0%} about {day_words(on)} "
                f"({first} to {last} as kinds vary)"
            )
        if stratum.too_often:
            yield (
                f"cutting {cover.stratum} at {cover.trigger:.0%} means {stratum.cuts_a_year:.1f} "
                f"cuts a year, more than {stratum.too_often} bears"
            )
