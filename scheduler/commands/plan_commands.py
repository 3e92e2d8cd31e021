"""The commands that set up a site and plan its work."""

from typing import TYPE_CHECKING, Annotated

import typer

from scheduler.commands.door import (
    Afresh,
    AsJson,
    AsOf,
    Full,
    PlanId,
    PublishedIn,
    Site,
    TaskId,
    planned,
    refuse,
    refuse_task,
    refuse_unknown,
)
from scheduler.commands.many_sites import LIMIT_S, Cluster, Jobs, Limit, Sites, many, only_site
from scheduler.commands.screen import (
    FINE,
    WARNINGS,
    code_of,
    end_counting,
    end_with,
    print_json,
    say,
    say_notices,
    show,
    warnings_of,
)

if TYPE_CHECKING:
    from scheduler.holding import Holding

plan_commands = typer.Typer()


@plan_commands.command(epilog="Example: scheduler due sites/branasol fondal")
def due(
    site: Site,
    plot: Annotated[
        str | None, typer.Argument(metavar="[PLOT]", help="This plot alone, in full.")
    ] = None,
    full: Full = False,
    as_of: AsOf = None,
    plan: PlanId = None,
    as_json: AsJson = False,
) -> None:
    """What each plot needs, why, and how much work it is."""
    from scheduler.holding import id_of_plot
    from scheduler.reasons import GUESS_CODES
    from scheduler.words import due_record, due_tables, short_due

    def known(holding: "Holding") -> None:
        ids = [each.id for each in holding.plots]
        if plot is not None and id_of_plot(plot, holding.plots) not in ids:
            refuse(f"there is no plot {plot!r}; there are: {', '.join(ids)}")

    season = planned(site, as_of, plan, first=known)
    placed = season.placed
    plot = plot and id_of_plot(plot, placed.holding.plots)
    tables = due_tables(placed, plot) if full or plot else [short_due(placed)]
    show(due_record(placed, plot), tables, as_json=as_json)
    say_notices([n for n in season.notices if n.code in GUESS_CODES], err=True)
    end_counting(season.notices, f"check {site}")


@plan_commands.command(
    name="plan", epilog="Example: scheduler plan sites/branasol --as-of 2026-11-25"
)
def season_plan(
    site: Site,
    full: Full = False,
    without: Annotated[
        list[str] | None,
        typer.Option(
            "--without", metavar="ID", help="What a preference costs: moon, hire-blocks."
        ),
    ] = None,
    afresh: Afresh = False,
    published: PublishedIn = None,
    as_of: AsOf = None,
    plan: PlanId = None,
    as_json: AsJson = False,
) -> None:
    """The heavy days of each plot. With --full every day, hire and preferences."""
    from scheduler.reasons import compared
    from scheduler.words import (
        comparison_record,
        comparison_table,
        roster_record,
        roster_tables,
        short_plan,
    )

    if without:
        ids: list[str] = []
        season = planned(  # published days would hide the cost
            site, as_of, plan, first=lambda holding: ids.extend(_preferences(without, holding))
        )
        cost = compared(season.placed, ids)
        record = comparison_record(cost, season.placed)
        show(record, [comparison_table(cost, season.placed)], as_json=as_json)
        return
    season = planned(site, as_of, plan, [published], afresh=afresh)
    tables = roster_tables(season) if full else short_plan(season)
    show(roster_record(season), tables, as_json=as_json)
    end_counting(season.notices, f"check {site}")


def _preferences(names: list[str], holding: "Holding") -> list[str]:
    """The ids that are meant; refused where there is no such preference."""
    from scheduler.reasons import known_preferences, preference_of

    found = [(name, preference_of(name, holding)) for name in names]
    for name, one in found:
        if one is None:
            known = ", ".join(known_preferences(holding))
            refuse(f"there is no preference {name!r}; there are: {known}")
    return list(dict.fromkeys(one for _, one in found if one is not None))


@plan_commands.command(epilog="Example: scheduler why sites/branasol fondal.release")
def why(
    site: Site,
    task: TaskId,
    afresh: Afresh = False,
    published: PublishedIn = None,
    as_of: AsOf = None,
    plan: PlanId = None,
    as_json: AsJson = False,
) -> None:
    """Why this day and not earlier; or why a visit stays unscheduled."""
    from scheduler.words import why_record, why_table

    season = planned(
        site, as_of, plan, [published], afresh=afresh, first=lambda of: refuse_unknown(task, of)
    )
    known = [
        *season.placed.groups,
        *season.placed.tasks,
        *(errand.id for errand in season.errands),
    ]
    idle = [notice.says for notice in season.placed.idle if notice.speaks_of(task)]
    if idle:
        refuse(idle[0])
    if task not in known:
        refuse_task(task, known)
    show(why_record(season, task), [why_table(season, task)], as_json=as_json)
    visit = {*season.placed.groups.get(task, ()), season.placed.visit_of.get(task, task), task}
    about = [n for n in season.notices if any(map(n.speaks_of, visit))]
    if as_json:
        end_with(about)
    raise typer.Exit(code_of(about))  # the table has told them


@plan_commands.command(epilog="Example: scheduler check sites/branasol --as-of 2027-04-20")
def check(
    sites: Sites,
    afresh: Afresh = False,
    published: PublishedIn = None,
    as_of: AsOf = None,
    plan: PlanId = None,
    jobs: Jobs = 0,
    limit: Limit = LIMIT_S,
    cluster: Cluster = "",
    as_json: AsJson = False,
) -> None:
    """Warnings: open frost windows, visits left half done. And spare time.

    Above all work planned while a frost window is open; then what has no place, with what would
    free it, and the share of the crew's time that is kept spare.
    """
    from scheduler.reasons import GUESS_CODES
    from scheduler.season import SPARE_CODE
    from scheduler.words import notice_records

    site = only_site(sites, plan=plan, published=published)
    if site is None:
        many("check", sites, as_of, as_json=as_json, cluster=cluster, n_jobs=jobs, limit_s=limit,
             afresh=afresh)  # fmt: skip
    season = planned(site, as_of, plan, [published], afresh=afresh)
    warnings = warnings_of(season.notices)
    shown = (SPARE_CODE, *GUESS_CODES)
    notices = (*warnings, *(n for n in season.notices if n.code in shown))
    if as_json:
        print_json(notice_records(notices))
        raise typer.Exit(WARNINGS if warnings else FINE)
    if not warnings:
        say("No warnings.")
    say_notices(notices)
    raise typer.Exit(code_of(notices))
