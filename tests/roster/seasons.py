"""Invented seasons of work in food forests: names, hours and days are a scenario of our own."""

from dataclasses import dataclass
from datetime import date

import numpy as np

from scheduler.roster import Job, Kit, Order, Problem, Worker
from scheduler.terms import Season

SAW = {"ground-saw": 1, "hands": 1}


@dataclass(frozen=True)
class Kind:
    """A kind of work: hours from..to, window first..last (day of the year), what comes before."""

    name: str
    hours: tuple[float, float]
    window: tuple[int, int]
    team: dict[str, int]
    team_max: int
    importance: int
    after: tuple[tuple[str, int, int | None], ...] = ()
    uses: tuple[str, ...] = ()
    risky: bool = False


HEAVY = ("cut-dormant-tall", "lay-dormant", "cut-emergent", "cut-high", "lay-coarse", "chip")
HAND = {"hands": 1}
KINDS = (
    Kind("cut-dormant-tall", (6, 20), (5, 70), SAW, 4, 8),
    Kind("cut-dormant-support", (4, 12), (5, 75), {"ground-saw": 1}, 3, 6,
         (("cut-dormant-tall", 0, None),)),
    Kind("cut-dormant-fruit", (4, 16), (5, 75), HAND, 3, 7, (("cut-dormant-tall", 0, None),)),
    Kind("lay-dormant", (3, 9), (5, 90), SAW, 4, 5,
         (("cut-dormant-tall", 0, 21), ("cut-dormant-support", 0, 21))),
    Kind("weed-lines", (4, 10), (100, 160), HAND, 4, 6),
    Kind("cut-emergent", (6, 20), (105, 165), SAW, 4, 8, (("weed-lines", 0, 21),), (), True),
    Kind("cut-high", (6, 18), (105, 170), SAW, 4, 8, (("cut-emergent", 0, 10),), (), True),
    Kind("cut-medium", (3, 12), (105, 175), {"ground-saw": 1}, 4, 7, (("cut-high", 0, 10),),
         (), True),
    Kind("cut-low", (2, 8), (105, 180), HAND, 4, 6, (("cut-medium", 0, 10),), (), True),
    Kind("lay-coarse", (4, 12), (105, 190), SAW, 4, 7, (("cut-low", 0, 7),)),
    Kind("chip", (3, 8), (105, 190), {"chipper-hand": 1, "hands": 1}, 3, 4,
         (("lay-coarse", 0, 10),), ("chipper",)),
    Kind("lay-fine", (3, 10), (105, 195), HAND, 4, 6,
         (("lay-coarse", 0, 7), ("chip", 0, 3))),
    Kind("plant-alleys", (4, 14), (105, 200), HAND, 4, 6, (("lay-fine", 0, 14),), (), True),
    Kind("aftercare-early", (1, 3), (110, 230), HAND, 2, 5, (("plant-alleys", 12, 21),)),
    Kind("aftercare-late", (1, 3), (130, 270), HAND, 2, 4, (("plant-alleys", 38, 52),)),
    Kind("cut-stone-fruit", (3, 10), (200, 245), HAND, 3, 8),
    Kind("second-cut-support", (2, 8), (215, 260), HAND, 3, 4),
    Kind("sow-green-manure", (1, 3), (270, 310), HAND, 2, 3),
    Kind("cover-tender", (1, 5), (280, 300), HAND, 3, 9),
)  # fmt: skip


def season_of_work(
    n_plots: int,
    *,
    n_crews: int = 1,
    per_plot: int = len(KINDS),
    load: float = 1.0,
    moon: bool = False,
    block_days: float | None = 0.0,
    heavy_in_row: int | None = None,
    seed: int = 1,
) -> Problem:
    """Plots with the whole round of visits; crews of three, one saw and one chipper hand each.

    Args:
        n_plots: number of plots.
        n_crews: crews of three people.
        per_plot: how many kinds of work each plot has.
        load: factor on all hours.
        moon: whether half of the days are preferred.
        block_days: of the chipper, as ``Kit`` has it.
        heavy_in_row: heavy days that may follow one another; None sets no cap.
        seed: of the invented hours and windows.
    """
    rng = np.random.default_rng(seed)
    season = Season(date(2027, 1, 1), 365)
    jobs: list[Job] = []
    orders: list[Order] = []
    for plot in range(n_plots):
        kinds = KINDS[:per_plot]
        shift = int(rng.integers(-5, 12))
        jobs += [_job(f"plot-{plot:03}", kind, shift, season, rng, (load, moon)) for kind in kinds]
        names = {kind.name for kind in kinds}
        orders += [
            Order(f"plot-{plot:03}.{before}", f"plot-{plot:03}.{kind.name}", least, most)
            for kind in kinds
            for before, least, most in kind.after
            if before in names
        ]
    workers = tuple(w for crew in range(n_crews) for w in crew_of_three(season, crew, rng))
    weekdays = np.array([day.weekday() < 5 for day in season])
    kits = (Kit("chipper", weekdays.astype(np.int64) * n_crews, 120.0, block_days),)
    return Problem(season, tuple(jobs), tuple(orders), workers, kits, heavy_in_row)


def _job(
    plot: str,
    kind: Kind,
    shift: int,
    season: Season,
    rng: np.random.Generator,
    how: tuple[float, bool],
) -> Job:
    days = np.arange(season.n_days)
    open_ = (days >= kind.window[0] + shift) & (days <= kind.window[1] + shift)
    open_ &= rng.random(season.n_days) > 0.05  # single days closed by other rules
    # a tenth on the first open day; a two-hundredth two weeks later (last frost within 11 days)
    risk = np.clip(0.1 * np.exp(-(days - 105 - shift) / 4.7), 0, 0.1) * kind.risky
    points = np.where((days + 4) % 29.53 < 14.77, 1.0, 0.0) * how[1]
    return Job(
        f"{plot}.{kind.name}",
        plot,
        round(float(rng.uniform(*kind.hours)) * how[0], 1),
        kind.team,
        kind.team_max,
        open_,
        points,
        np.where(risk < 0.005, 0.0, risk),
        dict.fromkeys(kind.uses, 1),
        kind.importance,
        heavy=kind.name in HEAVY,
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
