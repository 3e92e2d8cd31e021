"""What the files of a site say of one another: names must lead somewhere."""

import difflib
import math
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import pairwise
from typing import TypeAlias

from scheduler.files import Fault, fields
from scheduler.holding.crew import Crew, SomeDays
from scheduler.holding.dayrules import CARE_MONTHS
from scheduler.holding.plan import OwnDate, Plan
from scheduler.holding.plots import Plot, Stock
from scheduler.holding.rulebook import RuleBook
from scheduler.holding.site import Site
from scheduler.holding.tasktypes import TaskType
from scheduler.terms import Season

MOST_LAYERS = 20  # crowns of one row over one another, no mistake being so small
NamedRow: TypeAlias = tuple[str, Mapping[str, str]]


def named(stock: Iterable[tuple[str, Stock]]) -> Iterator[NamedRow]:
    """The names that rows of stock give."""
    for where, row in stock:
        yield where, {"plot": row.plot, "line": row.line, "plant": row.plant}


def faults_between(
    plots: Sequence[Plot] | None,
    stock: Sequence[NamedRow],
    crew: Crew | None,
    plan: Plan | None,
    rules: RuleBook,
) -> list[Fault]:
    """Every name that leads nowhere, and every name given twice.

    Args:
        plots: the plots; None where their file is at fault, so that nothing is said twice.
        stock: plot, line and kind of the rows of stock, with the name of each row.
        crew: likewise None where it is at fault.
        plan: likewise.
        rules: the rule book in force.
    """
    faults = [*_plant_faults(stock, rules), *_rule_faults(rules)]
    if crew is not None:
        faults += _twice("crew.toml", "[[person]]", [person.name for person in crew.person])
        faults += _twice("crew.toml", "[[hire]]", [hire.id for hire in crew.hire])
        faults += _order_faults(crew)
        faults += _off_and_extra(crew)
        faults += _extra_twice(crew)
        faults += _hire_faults(crew, rules)
    if plots is not None:
        if not plots:
            faults.append(Fault("plots.toml", "[[plot]]", "", "none", "at least one plot"))
        faults += _twice("plots.toml", "[[plot]]", [plot.id for plot in plots])
        faults += _line_faults(plots)
        faults += _light_faults(plots, rules)
        faults += _asked_faults(plots, rules)
        faults += _place_faults(plots, stock)
    if plan is not None and plots is not None:
        faults += _plan_faults(plan, [plot.id for plot in plots], rules)
    return faults


def unknown(word: str, known: Iterable[str]) -> str:
    """What is allowed instead of an unknown word: the nearest one first."""
    names = list(known)
    near = difflib.get_close_matches(word, names, n=1)
    return f"{f'did you mean {near[0]}? ' if near else ''}one of {', '.join(names)}"


def _twice(file: str, table: str, names: Sequence[str], field: str = "id") -> Iterator[Fault]:
    for name, times in Counter(names).items():
        if times > 1:
            yield Fault(file, table, field, f"{name!r} {times} times", "each name once")


def _line_faults(plots: Sequence[Plot]) -> Iterator[Fault]:
    for plot in plots:
        yield from _twice("plots.toml", f"[[plot]] {plot.id} [[line]]", [x.id for x in plot.line])
        for line in plot.line:
            if (line.mulch_cm is None) is not (line.mulch_on is None):
                where = f"[[plot]] {plot.id} [[line]] {line.id}"
                wanted = "both mulch_cm and mulch_on, the day it was measured, or neither"
                yield Fault("plots.toml", where, "mulch_on", "one of two", wanted)


def _asked_faults(plots: Sequence[Plot], rules: RuleBook) -> Iterator[Fault]:
    """Work that a plot asks for and that is not there to be asked for."""
    asked = [kind.id for kind in rules.tasks.values() if kind.asked]
    for plot in plots:
        for name in plot.also:
            if name not in asked:
                yield Fault(
                    "plots.toml", f"[[plot]] {plot.id}", "also", repr(name), unknown(name, asked)
                )


def _light_faults(plots: Sequence[Plot], rules: RuleBook) -> Iterator[Fault]:
    for plot in plots:
        where = f"[[plot]] {plot.id}"
        for field in ("alley_light", "line_light"):
            light = getattr(plot, field)
            if light and light not in rules.light_classes:
                known = unknown(light, rules.light_classes)
                yield Fault("plots.toml", where, field, repr(light), known)
        strata = [trigger.stratum for trigger in plot.trigger]
        yield from _twice("plots.toml", f"{where} trigger", strata)


def _days_of_crew(crew: Crew) -> Iterator[tuple[str, Sequence[SomeDays]]]:
    """Every list of days in ``crew.toml``, with where it stands."""
    for person in crew.person:
        yield f"[[person]] {person.name} off", person.off
        yield f"[[person]] {person.name} extra", person.extra
    for hire in crew.hire:
        yield f"[[hire]] {hire.id} extra", hire.extra
        yield f"[[hire]] {hire.id} booked", hire.booked


def _order_faults(crew: Crew) -> Iterator[Fault]:
    for where, days in _days_of_crew(crew):
        for one in days:
            if one.last < one.first:
                yield Fault("crew.toml", where, "last", str(one.last), f"{one.first} or later")


def _off_and_extra(crew: Crew) -> Iterator[Fault]:
    """Days on which somebody is said to work and to be away."""
    for person in crew.person:
        for extra in person.extra:
            for off in person.off:
                if extra.first <= off.last and off.first <= extra.last:
                    where, found = f"[[person]] {person.name} extra", f"{extra.first}"
                    wanted = f"days that are not off, as {off.first} to {off.last} are"
                    yield Fault("crew.toml", where, "first", found, wanted)


def _extra_twice(crew: Crew) -> Iterator[Fault]:
    """Days on which somebody is said to work extra in two ways: which hours hold?"""
    for person in crew.person:
        spans = sorted(person.extra, key=lambda one: one.first)
        for one, two in pairwise(spans):
            if two.first <= one.last:
                where, found = f"[[person]] {person.name} extra", f"{two.first}"
                wanted = f"each day once; it lies in {one.first} to {one.last}"
                yield Fault("crew.toml", where, "first", found, wanted)


def faults_of_days(crew: Crew, seasons: Sequence[Season]) -> Iterator[Fault]:
    """Days of work or hire that lie in no plan of the site: a mistyped year would be silent.

    Args:
        crew: people and hire.
        seasons: the days of every plan of the site.
    """
    spans = ", ".join(f"{season.first} to {season.last}" for season in seasons)
    for where, days in _days_of_crew(crew):
        if where.endswith(" off"):  # a holiday that has gone by does no harm
            continue
        for one in days:
            for field in ("first", "last"):
                day = getattr(one, field)
                if not any(day in season for season in seasons):
                    wanted = f"a day of a plan: {spans}; take it out once it has gone by"
                    yield Fault("crew.toml", where, field, str(day), wanted)


def _hire_faults(crew: Crew, rules: RuleBook) -> Iterator[Fault]:
    """What is hired must be something that a kind of work asks for."""
    wanted = {"climber", *(name for task in rules.tasks.values() for name in task.kit)}
    for hire in crew.hire:
        if hire.id not in wanted:
            where = f"[[hire]] {hire.name}"
            yield Fault("crew.toml", where, "id", repr(hire.id), unknown(hire.id, sorted(wanted)))


def crowding_faults(
    plots: Sequence[Plot] | None, stock: Iterable[tuple[str, Stock]]
) -> Iterator[Fault]:
    """Rows of more plants than a plot can hold: work of a size that no season has."""
    areas = {plot.id: plot.area_m2 for plot in plots or ()}
    for where, row in stock:
        crowns_m2 = row.count * math.pi / 4 * row.crown_m**2
        if crowns_m2 > MOST_LAYERS * areas.get(row.plot, math.inf):
            found = f"{row.count} crowns of {row.crown_m:g} m on {areas[row.plot]:g} m2"
            wanted = f"crowns of at most {MOST_LAYERS} times the ground; is area_m2 right?"
            yield Fault("stock.csv", where, "count", found, wanted)


def _place_faults(plots: Sequence[Plot], stock: Sequence[NamedRow]) -> Iterator[Fault]:
    lines = {plot.id: {line.id for line in plot.line} for plot in plots}
    for where, row in stock:
        plot, line = row.get("plot", ""), row.get("line", "")
        if plot and plot not in lines:
            yield Fault("stock.csv", where, "plot", repr(plot), unknown(plot, lines))
        elif plot and line and line not in lines[plot]:
            known = unknown(line, sorted(lines[plot]) or ["nothing: no lines given"])
            yield Fault("stock.csv", where, "line", repr(line), known)


def _plant_faults(stock: Sequence[NamedRow], rules: RuleBook) -> Iterator[Fault]:
    for where, row in stock:
        plant = row.get("plant", "")
        # a name that is none at all has been told already
        if plant and fields.is_slug(plant) and plant not in rules.plants:
            near = difflib.get_close_matches(plant, rules.plants, n=3, cutoff=0.75)
            hint = f"did you mean {' or '.join(near)}? " if near else ""
            yield Fault(
                "stock.csv",
                where,
                "plant",
                repr(plant),
                f"{hint}a kind of the rule book; rules.toml can add a [[plant]]",
            )


def _rule_faults(rules: RuleBook) -> Iterator[Fault]:
    """References inside the rule book, which a site's own rules.toml may break."""
    types, groups = {*rules.tasks, *fields.VISITS}, groups_of(rules)
    yield from _task_faults(rules)
    for tool in rules.tools.values():
        yield from _leads(
            f"[[tool]] {tool.id}", "rate", [tool.rate] if tool.rate else [], rules.rates
        )
    for caution in rules.cautions.values():
        of = [caution.on_days_of] if caution.on_days_of else []
        yield from _leads(f"[[caution]] {caution.id}", "on_days_of", of, rules.rules)
    for plant in rules.plants.values():
        where = f"[[plant]] {plant.id}"
        yield from _leads(where, "group", [plant.group], groups)
        yield from _leads(where, "biomass", filter(None, [plant.biomass]), rules.equations)
    for rule in rules.rules.values():
        where = f"[[rule]] {rule.id}"
        yield from _leads(where, "tasks", rule.tasks, types)
        yield from _leads(where, "plants", rule.plants, rules.plants)
        yield from _leads(where, "switch", filter(None, [rule.switch]), rules.switches)
    speaking = (*rules.tasks.values(), *rules.rules.values())
    named = {CARE_MONTHS, *filter(None, (one.switch for one in speaking))}
    for switch in rules.switches:  # one that nothing asks for would be taken in silence
        yield from _leads(f"[[switch]] {switch}", "id", [switch], named)
    yield from _harvest_faults(rules)


def sign_faults(site: Site, rules: RuleBook) -> Iterator[Fault]:
    """Signs of groups that no kind of plant is in, which would gate nothing."""
    groups = sorted({plant.group for plant in rules.plants.values()})
    for at, sign in enumerate(site.sign, start=1):
        for group in sign.groups:
            if group not in groups:
                where = f"[[sign]] {at}"
                yield Fault("site.toml", where, "groups", repr(group), unknown(group, groups))


def _harvest_faults(rules: RuleBook) -> Iterator[Fault]:
    for bears in rules.harvests.values():
        if bears.full_year < bears.first_year:
            where, found = f"[[harvest]] {bears.id}", str(bears.full_year)
            wanted = f"{bears.first_year} or later"
            yield Fault("rules.toml", where, "full_year", found, wanted)


def _task_faults(rules: RuleBook) -> Iterator[Fault]:
    """What entries of ``[[task]]`` name."""
    for task in rules.tasks.values():
        where = f"[[task]] {task.id}"
        yield from _leads(where, "rate", [task.rate], rules.rates)
        yield from _leads(where, "after", [after.task for after in task.after], rules.tasks)
        yield from _leads(where, "lays", task.lays, rules.tasks)
        yield from _leads(where, "apart", [task.apart] if task.apart else [], rules.tasks)
        yield from _leads(where, "cautions", task.cautions, rules.cautions)
        yield from _leads(where, "switch", filter(None, [task.switch]), rules.switches)
        for field in ("with_task", "or_else", "instead_of"):
            yield from _leads_away(task, field, rules)


def _leads_away(task: TaskType, field: str, rules: RuleBook) -> Iterator[Fault]:
    """A field that names a task type leads to one, and from there on never back."""
    where, name = f"[[task]] {task.id}", getattr(task, field)
    if name is not None:
        yield from _leads(where, field, [name], rules.tasks)
    passed: set[str] = set()
    while name in rules.tasks and name not in passed:
        passed.add(name)
        if name == task.id:
            yield Fault(
                "rules.toml", where, field, repr(getattr(task, field)), "no way back to it"
            )
        name = getattr(rules.tasks[name], field)


def _leads(where: str, field: str, names: Iterable[str], known: Iterable[str]) -> Iterator[Fault]:
    """A fault for each name that is not known."""
    known = sorted(known)
    for name in names:
        if name not in known:
            yield Fault("rules.toml", where, field, repr(name), unknown(name, known))


def groups_of(rules: RuleBook) -> list[str]:
    """Groups of plants that some kind of work or rule speaks of, and those that none needs."""
    by_tasks = {g for task in rules.tasks.values() if task.selects for g in task.selects.groups}
    by_rules = {group for rule in rules.rules.values() for group in rule.groups}
    return sorted(by_tasks | by_rules | {"ground-crop"})


def _plan_faults(plan: Plan, plot_ids: Sequence[str], rules: RuleBook) -> Iterator[Fault]:
    file = f"plan-{plan.id}.toml"
    types = [*fields.VISITS, *rules.tasks]
    yield from _work_faults(file, plan, plot_ids, types)
    for at, closed in enumerate(plan.says.closed, start=1):
        where = f"[[closed]] {at}"
        for name in closed.types:
            if name not in types:
                yield Fault(file, where, "types", repr(name), unknown(name, types))
        yield from _plot_faults(file, where, closed.plots, plot_ids)
        if closed.last < closed.first:
            yield Fault(file, where, "last", str(closed.last), f"{closed.first} or later")
    for own in plan.says.own_date:
        plot, _, kind = own.task.partition(":")[0].partition(".")
        visit = plot in plot_ids and kind in fields.VISITS
        if not visit and (plot not in (*plot_ids, "holding") or kind not in rules.tasks):
            wanted = "<plot>.<visit> or <plot>.<task type>, as `scheduler due` prints them"
            yield Fault(file, "[[own_date]]", "task", repr(own.task), wanted)
        yield from _own_day_faults(file, own, plan)
    yield from _twice(file, "[[own_date]]", [own.task for own in plan.says.own_date], "task")


def _work_faults(
    file: str, plan: Plan, plot_ids: Sequence[str], types: Sequence[str]
) -> Iterator[Fault]:
    for at, work in enumerate(plan.says.work, start=1):
        where = f"[[work]] {at}"
        for name in (*work.types, *work.without):
            if name not in types:
                yield Fault(file, where, "types", repr(name), unknown(name, types))
        yield from _plot_faults(file, where, work.plots, plot_ids)
        if work.along_with is not None and work.along_with not in plot_ids:
            wanted = unknown(work.along_with, plot_ids)
            yield Fault(file, where, "along_with", repr(work.along_with), wanted)


def _own_day_faults(file: str, own: OwnDate, plan: Plan) -> Iterator[Fault]:
    span = f"{plan.season.first} to {plan.season.last}"
    for field in ("on", "not_before", "not_after"):
        day = getattr(own, field)
        if day is not None and day not in plan.season:
            yield Fault(file, f"[[own_date]] {own.task}", field, str(day), span)
    if own.not_before and own.not_after and own.not_after < own.not_before:
        where = f"[[own_date]] {own.task}"
        yield Fault(file, where, "not_after", str(own.not_after), f"{own.not_before} or later")


def _plot_faults(
    file: str, where: str, named: Sequence[str], plot_ids: Sequence[str]
) -> Iterator[Fault]:
    for name in named:
        if name not in plot_ids:
            yield Fault(file, where, "plots", repr(name), unknown(name, plot_ids))
