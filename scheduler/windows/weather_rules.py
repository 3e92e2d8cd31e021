"""How often a day of the year is too hot, too cold or wet, by the station record."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import timedelta

import numpy as np
from numpy.typing import NDArray

from scheduler.frost import FrostRisk
from scheduler.holding import DryMonths
from scheduler.terms import N_SLOTS, Season, slot_of, year_slots
from scheduler.weather import Record

# Days on either side that count as the same time of the year, so that thirty years give a
# share and not the luck of one date.
HALF_WINDOW_DAYS = 7
_YEAR_DAYS = 365.25

Shares = NDArray[np.float64]
Mask = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Weather:
    """Shares of days by slot of the year; each is counted once.

    Args:
        record: the station record; None where there is none.
    """

    record: Record | None
    _kept: dict[tuple[str, float], Shares | None] = field(default_factory=dict, repr=False)

    def hotter(self, stop_c: float, years: float) -> Shares | None:
        """(366,) share of days with a maximum at or above a limit; None where not known."""
        values = self.record.tmax_c if self.record else None
        return self._share("hotter", stop_c, years, values, 1.0)

    def colder(self, below_c: float, years: float) -> Shares | None:
        """(366,) share of nights with a minimum at or below a limit; None where not known."""
        values = self.record.tmin_c if self.record else None
        return self._share("colder", below_c, years, values, -1.0)

    def wet(self, wet_mm: float, years: float) -> Shares | None:
        """(366,) share of days with so much rain or more; None where not known."""
        values = self.record.rain_mm if self.record else None
        return self._share("wet", wet_mm, years, values, 1.0)

    def _share(
        self, name: str, limit: float, years: float, values: Shares | None, sign: float
    ) -> Shares | None:
        if self.record is None or values is None:
            return None
        known = ~np.isnan(values)
        if known.sum() < years * _YEAR_DAYS:
            return None
        if (name, limit) not in self._kept:
            days = np.datetime64(self.record.season.first, "D") + np.flatnonzero(known)
            hits = sign * values[known] >= sign * limit
            self._kept[name, limit] = _shares(year_slots(days), hits)
        return self._kept[name, limit]


def _shares(slots: NDArray[np.intp], hits: Mask) -> Shares:
    """(366,) share of hits within the window around each slot."""
    counts = np.bincount(slots, minlength=N_SLOTS).astype(np.float64)
    found = np.bincount(slots, hits, minlength=N_SLOTS)
    window = range(-HALF_WINDOW_DAYS, HALF_WINDOW_DAYS + 1)
    near, all_near = (sum(np.roll(of, by) for by in window) for of in (found, counts))
    return np.asarray(near / np.maximum(all_near, 1.0))


def in_the_weeks_after(shares: Shares, weeks: float) -> Shares:
    """(366,) mean share of the weeks that begin at each slot."""
    n_days = max(1, round(7 * weeks))
    return np.asarray(sum(np.roll(shares, -by) for by in range(n_days)) / n_days)


def season_slots(season: Season) -> NDArray[np.intp]:
    """(n_days,) slot of each day of a season."""
    return year_slots(np.datetime64(season.first, "D") + np.arange(season.n_days))


def outside_dry(spans: Iterable[DryMonths], weeks: float, season: Season) -> Mask:
    """(n_days,) days from which the weeks ahead do not all lie in the grower's dry months."""
    dry = np.zeros(N_SLOTS, dtype=bool)
    slots = np.arange(N_SLOTS)
    for span in spans:
        first, last = slot_of(span.first), slot_of(span.last)
        dry |= (slots - first) % N_SLOTS <= (last - first) % N_SLOTS
    stays = in_the_weeks_after(dry.astype(np.float64), weeks) >= 1.0
    return np.asarray(~stays[season_slots(season)])


def around_sign(on: str, closes: str, days: int, season: Season) -> Mask:
    """(n_days,) the days from a sign on, or until it is seen."""
    since = (season_slots(season) - slot_of(on)) % N_SLOTS
    return np.asarray(since < days if closes == "from" else since >= N_SLOTS - days)


def long_closed(risk: FrostRisk, season: Season, n_days: int) -> NDArray[np.bool_]:
    """Days of a season on which the frost window is closed, and was for some days before.

    Args:
        risk: of the plot.
        season: the days asked about; those before it count too.
        n_days: how many days before, 1 or more.

    Returns:
        (n_days of the season,) True on such days.
    """
    before = (season.first - timedelta(days=n) for n in range(n_days, 0, -1))
    is_open = np.array([*map(risk.is_open, before), *risk.open[: season.n_days]], dtype=bool)
    runs = np.lib.stride_tricks.sliding_window_view(is_open, n_days + 1)
    return np.asarray(~runs.any(axis=1))
