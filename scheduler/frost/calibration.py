"""Were the stated chances true: a record split in time, told before and looked at after."""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from scheduler.frost.chance_curves import smoothed_chance
from scheduler.frost.seasons import FrostClimate, hundredths

Side = Literal["last", "first"]
SIDES: tuple[Side, ...] = ("last", "first")
N_BINS = 5
KNOWS_NOTHING = 0.5  # the forecast of one who has no record
_MIN_TRAINING = 5
_TESTED_SHARE = 3  # a third of the seasons is kept out to test the rest on
_STEP_DAYS = 5


@dataclass(frozen=True, slots=True)
class Bin:
    """Forecasts of like chance: their mean, the share that came true, and the season-days."""

    stated: float
    observed: float
    n_cases: int


@dataclass(frozen=True, slots=True)
class Calibration:
    """How chances stated from earlier seasons did in later ones."""

    # last frosts (chance of another on or after a day) or first frosts (chance that it has come)
    side: Side
    brier: float  # mean squared error of the chances, 0 is perfect (Brier 1950)
    brier_even: float  # of stating an even chance always: what knowing nothing gives
    brier_previous: float  # of repeating what the season before did
    bins: tuple[Bin, ...]  # reliability, by stated chance from low to high
    n_trained: int  # seasons the chances come from
    # later seasons; the days of one are not independent, so this is the size of the test
    n_tested: int
    seasons: tuple[str, str]  # names of the first and last of them


def calibration_of(
    climate: FrostClimate, threshold_c: float, side: Side, n_tested: int | None = None
) -> Calibration | None:
    """Test the chances on seasons they do not come from.

    Every fifth day between the earliest and the latest frost of the training seasons is
    asked about in every tested season; days on which all is certain would only flatter.

    The climate has a ``period_seasons`` of all its seasons; ``n_tested`` of the latest, else a
    third, are kept out of the training. None where fewer than 5 are left to train on.
    """
    dates = climate.seasons(threshold_c)
    frosts = dates.last if side == "last" else dates.first
    if n_tested is None:
        n_tested = frosts.n_seasons // _TESTED_SHARE
    n_training = frosts.n_seasons - n_tested
    if n_training < _MIN_TRAINING or n_tested < 1:
        return None
    after, before = climate.careful_coldest
    table = after if side == "last" else before
    seen = frosts.slot[:n_training][np.isfinite(frosts.slot[:n_training])]
    first, last = (int(seen.min()), int(seen.max())) if seen.size else (0, 0)
    days = np.arange(first, last + 1, _STEP_DAYS)
    came = (table[frosts.rows] <= hundredths(threshold_c))[:, days]
    outcome = came[n_training:].astype(np.float64)
    trained = came[:n_training].sum(axis=0, dtype=np.float64)
    stated = np.tile(smoothed_chance(trained, n_training), (n_tested, 1))
    previous = came[n_training - 1 : -1].astype(np.float64)
    return Calibration(
        side,
        _brier(stated, outcome),
        _brier(np.full_like(stated, KNOWS_NOTHING), outcome),
        _brier(previous, outcome),
        _bins(stated.ravel(), outcome.ravel()),
        n_training,
        n_tested,
        (frosts.labels[n_training], frosts.labels[-1]),
    )


def _brier(stated: NDArray[np.float64], outcome: NDArray[np.float64]) -> float:
    return float(((stated - outcome) ** 2).mean())


def _bins(stated: NDArray[np.float64], outcome: NDArray[np.float64]) -> tuple[Bin, ...]:
    number = np.minimum((stated * N_BINS).astype(int), N_BINS - 1)
    members = (number == bin_ for bin_ in np.unique(number))
    return tuple(
        Bin(float(stated[of_bin].mean()), float(outcome[of_bin].mean()), int(of_bin.sum()))
        for of_bin in members
    )
