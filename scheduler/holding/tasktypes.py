"""Kinds of work, how long they take, and their cautions: entries of the rule book."""

from typing import Annotated, Literal, TypeAlias

from pydantic import Discriminator

from scheduler.files import fields


@fields.table
class Selection:
    """``selects = {...}``: which stock a task type takes; an empty list takes all.

    Args:
        groups: groups of plants.
        not_plants: kinds of those groups that it leaves alone.
        strata: strata.
        roles: roles.
        cut_systems: cut systems.
        habits: habits of the plants.
        rest_c_above: only kinds that die at rest at more than this, degrees C.
        up_to_m: only plants no higher than this, m.
    """

    groups: tuple[fields.Slug, ...] = ()
    not_plants: tuple[fields.Slug, ...] = ()
    strata: tuple[fields.Stratum, ...] = ()
    roles: tuple[fields.Role, ...] = ()
    cut_systems: tuple[fields.CutSystem, ...] = ()
    habits: tuple[fields.Habit, ...] = ()
    rest_c_above: fields.Celsius | None = None
    up_to_m: fields.Positive | None = None


@fields.table
class After:
    """``after = [{...}]``: a task type of the same plot that comes first.

    Args:
        task: id of the task type.
        min_days: days that must pass between; 0 allows the same day.
        within_days: at most so many days between, if it matters.
        if_open: the wait ends where no rule leaves that work a day in the plan, or where this
            work would have no day for it; for work that is better done later, but need not be.
    """

    task: fields.Slug
    min_days: fields.DaysAhead = 0
    within_days: fields.DaysAhead | None = None
    if_open: bool = False


@fields.table
class TaskType:
    """``[[task]]``: one kind of work.

    Args:
        id: name; a task is called ``<plot>.<id>``.
        title: short imperative words; ``{kinds}`` stands for the names of its plants.
        visit: the visit it belongs to.
        apart: where its plants set its days, so that it is no step of its plot's visit: the task
            type that it is placed with, or its own id. Work of the year always has its own place.
        by_kind: whether kinds that disagree on their days are tasks of their own.
        picks: whether it brings in the crop, each kind in its months and rounds.
        order: rank in the order of work of its visit.
        scope: once in each plot, or once for the holding.
        selects: the stock it takes; none for work on ground or material.
        after: what comes first in the same plot.
        lays: task types of the same visit whose wood it lays; left out, it lays that of all
            which no other task of its rate lays.
        rate: id of the rate its hours come from.
        team: smallest useful team, people by skill.
        crew_max: largest useful team; those above the smallest need ``hands`` only.
        kit: hired or own machines it needs.
        least: dropped where there is less than this of what its rate counts.
        asked: whether it is done only in plots that ask for it (``also``).
        with_task: done only where the plot has this task too.
        or_else: task type that takes its place where no day of its visit is open to it.
        trims: a light trim that no season of cutting speaks of.
        rounds: how often it is done, ``round_days`` after one another.
        round_days: days from one round to the next, at the least.
        light: whether it is part of the lighter form of its visit.
        switch: there only where this switch of the site is on.
        instead_of: task type that leaves alone what this one takes.
        cuts: whether it cuts living stock, so that rules of cutting apply.
        regrown_months: months of growth since an earlier cut of the same year, where there
            was one; a crown not yet grown out by then brings down less.
        overhead: whether wood comes down over people's heads.
        heavy: whether a day of it wears the crew out; such days may be capped in a row.
        exposes: what a frost can reach because of it.
        opened: whether it is work on ground that the visit's cuts open to light: none where
            all of them are left to the people of a power line.
        covers: whether it shields stock from frost: what it takes is watched on cold nights.
        decides: whether it is the word for which frost-gated work of its plot waits: none where
            no such work comes after it.
        effort_w: heat that a person at this work gives off, watts; decides the heat limits.
        importance: 1 (may slip) to 9 (must not).
        how: the steps, in one or two sentences.
        tools: what to bring.
        record: what to write down afterwards.
        cautions: ids of cautions that always go with it.
        source: where order and content come from.
    """

    id: fields.Slug
    title: fields.Told
    visit: fields.Visit
    apart: fields.Slug | None = None
    by_kind: fields.YesNo = False
    picks: fields.YesNo = False
    order: fields.CountOfSome
    scope: Literal["plot", "holding"] = "plot"
    selects: Selection | None = None
    after: tuple[After, ...] = ()
    lays: tuple[fields.Slug, ...] = ()
    rate: fields.Slug
    team: dict[fields.Skill, fields.SmallCount]
    crew_max: fields.SmallCount = 4
    kit: tuple[fields.Slug, ...] = ()
    least: fields.Positive | None = None
    asked: fields.YesNo = False
    with_task: fields.Slug | None = None
    or_else: fields.Slug | None = None
    trims: fields.YesNo = False
    rounds: fields.SmallCount = 1
    round_days: fields.NDays = 7
    light: fields.YesNo = False
    switch: str = ""
    instead_of: fields.Slug | None = None
    cuts: fields.YesNo = False
    regrown_months: fields.Positive | None = None
    overhead: fields.YesNo = False
    heavy: fields.YesNo = False
    exposes: tuple[fields.Exposure, ...] = ()
    opened: fields.YesNo = False
    covers: fields.YesNo = False
    decides: fields.YesNo = False
    effort_w: fields.Positive = 300.0
    importance: fields.Importance = 5
    how: fields.Told
    tools: str = ""
    record: str = ""
    cautions: tuple[fields.Slug, ...] = ()
    source: fields.Told


@fields.table
class StemClass:
    """``{ up_to_cm = 21, minutes = 12.4 }``: cutting time of a tree by stem diameter."""

    up_to_cm: fields.Positive
    minutes: fields.Positive


@fields.table
class StemRate:
    """``[[rate]]`` of kind ``by-stem``: person-minutes a tree by stem class.

    Args:
        stem: classes, thinnest first; thicker stems take the last.
        around_minutes: set-up and walking, once a tree.
        line_minutes: bringing the tool to a line and back, once a line.
        low: least factor on the whole.
        high: greatest factor on the whole.
    """

    kind: Literal["by-stem"]
    id: fields.Slug
    stem: tuple[StemClass, ...]
    around_minutes: fields.Amount
    line_minutes: fields.Amount = 0.0
    low: fields.Positive
    high: fields.Positive
    source: fields.Told


@fields.table
class AmountRate:
    """``[[rate]]`` of kind ``by-amount``: so much of something in a person-hour.

    Args:
        of: what is counted; see ``stand/rates.py``.
        per_hour: usual, ``low`` slowest and ``high`` fastest amount in a person-hour.
    """

    kind: Literal["by-amount"]
    id: fields.Slug
    of: Literal[
        "line-area-m2",
        "plants",
        "alley-plants",
        "coarse-kg",
        "chip-kg",
        "fine-kg",
        "crop-kg",
        "alley-m2",
        "haul-kg",
        "plots",
    ]
    per_hour: fields.Positive
    low: fields.Positive
    high: fields.Positive
    source: fields.Told


@fields.table
class Tool:
    """``[[tool]]``: what a stem is cut with; the first that reaches is taken.

    Args:
        id: name.
        cut_systems: cut systems it is for; all where left out.
        habits: habits of the plants it is for; all where left out.
        up_to_cm: thickest stem.
        up_to_m: highest tree worked with it from the ground.
        skill: what it needs.
        rate: hours of plants worked with it, in place of those of the task type; of a climbing
            tool the climber's own time.
        vibration_m_s2: hand-arm vibration; 0 has none.
    """

    id: fields.Slug
    cut_systems: tuple[fields.CutSystem, ...] = ()
    habits: tuple[fields.Habit, ...] = ()
    up_to_cm: fields.Positive
    up_to_m: fields.Positive
    skill: fields.Skill
    rate: fields.Slug | None = None
    vibration_m_s2: fields.Amount = 0.0
    source: fields.Told


Rate: TypeAlias = Annotated[StemRate | AmountRate, Discriminator("kind")]


@fields.table
class Caution:
    """``[[caution]]``: what can hurt people, in plain words.

    Args:
        id: name.
        hazards: kinds of plot hazard that call for it at every cutting task there.
        words: what to do.
        short: the same in a few words, for the day's entry of a calendar.
        standing: whether it holds for the whole visit, so that its first day tells it once.
        on_days_of: a rule of months: it is told only on days that lie in them.
        above_c: told only where the record often reaches so much on such a day, degrees C.
        below_c: told only where nights there are often as cold, degrees C.
        above_m: told only where some of the plants are taller, m.
        source: where it comes from.
    """

    id: fields.Slug
    hazards: tuple[fields.Slug, ...] = ()
    words: fields.Told
    short: fields.Told
    standing: fields.YesNo = False
    on_days_of: fields.Slug | None = None
    above_c: fields.Celsius | None = None
    below_c: fields.Celsius | None = None
    above_m: fields.Amount = 0.0
    source: fields.Told
