"""Kinds of work, how long they take, and their cautions: entries of the rule book."""

from typing import Annotated, Literal, TypeAlias

from pydantic import Discriminator

from scheduler.files import fields


@fields.table
class Selection:
    """``selects = {...}``: which stock a task type takes; an empty list takes all."""

    groups: tuple[fields.Slug, ...] = ()
    not_plants: tuple[fields.Slug, ...] = ()  # kinds of those groups that it leaves alone
    strata: tuple[fields.Stratum, ...] = ()
    roles: tuple[fields.Role, ...] = ()
    cut_systems: tuple[fields.CutSystem, ...] = ()
    habits: tuple[fields.Habit, ...] = ()
    rest_c_above: fields.Celsius | None = None  # only kinds that die at rest at more, degrees C
    up_to_m: fields.Positive | None = None  # only plants up to this height


@fields.table
class After:
    """``after = [{...}]``: a task type of the same plot that comes first."""

    task: fields.Slug
    min_days: fields.DaysAhead = 0  # days that must pass between; 0 allows the same day
    within_days: fields.DaysAhead | None = None  # at most so many days between, if it matters
    # the wait ends where no rule leaves that work a day in the plan, or where this work would have
    # no day for it; for work that is better done later, but need not be
    if_open: bool = False


@fields.table
class TaskType:
    """``[[task]]``: one kind of work."""

    id: fields.Slug  # name; a task is called ``<plot>.<id>``
    title: fields.Told  # short imperative words; ``{kinds}`` stands for the names of its plants
    visit: fields.Visit
    # where its plants set its days, so that it is no step of its plot's visit: the task type that
    # it is placed with, or its own id. Work of the year always has its own place
    apart: fields.Slug | None = None
    by_kind: fields.YesNo = False  # kinds that disagree on their days are tasks of their own
    picks: fields.YesNo = False  # brings in the crop, each kind in its months and rounds
    order: fields.CountOfSome  # rank in the order of work of its visit
    scope: Literal["plot", "holding"] = "plot"  # once in each plot, or once for the holding
    selects: Selection | None = None  # the stock it takes; none for work on ground or material
    after: tuple[After, ...] = ()  # what comes first in the same plot
    # task types of the same visit whose wood it lays; left out, it lays that of all which no other
    # task of its rate lays
    lays: tuple[fields.Slug, ...] = ()
    rate: fields.Slug  # its hours come from this rate
    team: dict[fields.Skill, fields.SmallCount]  # smallest useful team, people by skill
    crew_max: fields.SmallCount = 4  # largest useful team; the rest of it needs ``hands`` only
    kit: tuple[fields.Slug, ...] = ()  # hired or own machines it needs
    least: fields.Positive | None = None  # dropped where its rate counts less
    asked: fields.YesNo = False  # done only in plots that ask for it (``also``)
    with_task: fields.Slug | None = None  # done only where the plot has this task too
    or_else: fields.Slug | None = None  # takes its place where no day of its visit is open to it
    trims: fields.YesNo = False  # a light trim that no season of cutting speaks of
    rounds: fields.SmallCount = 1  # how often it is done, ``round_days`` after one another
    round_days: fields.NDays = 7  # days from one round to the next, at the least
    light: fields.YesNo = False  # part of the lighter form of its visit
    switch: str = ""  # there only where this switch of the site is on
    instead_of: fields.Slug | None = None  # task type that leaves alone what this one takes
    cuts: fields.YesNo = False  # cuts living stock, so that rules of cutting apply
    # months of growth since an earlier cut of the same year, where there was one; a crown not yet
    # grown out by then brings down less
    regrown_months: fields.Positive | None = None
    overhead: fields.YesNo = False  # wood comes down over people's heads
    heavy: fields.YesNo = False  # wears the crew out; such days may be capped in a row
    exposes: tuple[fields.Exposure, ...] = ()  # what a frost can reach because of it
    # work on ground that the visit's cuts open to light: none where all of them are left to the
    # people of a power line
    opened: fields.YesNo = False
    covers: fields.YesNo = False  # shields stock from frost, which is watched on cold nights
    # the word for which frost-gated work of its plot waits: none where no such work comes after it
    decides: fields.YesNo = False
    effort_w: fields.Positive = 300.0  # heat that a person at it gives off; sets the heat limits
    importance: fields.Importance = 5  # 1 (may slip) to 9 (must not)
    how: fields.Told  # the steps, in one or two sentences
    tools: str = ""  # what to bring
    record: str = ""  # what to write down afterwards
    cautions: tuple[fields.Slug, ...] = ()  # these always go with it
    source: fields.Told  # where order and content come from


@fields.table
class StemClass:
    """``{ up_to_cm = 21, minutes = 12.4 }``: cutting time of a tree by stem diameter."""

    up_to_cm: fields.Positive
    minutes: fields.Positive


@fields.table
class StemRate:
    """``[[rate]]`` of kind ``by-stem``: person-minutes a tree by stem class."""

    kind: Literal["by-stem"]
    id: fields.Slug
    stem: tuple[StemClass, ...]  # classes, thinnest first; thicker stems take the last
    around_minutes: fields.Amount  # set-up and walking, once a tree
    line_minutes: fields.Amount = 0.0  # bringing the tool to a line and back, once a line
    low: fields.Positive  # least factor on the whole
    high: fields.Positive  # greatest factor on the whole
    source: fields.Told


@fields.table
class AmountRate:
    """``[[rate]]`` of kind ``by-amount``: so much of something in a person-hour."""

    kind: Literal["by-amount"]
    id: fields.Slug
    # what is counted; see ``stand/work.py``
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
    per_hour: fields.Positive  # usual amount in a person-hour
    low: fields.Positive  # slowest
    high: fields.Positive  # fastest
    source: fields.Told


@fields.table
class Tool:
    """``[[tool]]``: what a stem is cut with; the first that reaches is taken."""

    id: fields.Slug
    cut_systems: tuple[fields.CutSystem, ...] = ()  # it is for these; all where left out
    habits: tuple[fields.Habit, ...] = ()  # likewise
    up_to_cm: fields.Positive  # thickest stem
    up_to_m: fields.Positive  # highest tree worked with it from the ground
    skill: fields.Skill  # what it needs
    # hours of plants worked with it, in place of those of the task type; of a climbing tool the
    # climber's own time
    rate: fields.Slug | None = None
    vibration_m_s2: fields.Amount = 0.0  # hand-arm vibration; 0 has none
    source: fields.Told


Rate: TypeAlias = Annotated[StemRate | AmountRate, Discriminator("kind")]


@fields.table
class Caution:
    """``[[caution]]``: what can hurt people, in plain words."""

    id: fields.Slug
    hazards: tuple[fields.Slug, ...] = ()  # of a plot, that call for it at all cutting there
    words: fields.Told  # what to do
    short: fields.Told  # the same in a few words, for the day's entry of a calendar
    standing: fields.YesNo = False  # holds for the whole visit: told on its first day only
    on_days_of: fields.Slug | None = None  # a rule of months: told only on days that lie in them
    above_c: fields.Celsius | None = None  # told only where such days are often as hot, degrees C
    below_c: fields.Celsius | None = None  # told only where nights there are often as cold
    above_m: fields.Amount = 0.0  # told only where some of the plants are taller
    source: fields.Told
