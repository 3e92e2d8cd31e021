"""What the rules look at: the holding, the sky, the frost and the weather of one season."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from functools import cached_property
from typing import Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray

from scheduler.frost import FrostRisk
from scheduler.holding import DryMonths, Holding, Stock, dayrules
from scheduler.sky import Sky
from scheduler.stand import LoggedCuts, split_id
from scheduler.terms import N_SLOTS, DaySpan, Season, slot_of
from scheduler.weather import Record

# Days on either side that count as the same time of the year, so that thirty years give a
# share and not the luck of one date.
HALF_WINDOW_DAYS = 7

Shares = NDArray[np.float64]
Mask = NDArray[np.bool_]
Measure: TypeAlias = Literal["tmax_c", "tmin_c", "rain_mm"]


def share_by_slot(record: Record | None, of: Measure, limit: float, years: float) -> Shares | None:
    """(366,) share of days that reach a limit: minima at or below it, others at or above.

    None where fewer years are on record.
    """
    values: Shares | None = getattr(record, of, None)
    if record is None or values is None:
        return None
    known = ~np.isnan(values)
    if known.sum() < years * 365.25:
        return None
    hits = values[known] <= limit if of == "tmin_c" else values[known] >= limit
    slots = record.season.slots[known]
    near, all_near = (
        sum(
            np.roll(np.bincount(slots, each, minlength=N_SLOTS), by)
            for by in range(-HALF_WINDOW_DAYS, HALF_WINDOW_DAYS + 1)
        )
        for each in (hits, None)
    )
    return np.asarray(near / np.maximum(all_near, 1.0))


def in_the_weeks_after(shares: Shares, weeks: float) -> Shares:
    """(366,) mean share of the weeks that begin at each slot."""
    n_days = max(1, round(7 * weeks))
    return np.asarray(sum(np.roll(shares, -by) for by in range(n_days)) / n_days)


def outside_dry(spans: Iterable[DryMonths], weeks: float, season: Season) -> Mask:
    """(n_days,) days from which the weeks ahead do not all lie in the grower's dry months."""
    dry = np.zeros(N_SLOTS, dtype=bool)
    slots = np.arange(N_SLOTS)
    for span in spans:
        first, last = slot_of(span.first), slot_of(span.last)
        dry |= (slots - first) % N_SLOTS <= (last - first) % N_SLOTS
    stays = in_the_weeks_after(dry.astype(np.float64), weeks) >= 1.0
    return np.asarray(~stays[season.slots])


def around_sign(on: str, closes: str, days: int, season: Season) -> Mask:
    """(n_days,) the days from a sign on, or until it is seen."""
    since = (season.slots - slot_of(on)) % N_SLOTS
    return np.asarray(since < days if closes == "from" else since >= N_SLOTS - days)


@dataclass(frozen=True)
class Facts:
    """Everything that is known before the first rule is asked.

    ``sky`` is that of the season's days, ``frost`` the risk by plot id over the same days and
    some months more, so that a rule can look ahead of the plan's last day.
    """

    holding: Holding
    season: Season
    sky: Sky
    frost: Mapping[str, FrostRisk]
    as_of: date
    # the last day on which work was done in the season before, by the log or that season's plan
    done_before: Mapping[str, date] = field(default_factory=dict)
    _shares: dict[tuple[Measure, float, float], Shares | None] = field(
        default_factory=dict, repr=False, compare=False
    )

    def cut_on(self, row: Stock) -> date | None:
        """The last cut of a row by stock.csv or the log, second cuts of a year left aside."""
        return self._first_cuts.of(row).last_cut

    @cached_property
    def _first_cuts(self) -> LoggedCuts:
        again = {kind.id for kind in self.holding.rules.tasks.values() if kind.regrown_months}
        log = [e for e in self.holding.log if split_id(e.task)[1] not in again]
        return LoggedCuts(replace(self.holding, log=tuple(log)), self.as_of)

    def shares(self, of: Measure, limit: float, years: float, weeks: float = 0.0) -> Shares | None:
        """(n_days,) share of days like it, or like those of the weeks from it on, at a limit.

        As ``share_by_slot`` has them; None where fewer years are on record.
        """
        if (of, limit, years) not in self._shares:
            by_slot = share_by_slot(self.holding.record, of, limit, years)
            self._shares[of, limit, years] = by_slot
        known = self._shares[of, limit, years]
        if known is None:
            return None
        return np.asarray(in_the_weeks_after(known, weeks)[self.season.slots])


def in_months(spans: Iterable[dayrules.MonthSpan | dayrules.CareSpan], facts: Facts) -> Mask:
    """(n_days,) days within spans of months after the local winter solstice, by the Sun."""
    months = facts.sky.winter_months
    inside = np.zeros(months.shape, dtype=bool)
    for span in spans:
        since, until = months >= span.first, months <= span.last
        # a span such as 11.0 to 2.8 runs over the winter solstice
        inside |= since & until if span.first <= span.last else since | until
    return inside


def in_spans(spans: Iterable[DaySpan], season: Season) -> Mask:
    """(n_days,) days of a season that lie in any of some spans."""
    inside = np.zeros(season.n_days, dtype=bool)
    for span in spans:
        inside |= season.mask(span)
    return inside
