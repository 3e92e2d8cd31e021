"""What the files of a site say of one another: names must lead somewhere."""

import difflib
import math
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date
from graphlib import CycleError, TopologicalSorter
from itertools import pairwise, product
from typing import TypeAlias

from scheduler.files import CsvRow, Fault, did_you_mean, fields, shown
from scheduler.holding.crew import Crew, SomeDays
from scheduler.holding.dayrules import CARE_MONTHS
from scheduler.holding.frost_data import FrostData
from scheduler.holding.plan import OwnDate, Plan
from scheduler.holding.plots import Plot, Stock
from scheduler.holding.rulebook import RuleBook
from scheduler.holding.site import Site
from scheduler.holding.tasktypes import TaskType
from scheduler.terms import Level, Notice

MOST_LAYERS = 20  # crowns of one row over one another, no mistake being so small
PlacedRow: TypeAlias = tuple[CsvRow, Mapping[str, str]]


def faults_between(
    plots: Sequence[Plot] | None,
    stock: Sequence[PlacedRow],
    crew: Crew | None,
    plans: Sequence[Plan],
    rules: RuleBook,
) -> list[Fault]:
    """Every name that leads nowhere, and every name given twice.

    What is None has a file at fault, of which nothing is said twice. Rows of stock are given by
    column, with where each row stands.
    """
    faults = list(_rule_faults(rules))
    if crew is not None:
        faults += _crew_faults(crew, rules)
    if plots is not None:
        faults += _plots_faults(plots, rules)
        faults += _place_faults(plots, stock)
        ids = [plot.id for plot in plots]
        of_plans = [fault for plan in plans for fault in _plan_faults(plan, ids, rules)]
        faults += dict.fromkeys(of_plans)  # of two years of a file once
    return faults


def strangers(
    file: str, where: str, field: str, names: Iterable[str], known: Iterable[str]
) -> Iterator[Fault]:
    """A fault for each name that is not known: what is allowed, the nearest first."""
    known = list(known)
    for name in names:
        if name not in known:
            yield Fault(file, where, field, repr(name), _one_of(known, name))


def _one_of(known: Sequence[str], name: str) -> str:
    hint = did_you_mean(difflib.get_close_matches(name, known, n=1))
    return f"{hint}one of {', '.join(known)}"


def _twice(file: str, table: str, names: Iterable[str], field: str = "id") -> Iterator[Fault]:
    for name, times in Counter(names).items():
        if times > 1:
            yield Fault(file, table, field, f"{name!r} {times} times", "each name once")


def _plots_faults(plots: Sequence[Plot], rules: RuleBook) -> Iterator[Fault]:
    if not plots:
        yield Fault("plots.toml", "[[plot]]", "", "none", "at least one plot")
    yield from _twice("plots.toml", "[[plot]]", [plot.id for plot in plots])
    for plot in plots:
        yield from _line_faults(plot)
    for plot in plots:
        where = f"[[plot]] {plot.id}"
        for field in ("alley_light", "line_light"):
            light = [getattr(plot, field)] if getattr(plot, field) else []
            yield from strangers("plots.toml", where, field, light, rules.light_classes)
        strata = [trigger.stratum for trigger in plot.trigger]
        yield from _twice("plots.toml", f"{where} trigger", strata)
    asked = [kind.id for kind in rules.tasks.values() if kind.asked]
    for plot in plots:
        yield from strangers("plots.toml", f"[[plot]] {plot.id}", "also", plot.also, asked)


def _line_faults(plot: Plot) -> Iterator[Fault]:
    where = f"[[plot]] {plot.id} [[line]]"
    yield from _twice("plots.toml", where, [line.id for line in plot.line])
    for line in plot.line:
        if (line.mulch_cm is None) is not (line.mulch_on is None):
            wanted = "both mulch_cm and mulch_on, the day it was measured, or neither"
            yield Fault("plots.toml", f"{where} {line.id}", "mulch_on", "one of two", wanted)


def _crew_faults(crew: Crew, rules: RuleBook) -> Iterator[Fault]:
    yield from _twice("crew.toml", "[[person]]", [person.name for person in crew.person])
    yield from _twice("crew.toml", "[[hire]]", [hire.id for hire in crew.hire])
    for where, spans in _days_of_crew(crew):
        for days in spans:
            yield from _order_faults("crew.toml", where, days)
    yield from _days_at_odds(crew)
    # what is hired must be something that a kind of work asks for
    kit = {"climber", *(name for task in rules.tasks.values() for name in task.kit)}
    for hire in crew.hire:
        yield from strangers("crew.toml", f"[[hire]] {hire.name}", "id", [hire.id], sorted(kit))


def _order_faults(file: str, where: str, days: SomeDays) -> Iterator[Fault]:
    if days.last < days.first:
        yield Fault(file, where, "last", str(days.last), f"{days.first} or later")


def _days_at_odds(crew: Crew) -> Iterator[Fault]:
    """Days on which somebody works and is away, or works extra in two ways: which hours hold?"""
    for person in crew.person:
        where = f"[[person]] {person.name} extra"
        for extra, off in product(person.extra, person.off):
            if extra.first <= off.last and off.first <= extra.last:
                wanted = f"days that are not off, as {off.first} to {off.last} are"
                yield Fault("crew.toml", where, "first", str(extra.first), wanted)
        for before, after in pairwise(sorted(person.extra, key=lambda extra: extra.first)):
            if after.first <= before.last:
                wanted = f"each day once; it lies in {before.first} to {before.last}"
                yield Fault("crew.toml", where, "first", str(after.first), wanted)


def _days_of_crew(crew: Crew) -> Iterator[tuple[str, Sequence[SomeDays]]]:
    """Every list of days in ``crew.toml``, with where it stands."""
    for person in crew.person:
        yield f"[[person]] {person.name} off", person.off
        yield f"[[person]] {person.name} extra", person.extra
    for hire in crew.hire:
        yield f"[[hire]] {hire.id} extra", hire.extra
        yield f"[[hire]] {hire.id} booked", hire.booked


def days_in_no_plan(crew: Crew, plans: Sequence[Plan], as_of: date) -> Iterator[Notice]:
    """Days to come that lie in no plan: one that nobody has made yet, or a slip of the year."""
    for name, where, days in _days_told(crew, plans):
        coming = (day for day in dict.fromkeys(days) if day >= as_of)
        outside = [str(day) for day in coming if not any(day in plan.season for plan in plans)]
        if outside:
            says = (
                f"{name}, {where}: {', '.join(outside)} lies in no plan of the site. Is the year "
                "right? `scheduler new SITE --next` makes the plan of the following season."
            )
            yield Notice("day-in-no-plan", Level.WARNING, name, says)


def _days_told(crew: Crew, plans: Sequence[Plan]) -> Iterator[tuple[str, str, Iterable[date]]]:
    for where, spans in _days_of_crew(crew):
        if not where.endswith(" off"):  # a holiday does no harm
            yield "crew.toml", where, [day for days in spans for day in (days.first, days.last)]
    for name, file in {plan.file: plan.whole for plan in plans}.items():
        for own in file.own_date:
            yield name, f"[[own_date]] {own.task}", own.days


def crowding_faults(
    plots: Sequence[Plot] | None, stock: Iterable[tuple[CsvRow, Stock]]
) -> Iterator[Fault]:
    """Rows of more plants than a plot can hold: work of a size that no season has."""
    areas = {plot.id: plot.area_m2 for plot in plots or ()}
    for where, row in stock:
        crowns_m2 = row.count * math.pi / 4 * row.crown_m**2
        if crowns_m2 > MOST_LAYERS * areas.get(row.plot, math.inf):
            found = f"{row.count} crowns of {row.crown_m:g} m on {areas[row.plot]:g} m2"
            wanted = f"crowns of at most {MOST_LAYERS} times the ground; is area_m2 right?"
            yield where.fault("count", found, wanted)


def _place_faults(plots: Sequence[Plot], stock: Sequence[PlacedRow]) -> Iterator[Fault]:
    lines = {plot.id: sorted({line.id for line in plot.line}) for plot in plots}
    for where, row in stock:
        plot, line = row.get("plot", ""), row.get("line", "")
        if plot and plot not in lines:
            yield where.fault("plot", shown(plot), _one_of(list(lines), plot.casefold()))
        elif plot and line and line not in lines[plot]:
            known = lines[plot] or ["nothing: no lines given"]
            yield where.fault("line", shown(line), _one_of(known, line))


def _rule_faults(rules: RuleBook) -> Iterator[Fault]:
    """References inside the rule book, which a site's own rules.toml may break."""
    for task in rules.tasks.values():
        yield from _task_faults(task, rules)
    yield from _circle_faults(rules)
    for table, entries, leads_to in (
        ("tool", rules.tools, {"rate": rules.rates}),
        ("caution", rules.cautions, {"on_days_of": rules.rules}),
        ("plant", rules.plants, {"group": groups_of(rules), "biomass": rules.equations}),
        ("likeness", rules.likenesses, {"group": groups_of(rules)}),
        ("growth", rules.growths, {"groups": groups_of(rules)}),
        (
            "rule",
            rules.rules,
            {
                "tasks": {*rules.tasks, *fields.VISITS},
                "plants": rules.plants,
                "switch": rules.switches,
            },
        ),
    ):
        for name, entry in entries.items():
            yield from _leads(f"[[{table}]] {name}", entry, leads_to)
    by_tasks = {task.switch for task in rules.tasks.values()}
    by_rules = {rule.switch for rule in rules.rules.values()}
    asked_for = sorted(({CARE_MONTHS} | by_tasks | by_rules) - {""})
    for switch in rules.switches:  # one that nothing asks for would be taken in silence
        yield from strangers("rules.toml", f"[[switch]] {switch}", "id", [switch], asked_for)
    for bears in rules.harvests.values():
        if bears.full_year < bears.first_year:
            where, found = f"[[harvest]] {bears.id}", str(bears.full_year)
            yield Fault("rules.toml", where, "full_year", found, f"{bears.first_year} or later")
    for rule in rules.rules.values():
        near = {"before-last-frost": "until_weeks", "after-first-frost": "from_weeks"}.get(
            rule.kind
        )
        if near and getattr(rule, near) > (weeks := getattr(rule, "weeks")):  # noqa: B009  # by kind
            where, found = f"[[rule]] {rule.id}", f"{getattr(rule, near):g}"
            yield Fault("rules.toml", where, near, found, f"at most its weeks, {weeks:g}")


def _leads(where: str, entry: object, leads_to: Mapping[str, Iterable[str]]) -> Iterator[Fault]:
    """Names in the fields of an entry that are not among those which each field leads to."""
    for field, known in leads_to.items():
        value = getattr(entry, field)
        names = value if isinstance(value, tuple) else filter(None, [value])
        yield from strangers("rules.toml", where, field, names, sorted(known))


def _task_faults(task: TaskType, rules: RuleBook) -> Iterator[Fault]:
    where, tasks = f"[[task]] {task.id}", sorted(rules.tasks)
    yield from _leads(where, task, {"rate": rules.rates})
    yield from strangers("rules.toml", where, "after", [after.task for after in task.after], tasks)
    others = {"cautions": rules.cautions, "switch": rules.switches}
    yield from _leads(where, task, {"lays": tasks, "apart": tasks, **others})
    for field in ("with_task", "or_else", "instead_of"):
        yield from _leads(where, task, {field: tasks})
        yield from _leads_back(task, field, rules)


def _circle_faults(rules: RuleBook) -> Iterator[Fault]:
    """No kind of work may wait for itself, by whatever way; each circle once."""
    waits_for = {
        task.id: {after.task for after in task.after if after.task in rules.tasks}
        for task in rules.tasks.values()
    }
    while True:
        try:
            TopologicalSorter(waits_for).prepare()
        except CycleError as error:
            last, *others = reversed(error.args[1])  # each waits for the next
            circle = f"{last} waits for {', that for '.join(others)}"
            wanted = "no kind of work that waits for itself"
            yield Fault("rules.toml", f"[[task]] {last}", "after", circle, wanted)
            waits_for[last] = set()
        else:
            return


def _leads_back(task: TaskType, field: str, rules: RuleBook) -> Iterator[Fault]:
    """A field that names a task type may not lead back from there to its own."""
    name, passed = getattr(task, field), set[str]()
    while name in rules.tasks and name not in passed:
        passed.add(name)
        if name == task.id:
            found = repr(getattr(task, field))
            yield Fault("rules.toml", f"[[task]] {task.id}", field, found, "no way back to it")
        name = getattr(rules.tasks[name], field)


def sign_faults(site: Site, rules: RuleBook) -> Iterator[Fault]:
    """Signs of groups that no kind of plant is in, which would gate nothing."""
    groups = sorted({plant.group for plant in rules.plants.values()})
    for at, sign in enumerate(site.phenology, start=1):
        yield from strangers("site.toml", f"[[phenology]] {at}", "groups", sign.groups, groups)


def frost_faults(site: Site, plots: Sequence[Plot], data: FrostData) -> Iterator[Fault]:
    """Records, stages of bloom and published ranges that site.toml and plots.toml name."""
    yield from _frost_date_faults(site)
    named = [*site.frost.stations, *(plot.logger for plot in plots if plot.logger)]
    for name in site.frost.units:
        if named:
            yield from strangers("site.toml", "[frost] units", name, [name], named)
        else:
            yield Fault("site.toml", "[frost] units", name, repr(name), "no record is named")
    kinds = [bloom.plant for bloom in data.bloom]
    for plant, stage in site.frost.bloom.items():
        yield from strangers("site.toml", "[frost] bloom", plant, [plant], kinds)
        if bloom := data.bloom_of(plant):
            stages = [known.id for known in bloom.stage]
            yield from strangers("site.toml", "[frost] bloom", plant, [stage], stages)
    yield from _adjustment_faults(plots, data)


def _frost_date_faults(site: Site) -> Iterator[Fault]:
    """Swapped dates: north of the equator the last frost is the earlier in the calendar."""
    last, first = site.frost.own_last, site.frost.own_first
    if not (last and first) or (last < first) is (site.lat_deg >= 0):
        return
    half = "before" if site.lat_deg >= 0 else "after"
    allowed = f"the last frost of spring, {half} own_first ({first}) at this latitude"
    yield Fault("site.toml", "[frost]", "own_last", repr(last), allowed)


def _adjustment_faults(plots: Sequence[Plot], data: FrostData) -> Iterator[Fault]:
    ranges = [known.id for known in data.site_adjustment]
    for plot in plots:
        where = f"[[plot]] {plot.id} adjustment"
        for chosen in plot.adjustment:
            yield from strangers("plots.toml", where, "id", [chosen.id], ranges)
            published = data.adjustment(chosen.id)
            if published and published.per == "100 m" and chosen.height_m is None:
                wanted = f"{chosen.id} holds for each 100 m: a height above the floor, m"
                yield Fault("plots.toml", where, "height_m", "nothing", wanted)


def groups_of(rules: RuleBook) -> list[str]:
    """Groups of plants that some kind of work or rule speaks of, and those that none needs."""
    by_tasks = {g for task in rules.tasks.values() if task.selects for g in task.selects.groups}
    by_rules = {group for rule in rules.rules.values() for group in rule.groups}
    return sorted(by_tasks | by_rules | {"ground-crop"})


def _plan_faults(plan: Plan, plot_ids: Sequence[str], rules: RuleBook) -> Iterator[Fault]:
    file, types = plan.file, [*fields.VISITS, *rules.tasks]
    yield from _work_faults(plan, plot_ids, rules)
    for at, closed in enumerate(plan.says.closed, start=1):
        where = f"[[closed]] {at}"
        yield from strangers(file, where, "types", closed.types, types)
        yield from strangers(file, where, "plots", closed.plots, plot_ids)
        yield from _order_faults(file, where, closed)
    for own in plan.says.own_date:
        plot, _, kind = own.task.partition(":")[0].partition(".")
        visit = plot in plot_ids and kind in fields.VISITS
        if not visit and (plot not in (*plot_ids, "holding") or kind not in rules.tasks):
            wanted = "<plot>.<visit> or <plot>.<task type>, as `scheduler due` prints them"
            yield Fault(file, "[[own_date]]", "task", repr(own.task), wanted)
        yield from _own_day_faults(file, own, plan)
    yield from _twice(file, "[[own_date]]", [own.task for own in plan.says.own_date], "task")


def _work_faults(plan: Plan, plot_ids: Sequence[str], rules: RuleBook) -> Iterator[Fault]:
    file, types = plan.file, [*fields.VISITS, *rules.tasks]
    picking = [task.id for task in rules.tasks.values() if task.picks]
    picked = {f"{pick}:{name}" for pick, name in product(picking, rules.plants)}
    for at, work in enumerate(plan.says.work, start=1):
        where = f"[[work]] {at}"
        yield from strangers(file, where, "types", work.types, types)
        without = [name for name in work.without if name not in picked]
        yield from strangers(file, where, "without", without, types)
        yield from strangers(file, where, "plots", work.plots, plot_ids)
        along = [work.along_with] if work.along_with is not None else []
        yield from strangers(file, where, "along_with", along, plot_ids)


def _own_day_faults(file: str, own: OwnDate, plan: Plan) -> Iterator[Fault]:
    where = f"[[own_date]] {own.task}"
    for field in ("on", "not_before", "not_after"):
        day = getattr(own, field)
        if day is not None and day not in plan.season:
            wanted = f"{plan.season.first} to {plan.season.last}"
            yield Fault(file, where, field, str(day), wanted)
    if own.not_before and own.not_after and own.not_after < own.not_before:
        yield Fault(file, where, "not_after", str(own.not_after), f"{own.not_before} or later")
