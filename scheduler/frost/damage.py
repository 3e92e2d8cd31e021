"""Frost damage to buds and blossom: share killed, night by night and over a season."""

import math
from collections.abc import Iterable
from datetime import date
from itertools import pairwise

from scheduler.holding.frost_data import BloomStage


def bud_kill(tmin_c: float, kill10_c: float, kill90_c: float) -> float:
    """Share of buds killed by half an hour at a temperature, as DEST of FAO (2005).

    Linear between the temperatures that kill a tenth and nine tenths, and on to none and
    all: the first damage stands an eighth of their distance above the one, the last an
    eighth below the other (Snyder and de Melo-Abreu 2005, FAO Frost protection vol. 2, as
    coded in the R package fruclimadapt). A night's minimum lasts less than half an hour at
    times, and buds supercool: the estimate is rough.

    Args:
        tmin_c: temperature of the bud, degrees C.
        kill10_c: kills 10 %.
        kill90_c: kills 90 %; below ``kill10_c``.

    Returns:
        0 to 1.

    Raises:
        ValueError: ``kill90_c`` is not below ``kill10_c``.

    >>> round(bud_kill(-3, -2.6, -4.0), 4)
    0.3286
    """
    if not kill90_c < kill10_c:
        raise ValueError(f"90 % are killed at {kill90_c}, not below the 10 % at {kill10_c}")
    eighth = (kill10_c - kill90_c) / 8
    none, whole = kill10_c + eighth, kill90_c - eighth
    return min(max((none - tmin_c) / (none - whole), 0.0), 1.0)


def season_kill(shares: Iterable[float]) -> float:
    """Share killed after several nights, each taking its share of what was left.

    >>> round(season_kill([bud_kill(-3, -2.6, -4), bud_kill(-2.8, -2.6, -4)]), 4)
    0.4724
    """
    return 1 - math.prod(1 - share for share in shares)


def critical_temperatures(
    dated: Iterable[tuple[date, BloomStage]], day: date
) -> tuple[float, float] | None:
    """Critical temperatures of a day, linear in time between dated stages.

    Args:
        dated: days on which stages were (or are expected to be) reached.
        day: the day wanted.

    Returns:
        Temperatures that kill 10 % and 90 %, degrees C; None before the first and after
        the last stage, and where a stage has no 90 % figure.
    """
    stages = sorted((when, s.kill10_c, s.kill90_c) for when, s in dated if s.kill90_c is not None)
    for (begin, a10, a90), (end, b10, b90) in pairwise(stages):
        if begin <= day <= end:
            part = (day - begin).days / max((end - begin).days, 1)
            return a10 + (b10 - a10) * part, a90 + (b90 - a90) * part
    return None
