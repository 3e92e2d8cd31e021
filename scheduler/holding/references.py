"""What the files of a site say of one another: names must lead somewhere."""

import difflib
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence

from scheduler.holding.crew import Crew
from scheduler.holding.faults import Fault
from scheduler.holding.plan import Plan
from scheduler.holding.plots import Plot, Stock
from scheduler.holding.rulebook import RuleBook

VISITS = ("dormant", "release", "dry-summer", "year")


def faults_between(
    plots: Sequence[Plot],
    stock: Sequence[Stock],
    crew: Crew,
    plan: Plan | None,
    rules: RuleBook,
) -> list[Fault]:
    """Every name that leads nowhere, and every name given twice."""
    plot_ids = [plot.id for plot in plots]
    faults = [
        *_twice("plots.toml", "[[plot]]", plot_ids),
        *_twice("crew.toml", "[[person]]", [person.name for person in crew.person]),
        *_twice("crew.toml", "[[hire]]", [hire.id for hire in crew.hire]),
        *_line_faults(plots),
        *_light_faults(plots, rules),
        *_span_faults(crew, plan),
        *_stock_faults(plots, stock, rules),
        *_rule_faults(rules),
    ]
    if plan is not None:
        faults += _plan_faults(plan, plot_ids, rules)
    return faults


def unknown(word: str, known: Iterable[str]) -> str:
    """What is allowed instead of an unknown word: the nearest one first."""
    names = list(known)
    near = difflib.get_close_matches(word, names, n=1)
    return f"{f'did you mean {near[0]}? ' if near else ''}one of {', '.join(names)}"


def _twice(file: str, table: str, names: Sequence[str]) -> Iterator[Fault]:
    for name, times in Counter(names).items():
        if times > 1:
            yield Fault(file, table, "id", f"{name!r} {times} times", "each name once")


def _line_faults(plots: Sequence[Plot]) -> Iterator[Fault]:
    for plot in plots:
        yield from _twice("plots.toml", f"[[plot]] {plot.id} [[line]]", [x.id for x in plot.line])


def _light_faults(plots: Sequence[Plot], rules: RuleBook) -> Iterator[Fault]:
    for plot in plots:
        where = f"[[plot]] {plot.id}"
        if plot.alley_light and plot.alley_light not in rules.light_classes:
            known = unknown(plot.alley_light, rules.light_classes)
            yield Fault("plots.toml", where, "alley_light", repr(plot.alley_light), known)
        strata = [trigger.stratum for trigger in plot.trigger]
        yield from _twice("plots.toml", f"{where} trigger", strata)


def _span_faults(crew: Crew, plan: Plan | None) -> Iterator[Fault]:
    for person in crew.person:
        for off in person.off:
            if off.last < off.first:
                where = f"[[person]] {person.name} off"
                yield Fault("crew.toml", where, "last", str(off.last), f"{off.first} or later")
    for closed in plan.says.closed if plan else ():
        if closed.last < closed.first:
            file = f"plan-{plan.id}.toml" if plan else ""
            yield Fault(file, "[[closed]]", "last", str(closed.last), f"{closed.first} or later")


def _stock_faults(
    plots: Sequence[Plot], stock: Sequence[Stock], rules: RuleBook
) -> Iterator[Fault]:
    lines = {plot.id: {line.id for line in plot.line} for plot in plots}
    for at, row in enumerate(stock, start=1):
        where = f"stock {at} ({row.plant})"
        if row.plot not in lines:
            yield Fault("stock.csv", where, "plot", repr(row.plot), unknown(row.plot, lines))
        elif row.line and row.line not in lines[row.plot]:
            known = unknown(row.line, sorted(lines[row.plot]) or ["nothing: no lines given"])
            yield Fault("stock.csv", where, "line", repr(row.line), known)
        if row.plant not in rules.plants:
            near = difflib.get_close_matches(row.plant, rules.plants, n=3)
            hint = f"did you mean {' or '.join(near)}? " if near else ""
            yield Fault(
                "stock.csv",
                where,
                "plant",
                repr(row.plant),
                f"{hint}a kind of the rule book; add a [[plant]] to rules.toml for a new one",
            )


def _rule_faults(rules: RuleBook) -> Iterator[Fault]:
    """References inside the rule book, which a site's own rules.toml may break."""
    for task in rules.tasks.values():
        where = f"[[task]] {task.id}"
        yield from _unknown(where, "rate", (task.rate,), rules.rates)
        yield from _unknown(where, "after", [after.task for after in task.after], rules.tasks)
        yield from _unknown(where, "cautions", task.cautions, rules.cautions)
        yield from _unknown(where, "switch", filter(None, [task.switch]), rules.switches)
        yield from _unknown(where, "instead_of", filter(None, [task.instead_of]), rules.tasks)
    for rule in rules.rules.values():
        where = f"[[rule]] {rule.id}"
        yield from _unknown(where, "tasks", rule.tasks, {**rules.tasks, **dict.fromkeys(VISITS)})
        yield from _unknown(where, "plants", rule.plants, rules.plants)
        yield from _unknown(where, "switch", filter(None, [rule.switch]), rules.switches)
    for bears in rules.harvests.values():
        if bears.full_year < bears.first_year:
            where, found = f"[[harvest]] {bears.id}", str(bears.full_year)
            wanted = f"{bears.first_year} or later"
            yield Fault("rules.toml", where, "full_year", found, wanted)


def _unknown(
    where: str, field: str, names: Iterable[str], known: Mapping[str, object]
) -> Iterator[Fault]:
    for name in names:
        if name not in known:
            yield Fault("rules.toml", where, field, repr(name), unknown(name, known))


def _plan_faults(plan: Plan, plot_ids: Sequence[str], rules: RuleBook) -> Iterator[Fault]:
    file = f"plan-{plan.id}.toml"
    types = [*VISITS, *rules.tasks]
    for at, work in enumerate(plan.says.work, start=1):
        where = f"[[work]] {at}"
        for name in (*work.types, *work.without):
            if name not in types:
                yield Fault(file, where, "types", repr(name), unknown(name, types))
        yield from _plot_faults(file, where, work.plots, plot_ids)
    for at, closed in enumerate(plan.says.closed, start=1):
        where = f"[[closed]] {at}"
        for name in closed.types:
            if name not in types:
                yield Fault(file, where, "types", repr(name), unknown(name, types))
        yield from _plot_faults(file, where, closed.plots, plot_ids)
    for own in plan.says.own_date:
        plot, _, kind = own.task.partition(".")
        if plot not in (*plot_ids, "holding") or kind not in rules.tasks:
            wanted = "<plot>.<task type>, as `scheduler due` prints them"
            yield Fault(file, "[[own_date]]", "task", repr(own.task), wanted)
        if own.on is not None and own.on not in plan.season:
            span = f"{plan.season.first} to {plan.season.last}"
            yield Fault(file, f"[[own_date]] {own.task}", "on", str(own.on), span)


def _plot_faults(
    file: str, where: str, named: Sequence[str], plot_ids: Sequence[str]
) -> Iterator[Fault]:
    for name in named:
        if name not in plot_ids:
            yield Fault(file, where, "plots", repr(name), unknown(name, plot_ids))
