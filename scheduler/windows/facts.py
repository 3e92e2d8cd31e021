"""What the rules look at: the holding, the sky and the frost of one season."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from scheduler.frost import FrostRisk
from scheduler.holding import Holding
from scheduler.sky import Sky
from scheduler.terms import Season
from scheduler.windows.weather import Weather


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

    @cached_property
    def weather(self) -> Weather:
        """How often days of the year are too hot, too cold or wet."""
        return Weather(self.holding.record)
