"""What is known of sky and frost, before any work is planned."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from functools import cached_property
from types import MappingProxyType
from zoneinfo import ZoneInfo

from scheduler.frost import (
    FrostClimate,
    FrostKnown,
    FrostRisk,
    LeadError,
    PlotFrost,
    climate_of,
    forecast_notices,
    plot_frost,
    risk_notices,
)
from scheduler.holding import Holding, place_notices, record_notices
from scheduler.season.logged import finished_before
from scheduler.season.spare import SpareTime, spare_time_of
from scheduler.sky import Sky, sky_of
from scheduler.stand import Task, tasks_of
from scheduler.terms import Level, Notice, Season
from scheduler.windows import Facts

LOOK_AHEAD_DAYS = 210  # past the plan's end, for rules that count back from the next frost
# A zone whose clock is further from the Sun than this many hours lies on another continent.
FAR_CLOCK_H = 4.0


@dataclass(frozen=True)
class Outlook:
    """What is known of sky and frost."""

    holding: Holding
    as_of: date  # today
    season: Season  # the days of the plan, and of ``sky``
    sky: Sky
    climate: FrostClimate | None  # the station's frost climate; None without a record
    errors: tuple[LeadError, ...]  # of forecasts, by lead
    # frost at each plot, by its id, ``LOOK_AHEAD_DAYS`` longer than the plan
    plots: Mapping[str, PlotFrost]
    forecast_notices: tuple[Notice, ...]  # why a forecast that is there was not used
    # last day of work of the season before, by task id
    done_before: Mapping[str, date] = field(default_factory=dict)

    @cached_property
    def frost(self) -> Mapping[str, FrostRisk]:
        """Frost risk by plot id, forecast and season so far laid over the climate."""
        return {plot_id: frost.risk for plot_id, frost in self.plots.items()}

    @cached_property
    def facts(self) -> Facts:
        """What the rules look at."""
        return Facts(self.holding, self.season, self.sky, self.frost, self.as_of, self.done_before)

    @cached_property
    def spare(self) -> SpareTime:
        """What share of the crew's hours is kept free for rain."""
        return spare_time_of(self.holding)

    @cached_property
    def notices(self) -> tuple[Notice, ...]:
        """What the record says of itself, and where frost dates or the place are doubtful."""
        climate = self.climate.notices if self.climate else ()
        doubts = (*_frost_notices(self), *_zone_notices(self))
        return (*climate, *self.forecast_notices, *doubts)


def outlook_of(
    holding: Holding,
    as_of: date,
    tasks: Sequence[Task] | None = None,
    done_before: Mapping[str, date] = MappingProxyType({}),
) -> Outlook:
    """Compute sky and frost for the plan in force.

    What the tasks lay open sets the threshold; they may be given where they are at hand.
    ``done_before`` has the last days on which the season before is planned to do its work, by
    task id; what its log has is looked up.
    """
    season, climate = holding.plan.season, None
    if holding.record is not None:
        climate = climate_of(
            holding.record,
            period_seasons=holding.site.frost.period_seasons,
            southern=holding.site.place.southern,
        )
    longer = Season(season.first, season.n_days + LOOK_AHEAD_DAYS)
    known = FrostKnown.of(holding, as_of, longer, climate)
    work = tasks_of(holding) if tasks is None else tasks
    plots = {plot.id: plot_frost(plot, work, known) for plot in holding.plots}
    sky, unused = sky_of(holding.site.place, season), tuple(forecast_notices(known))
    logged = finished_before(holding)
    done = {
        t: max(logged.get(t, date.min), done_before.get(t, date.min))
        for t in {*logged, *done_before}
    }
    return Outlook(holding, as_of, season, sky, climate, known.errors, plots, unused, done)


def _frost_notices(outlook: Outlook) -> Iterator[Notice]:
    for frost in outlook.plots.values():
        plot, risk = frost.plot, frost.risk
        for notice in (*frost.notices, *risk_notices(risk, plot.id)):
            yield replace(notice, says=f"{plot.name}: {notice.says}")
        its_own = plot.own_last and plot.own_first
        if risk.basis == "own dates" and risk.offset_c < 0 and not its_own:
            says = (
                f"{plot.name} is {-risk.offset_c:g} °C colder than the place your own frost "
                "dates are of, and they take no account of that. Give the plot its own own_last "
                "and own_first in plots.toml."
            )
            yield Notice("own-dates-too-warm", Level.WARNING, plot.id, says)


def _zone_notices(outlook: Outlook) -> Iterator[Notice]:
    """A place that does not go with its zone, the plainest reason alone."""
    site = outlook.holding.site
    if outlook.holding.record is not None:
        yield from record_notices(site, outlook.holding.record)
    if doubts := tuple(place_notices(site)):
        yield from doubts
        return
    noon = datetime.combine(outlook.season.first, datetime.min.time(), ZoneInfo(site.zone))
    offset = noon.utcoffset()
    clock_h = offset.total_seconds() / 3600 if offset else 0.0
    apart_h = abs((clock_h - site.lon_deg / 15 + 12) % 24 - 12)
    if apart_h > FAR_CLOCK_H:
        says = (
            f"The clock of {site.zone} is {apart_h:.0f} h from the Sun at lon_deg = "
            f"{site.lon_deg:g}: is its sign right, or the zone?"
        )
        yield Notice("zone-far-away", Level.WARNING, "site.toml", says)
