"""What the rules look at: the holding, the sky and the frost of one season."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from scheduler.frost import FrostRisk
from scheduler.holding import CareSpan, Holding, MonthSpan, Stock
from scheduler.sky import Sky
from scheduler.stand import LoggedCuts, split_id
from scheduler.terms import Season
from scheduler.windows.weather_rules import Weather


@dataclass(frozen=True)
class Facts:
    """Everything that is known before the first rule is asked.

    Args:
        holding: the site's files, checked.
        season: the civil days of the plan.
        sky: Sun and Moon over the same days.
        frost: frost risk by plot id, over the same days and some months more, so that a
            rule can look ahead of the plan's last day.
        as_of: today.
    """

    holding: Holding
    season: Season
    sky: Sky
    frost: Mapping[str, FrostRisk]
    as_of: date

    def cut_on(self, row: Stock) -> date | None:
        """The last cut of a row by stock.csv or the log, second cuts of a year left aside."""
        return self._first_cuts.of(row).last_cut

    @cached_property
    def _first_cuts(self) -> LoggedCuts:
        again = {kind.id for kind in self.holding.rules.tasks.values() if kind.regrown_months}
        log = [e for e in self.holding.log if split_id(e.task)[1] not in again]
        return LoggedCuts(replace(self.holding, log=tuple(log)), self.as_of)

    @cached_property
    def weather(self) -> Weather:
        """How often days of the year are too hot, too cold or wet."""
        return Weather(self.holding.record)


def in_months(spans: Iterable[MonthSpan | CareSpan], facts: Facts) -> NDArray[np.bool_]:
    """(n_days,) days within spans of months after the local winter solstice, by the Sun."""
    months = facts.sky.winter_months
    inside = np.zeros(months.shape, dtype=bool)
    for span in spans:
        since, until = months >= span.first, months <= span.last
        # a span such as 11.0 to 2.8 runs over the winter solstice
        inside |= since & until if span.first <= span.last else since | until
    return inside
