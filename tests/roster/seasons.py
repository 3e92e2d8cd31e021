"""Invented seasons of work in food forests: names, hours and days are a scenario of our own."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date

import numpy as np

from scheduler.roster import Kit, Order, Problem, Step, Visit, Worker
from scheduler.terms import Season


@dataclass(frozen=True)
class Kind:
    """A kind of work.

    Args:
        name: its name, the last part of a step's id.
        hours: person-hours, from and to.
        window: first and last day of the year.
        team: smallest useful team.
        team_max: largest useful team.
        importance: 1 to 9.
        after: what comes before, days at least and at most.
        visit: the visit that it is a step of; of none it is a visit by itself.
        uses: units of kit.
        risky: whether it lays something open to frost.
        heavy: whether it wears the crew out.
    """

    name: str
    hours: tuple[float, float]
    window: tuple[int, int]
    team: dict[str, int]
    team_max: int
    importance: int
    after: tuple[tuple[str, int, int | None], ...] = ()
    visit: str = ""
    uses: dict[str, int] = field(default_factory=dict)
    risky: bool = False
    heavy: bool = False


SAW, HAND = {"ground-saw": 1, "hands": 1}, {"hands": 1}
CHIPS = {"chipper-hand": 1, "hands": 1}
TALL, SUPPORT = "cut-dormant-tall", "cut-dormant-support"
DORMANT = (
    Kind(TALL, (6, 20), (5, 70), SAW, 4, 8, (), "dormant", heavy=True),
    Kind(SUPPORT, (4, 12), (5, 75), {"ground-saw": 1}, 3, 6, ((TALL, 0, 3),), "dormant"),
    Kind("lay-dormant", (3, 9), (5, 90), SAW, 4, 5, ((SUPPORT, 0, 3),), "dormant", heavy=True),
)
RELEASE = (
    Kind("weed-lines", (4, 10), (100, 160), HAND, 4, 6, (), "release"),
    Kind("cut-emergent", (6, 20), (105, 165), SAW, 4, 8, (("weed-lines", 0, 3),), "release",
         risky=True, heavy=True),
    Kind("cut-high", (6, 18), (105, 170), SAW, 4, 8, (("cut-emergent", 0, 3),), "release",
         risky=True, heavy=True),
    Kind("cut-medium", (3, 12), (105, 175), {"ground-saw": 1}, 4, 7, (("cut-high", 0, 3),),
         "release", risky=True),
    Kind("cut-low", (2, 8), (105, 180), HAND, 4, 6, (("cut-medium", 0, 3),), "release",
         risky=True),
    Kind("lay-coarse", (4, 12), (105, 190), SAW, 4, 7, (("cut-low", 0, 3),), "release",
         heavy=True),
    Kind("chip", (3, 8), (105, 190), CHIPS, 3, 4, (("lay-coarse", 0, 3),), "release",
         {"chipper": 1}, heavy=True),
    Kind("lay-fine", (3, 10), (105, 195), HAND, 4, 6, (("chip", 0, 3),), "release"),
    Kind("plant-alleys", (4, 14), (105, 200), HAND, 4, 6, (("lay-fine", 0, 5),), "release",
         risky=True),
)  # fmt: skip
AFTERCARE = (
    Kind("aftercare-early", (1, 3), (110, 230), HAND, 2, 5, (("plant-alleys", 12, 21),)),
    Kind("aftercare-late", (1, 3), (130, 270), HAND, 2, 4, (("plant-alleys", 38, 52),)),
)
APART = (
    Kind("cut-dormant-fruit", (4, 16), (5, 75), HAND, 3, 7, ((TALL, 0, None),)),
    Kind("cut-stone-fruit", (3, 10), (200, 245), HAND, 3, 8),
    Kind("second-cut-support", (2, 8), (215, 260), HAND, 3, 4),
    Kind("sow-green-manure", (1, 3), (270, 310), HAND, 2, 3),
    Kind("cover-tender", (1, 5), (280, 300), HAND, 3, 9),
)
KINDS = (*DORMANT, *RELEASE, *AFTERCARE, *APART)


def season_of_work(
    n_plots: int,
    *,
    n_crews: int = 1,
    kinds: Sequence[Kind] = KINDS,
    load: float = 1.0,
    moon: bool = False,
    block_days: float = 0.0,
    heavy_in_row: int | None = None,
    seed: int = 1,
) -> Problem:
    """Plots with their visits; crews of three, one saw and one chipper hand each.

    Args:
        n_plots: number of plots.
        n_crews: crews of three people.
        kinds: what each plot has to do, the steps of a visit in their order.
        load: factor on all hours.
        moon: whether half of the days are preferred.
        block_days: of the chipper, as ``Kit`` has it.
        heavy_in_row: heavy days that may follow one another; None sets no cap.
        seed: of the invented hours and windows.
    """
    rng = np.random.default_rng(seed)
    season = Season(date(2027, 1, 1), 365)
    visits: list[Visit] = []
    orders: list[Order] = []
    names = {kind.name for kind in kinds}
    for plot in (f"plot-{n:03}" for n in range(n_plots)):
        shift = int(rng.integers(-5, 12))
        done = [_step(plot, kind, shift, season, rng, load=load, moon=moon) for kind in kinds]
        visits += _visits(plot, kinds, done)
        orders += [
            Order(f"{plot}.{before}", f"{plot}.{kind.name}", least, most)
            for kind in kinds
            for before, least, most in kind.after
            if before in names
        ]
    workers = tuple(w for crew in range(n_crews) for w in crew_of_three(season, crew, rng))
    weekdays = np.array([day.weekday() < 5 for day in season])
    kits = (Kit("chipper", weekdays.astype(np.int64) * n_crews, 120.0, block_days),)
    return Problem(season, tuple(visits), tuple(orders), workers, kits, heavy_in_row)


def _visits(plot: str, kinds: Sequence[Kind], steps: Sequence[Step]) -> Iterator[Visit]:
    """The steps of a plot as visits; of their importances the largest counts."""
    groups: dict[str, list[tuple[Kind, Step]]] = {}
    for kind, step in zip(kinds, steps, strict=True):
        groups.setdefault(kind.visit or kind.name, []).append((kind, step))
    for name, group in groups.items():
        yield Visit(
            f"{plot}.{name}",
            tuple(step for _, step in group),
            max(kind.importance for kind, _ in group),
            lies_open=bool(group[0][0].visit),
        )


def _step(
    plot: str,
    kind: Kind,
    shift: int,
    season: Season,
    rng: np.random.Generator,
    *,
    load: float,
    moon: bool,
) -> Step:
    days = np.arange(season.n_days)
    open_ = (days >= kind.window[0] + shift) & (days <= kind.window[1] + shift)
    open_ &= rng.random(season.n_days) > 0.05  # single days closed by other rules
    # a tenth on the first open day; a two-hundredth two weeks later (last frost within 11 days)
    risk = np.clip(0.1 * np.exp(-(days - 105 - shift) / 4.7), 0, 0.1) * kind.risky
    return Step(
        f"{plot}.{kind.name}",
        plot,
        round(float(rng.uniform(*kind.hours)) * load, 1),
        kind.team,
        kind.team_max,
        open_,
        np.where((days + 4) % 29.53 < 14.77, 1.0, 0.0) * moon,
        np.where(risk < 0.005, 0.0, risk),
        kind.uses,
        heavy=kind.heavy,
    )


def crew_of_three(season: Season, crew: int, rng: np.random.Generator) -> tuple[Worker, ...]:
    """Three people who work here on three to five days a week and are away for two weeks."""
    weekday = np.array([day.weekday() for day in season])
    away = int(rng.integers(0, season.n_days - 14))
    here = np.ones(season.n_days, dtype=bool)
    here[away : away + 14] = False
    return (
        Worker(f"Ada-{crew}", frozenset({"ground-saw"}), np.where(weekday < 4, 6.0, 0.0)),
        Worker(
            f"Bo-{crew}", frozenset({"chipper-hand"}), np.where((weekday < 5) & here, 6.0, 0.0)
        ),
        Worker(
            f"Cleo-{crew}",
            frozenset({"ground-saw", "chipper-hand"}),
            np.where(weekday % 2 == 0, 5.0, 0.0),
        ),
    )
