"""What stands that may do harm, and what could not be done: in plain words."""

import difflib
from collections.abc import Iterator, Sequence
from datetime import timedelta

import numpy as np

from scheduler.frost import reach_words
from scheduler.holding import Holding, Stock, days_in_no_plan, steps_back
from scheduler.reasons.left_out import half_done_notices, left_out_notices
from scheduler.reasons.moves import Move, ask_notices
from scheduler.season import CALLS, Errand, Placed, booking_notices, spare_notices
from scheduler.stand import (
    change_taken,
    cover_of,
    left_to_utility,
    measured_first,
    never_cut,
    split_id,
)
from scheduler.terms import Level, Notice, day_words

GUESS_CODES = ("kind-guessed", "sizes-assumed")  # of notes that are always shown
SOON_OVER_DAYS = 92  # before its end a plan that nothing follows is spoken of
SLENDER = ("vine", "grass")  # groups that lean on others, or on a clump


def notices_of(
    placed: Placed, errands: Sequence[Errand], moves: Sequence[Move]
) -> tuple[Notice, ...]:
    """Everything worth telling, warnings first."""
    over = placed.outlook.as_of > placed.season.last
    without_place: tuple[Notice, ...] = ()
    if not over:
        without_place = (*half_done_notices(placed), *left_out_notices(placed))
    notices = [
        *_frost_warnings(placed),
        *_own_dates(placed),
        *_unknown_own_dates(placed),
        *_late_covers(placed),
        *_hard_nights(placed, errands),
        *(
            Notice("power-line-near", Level.WARNING, plot.id, near)
            for plot in placed.holding.plots
            if (near := left_to_utility(plot, placed.holding)) is not None
        ),
        *_plan_ends(placed),
        *without_place,
        *days_in_no_plan(placed.holding.crew, placed.holding.plans, placed.outlook.as_of),
        *ask_notices(placed, moves),
        *_late_errands(errands),
        *booking_notices(placed),
        *_odd_stock(placed),
        *_guesses(placed.holding),
        *_mulch_to_come(placed),
        *_wet_summers(placed),
        *_nobody_to_call(placed),
        *_odd_log(placed, errands),
        *placed.outlook.notices,
        *(() if over else placed.idle),
        *spare_notices(placed.outlook.spare),
    ]
    return tuple(sorted(notices, key=lambda notice: notice.level is not Level.WARNING))


def visit_notices(placed: Placed) -> tuple[Notice, ...]:
    """What the events of visits warn of; it is known without asking why work is left out."""
    return (*_late_covers(placed), *half_done_notices(placed))


def _frost_warnings(placed: Placed) -> Iterator[Notice]:
    """One warning a visit, for the first of its days on which frost can reach what it opens."""
    for visit_id, ids in placed.groups.items():
        reaches = {t: r for t in ids if (r := placed.frost_reach(t)) is not None}
        if reaches:
            reach = min(reaches.values(), key=lambda reach: reach.day)
            code = "frost-window-open" if reach.weeks is None else "frost-in-new-growth"
            title = placed.titled(visit_id)
            says = reach_words(reach, title[0].upper() + title[1:], placed.holding)
            also = tuple(task_id for task_id in reaches if task_id != visit_id)
            yield Notice(code, Level.WARNING, visit_id, says, also)


def _own_dates(placed: Placed) -> Iterator[Notice]:
    """A warning for each rule that an own date breaks; frost has warnings of its own."""
    kinds, rules = ("after-last-frost", "harden-before-frost"), placed.holding.rules.rules
    frosty = {rule.id for rule in rules.values() if rule.kind in kinds}
    for task in placed.tasks.values():
        window = placed.windows[task.id]
        if window.fixed_first is None or task.id not in placed.stints:
            continue
        warned = placed.frost_reach(task.id) is not None
        against = "; ".join(
            ruling.words for ruling in window.against if not (warned and ruling.rule_id in frosty)
        )
        if against:
            day = day_words(placed.season.date_of(window.fixed_first))
            says = (
                f"{task.title} in {placed.place_of(task)} is set for your own date, {day}, "
                f"against: {against}."
            )
            yield Notice("own-date-against-rule", Level.WARNING, task.id, says)


def _unknown_own_dates(placed: Placed) -> Iterator[Notice]:
    """Days set for work that the plan does not have: most often a slip in the name."""
    known = [*placed.groups, *placed.tasks]
    for own in placed.holding.plan.says.own_date:
        if own.task not in known and not any(n.speaks_of(own.task) for n in placed.idle):
            near = difflib.get_close_matches(own.task, known, n=1)
            hint = f" Did you mean {near[0]}?" if near else ""
            file = placed.holding.plan.file
            says = f"{file} sets a day for {own.task}, which the plan does not have.{hint}"
            yield Notice("own-date-unknown", Level.WARNING, own.task, says)


def _late_covers(placed: Placed) -> Iterator[Notice]:
    """Covers whose day stands in an open frost window: they should have been on before."""
    for task in placed.tasks.values():
        stint = placed.stints.get(task.id)
        if stint is None or task.plot is None or not task.type.covers:
            continue
        if placed.outlook.frost[task.plot.id].open[stint.first]:
            on = day_words(placed.season.date_of(stint.first))
            says = (
                f"{task.title} in {task.plot.name} is late: frost may come any night. It "
                f"is planned for {on}; before that watch the forecast, and cover the tenderest by "
                "hand on a cold evening."
            )
            yield Notice("cover-late", Level.WARNING, task.id, says)


def _hard_nights(placed: Placed, errands: Sequence[Errand]) -> Iterator[Notice]:
    """Nights that stock wants covering for: a warning once it is tonight or tomorrow."""
    soon = placed.outlook.as_of + timedelta(days=1)
    for errand in errands:
        if errand.kind != "protect":
            continue
        level = Level.WARNING if errand.on <= soon else Level.NOTE
        says = f"{errand.title} on the evening of {day_words(errand.on)}: {errand.because}."
        yield Notice("frost-night", level, errand.id, says)


def _plan_ends(placed: Placed) -> Iterator[Notice]:
    """A plan that is over, or soon will be, and no other after it."""
    last, as_of = placed.season.last, placed.outlook.as_of
    if placed.holding.following is not None or last > as_of + timedelta(days=SOON_OVER_DAYS):
        return
    over = as_of > last
    says = (
        f"The plan {'ended' if over else 'ends'} on {day_words(last)}: `scheduler new SITE "
        f"--next` makes the one after it. Without `last` in {placed.holding.plan.file} it goes on "
        "by itself."
    )
    level = Level.WARNING if over else Level.NOTE
    yield Notice("plan-over" if over else "plan-ends", level, placed.holding.plan.id, says)


def _late_errands(errands: Sequence[Errand]) -> Iterator[Notice]:
    for errand in errands:
        if errand.late and errand.needed is not None:
            says = f"{errand.title}: by now it is late for {day_words(errand.needed)}."
            yield Notice("booking-late", Level.WARNING, errand.id, says)


def _odd_stock(placed: Placed) -> Iterator[Notice]:
    holding = placed.holding
    if not holding.stock:
        says = (
            "stock.csv has no rows; no work follows from it. Put your plants in, a row for each."
        )
        yield Notice("stock-empty", Level.WARNING, "stock.csv", says)
    for row in never_cut(holding):
        name = holding.rules.plants[row.plant].name.lower()
        mend = (
            f"With {change_taken(row, holding.rules)} they would be; with cut_system none, never"
        )
        says = (
            f"{row.count} {name} ({row.stratum}, {row.role}, {row.cut_system}) in {row.plot}: no "
            f"kind of work takes them. {mend}."
        )
        yield Notice("never-cut", Level.WARNING, row.plot, says)
    for row in holding.stock:
        for code, says in _odd_measures(row, placed):
            yield Notice(code, Level.WARNING, row.plot, says)
    for plot in holding.plots:
        for cover in cover_of(plot, holding.stock, holding.rules):
            if cover.trigger < cover.target:
                says = (
                    f"{plot.name}: the {cover.stratum} stratum is cut at {cover.trigger:.0%}, "
                    f"below the {cover.target:.0%} that it is kept to; it would be cut for ever."
                )
                yield Notice("trigger-below-target", Level.WARNING, plot.id, says)
            if cover.share > holding.rules.figure("cover-too-large"):
                says = (
                    f"The crowns of the {cover.stratum} stratum cover {cover.share:.0f} times the "
                    f"ground of {plot.name}: is area_m2 right, or crown_m?"
                )
                yield Notice("cover-too-large", Level.WARNING, plot.id, says)
        if plot.planted > placed.season.last.year:
            says = f"{plot.name} is planted in {plot.planted}, after the end of the plan."
            yield Notice("planted-later", Level.WARNING, plot.id, says)


def _wet_summers(placed: Placed) -> Iterator[Notice]:
    """That stone fruit is better cut in winter where summer is the wet half of the year."""
    holding, record = placed.holding, placed.holding.record
    stone = [r for r in holding.stock if holding.rules.plants[r.plant].group == "stone-fruit"]
    if not stone or record is None or record.rain_mm is None or holding.rules.is_on("dry-winter"):
        return
    summer = range(5, 11) if not holding.site.place.southern else (11, 12, 1, 2, 3, 4)
    months = np.array([day.month for day in record.season])
    wet = float(np.nansum(record.rain_mm[np.isin(months, list(summer))]))
    whole = float(np.nansum(record.rain_mm))
    if whole and wet / whole > holding.rules.figure("wet-half"):
        says = (
            f"Summer is the wet half of the year by your record ({wet / whole:.0%} of the rain): "
            "stone fruit cut then takes in canker and silver leaf. [[switch]] dry-winter, state = "
            '"on" in rules.toml moves its cut to the end of the dry winter.'
        )
        yield Notice("wet-summer", Level.WARNING, "stock.csv", says)


def _nobody_to_call(placed: Placed) -> Iterator[Notice]:
    """That no emergency line stands in site.toml, though heavy work is planned."""
    heavy = any(placed.tasks[task_id].type.heavy for task_id in placed.stints)
    if heavy and not placed.holding.site.emergency:
        says = (
            "Say under `emergency` in site.toml who calls whom and where the road is; it is in "
            "the entry of each heavy day."
        )
        yield Notice("no-emergency-line", Level.NOTE, "site.toml", says)


def _odd_measures(row: Stock, placed: Placed) -> Iterator[tuple[str, str]]:
    """Slips in a row of stock.csv: a stem that its height denies, a cut still to come."""
    rules, plant = placed.holding.rules, placed.holding.rules.plants[row.plant]
    what = f"{row.count} {plant.name.lower()} in {row.plot}"
    # herbs, clumps and climbers may stand high on thin stems
    slender = plant.habit == "herb" or plant.group in SLENDER or row.cut_system == "clump"
    most_m = rules.figure("stem-too-thin") * row.stem_cm / 100
    too_thin = not slender and row.height_m > most_m
    if row.stem_cm / 100 > rules.figure("stem-too-thick") * row.height_m:
        yield (
            "stem-too-thick",
            f"{what}: stems of {row.stem_cm:g} cm on trees of {row.height_m:g} m: is stem_cm "
            "right (cm, not mm), or height_m?",
        )
    elif row.height_m > rules.figure("breast-height") and too_thin:
        yield (
            "stem-too-thin",
            f"{what}: stems of {row.stem_cm:g} cm on trees of {row.height_m:g} m: is height_m "
            "right, or stem_cm? No wind would leave them standing.",
        )
    if row.last_cut is not None and row.last_cut > placed.outlook.as_of:
        yield (
            "last-cut-to-come",
            f"{what}: last_cut in stock.csv is {day_words(row.last_cut)}, a day to come.",
        )


def _mulch_to_come(placed: Placed) -> Iterator[Notice]:
    """Mulch that was measured on a day to come."""
    for plot in placed.holding.plots:
        for line in plot.line:
            if line.mulch_on is not None and line.mulch_on > placed.outlook.as_of:
                says = (
                    f"{plot.name}, line {line.id}: mulch_on in plots.toml is "
                    f"{day_words(line.mulch_on)}, a day to come."
                )
                yield Notice("mulch-to-come", Level.WARNING, plot.id, says)


def _odd_log(placed: Placed, errands: Sequence[Errand]) -> Iterator[Notice]:
    """Entries of what is no task of the plan, that take work back, or that are of days to come."""
    in_plan = {*placed.tasks, *(errand.id for errand in errands)}
    for task_id in placed.progress:
        kind = task_id.partition(".")[2]
        if task_id not in in_plan and not kind.startswith(CALLS):
            near = _near(task_id, placed)
            hint = f"; did you mean {near}?" if near else "."
            says = f"worklog.csv speaks of {task_id}, which is no task of this plan{hint}"
            yield Notice("log-unknown-task", Level.WARNING, task_id, says)
    for task_id, entries in placed.log.items():
        for before, entry in steps_back(entries) if task_id in placed.tasks else ():
            says = (
                f"worklog.csv has {task_id} at {entry.percent} % on {day_words(entry.date)} after "
                f"{before.percent} % on {day_words(before.date)}; the last row counts. Correct "
                "the row that is wrong."
            )
            yield Notice("log-goes-back", Level.WARNING, task_id, says)
        for entry in entries:
            if entry.date > placed.outlook.as_of:
                says = f"worklog.csv has {task_id} on {day_words(entry.date)}, a day to come."
                yield Notice("log-day-to-come", Level.WARNING, task_id, says)


def _near(task_id: str, placed: Placed) -> str:
    """A task of the plan that is written much like this one; empty for work of another plan."""
    plot, kind, _ = split_id(task_id)
    plots = {"holding", *(plot.id for plot in placed.holding.plots)}
    if plot in plots and kind in placed.holding.rules.tasks:
        return ""
    return next(iter(difflib.get_close_matches(task_id, placed.tasks, n=1)), "")


def _guesses(holding: Holding) -> Iterator[Notice]:
    """A note for each kind that is guessed, and one for the sizes that are assumed."""
    plants, plots = holding.rules.plants, {plot.id: plot.name for plot in holding.plots}
    for kind in holding.guessed:
        says = (
            f"{plants[kind].name} is not in the rule book; it is taken as {plants[kind].source}. "
            f'Put a [[plant]] with id = "{kind}" into rules.toml to say otherwise.'
        )
        yield Notice(GUESS_CODES[0], Level.NOTE, kind, says)
    if assumed := sum(bool(row.assumed) for row in holding.stock):
        first = "; ".join(
            f"{row.count} {plants[row.plant].name.lower()} in {plots[row.plot]} "
            f"({row.stem_cm:g} cm, {row.height_m:g} m high, {row.crown_m:g} m wide)"
            for row in measured_first(holding)
        )
        says = (
            f"Sizes of {assumed} of {len(holding.stock)} rows of stock are assumed, from the kind "
            "and the year of planting, where stem_cm, height_m or crown_m stands empty."
        )
        more = f" Measure these first, they change the hours most: {first}." if first else ""
        yield Notice(GUESS_CODES[1], Level.NOTE, "stock", says + more)
