"""What is known of sky and frost, before any work is planned."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from functools import cached_property
from zoneinfo import ZoneInfo

from scheduler.frost import FrostClimate, FrostRisk, climate_of, risk_notices, risk_of
from scheduler.holding import Holding, Plot
from scheduler.sky import Sky, sky_of
from scheduler.terms import Level, Notice, Season

LOOK_AHEAD_DAYS = 210  # past the plan's end, for rules that count back from the next frost
# A zone whose clock is further from the Sun than this many hours lies on another continent.
FAR_CLOCK_H = 4.0


@dataclass(frozen=True)
class Outlook:
    """What is known of sky and frost.

    Args:
        holding: the site's files, checked.
        as_of: today.
        season: the days of the plan.
        sky: Sun and Moon over those days.
        climate: the station's frost climate; None without a record.
        frost: frost risk by plot id, ``LOOK_AHEAD_DAYS`` longer than the plan.
    """

    holding: Holding
    as_of: date
    season: Season
    sky: Sky
    climate: FrostClimate | None
    frost: Mapping[str, FrostRisk]

    @cached_property
    def notices(self) -> tuple[Notice, ...]:
        """What record and sky say of themselves, and where frost dates are not to be trusted."""
        told = self.climate.notices if self.climate else ()
        return (*told, *self.sky.notices, *_frost_notices(self), *_zone_notices(self))


def outlook_of(holding: Holding, as_of: date) -> Outlook:
    """Compute sky and frost for the plan in force."""
    season = holding.plan.season
    policy = holding.site.frost
    climate = None
    if holding.record is not None:
        climate = climate_of(holding.record, period_seasons=policy.period_seasons)
    longer = Season(season.first, season.n_days + LOOK_AHEAD_DAYS)
    frost = {
        plot.id: risk_of(
            climate,
            threshold_c=policy.threshold_c,
            offset_c=plot.frost_offset_c,
            tolerance=policy.tolerance,
            season=longer,
            own_last=plot.own_last or policy.own_last,
            own_first=plot.own_first or policy.own_first,
            southern=holding.site.place.southern,
        )
        for plot in holding.plots
    }
    return Outlook(holding, as_of, season, sky_of(holding.site.place, season), climate, frost)


def _frost_notices(outlook: Outlook) -> Iterator[Notice]:
    for plot in outlook.holding.plots:
        risk = outlook.frost[plot.id]
        told = risk_notices(risk, plot.id)
        if risk.basis == "unknown":
            says = (
                f"No frost dates are known for {plot.name}: work that frost could hurt is held "
                "back. Name a station record or your own dates under [frost] in site.toml."
            )
            yield Notice("frost-unknown", Level.WARNING, plot.id, says)
            continue
        yield from (replace(notice, says=f"{plot.name}: {notice.says}") for notice in told)
        if risk.basis == "own dates" and _colder_than_told(plot):
            says = (
                f"{plot.name} is {-plot.frost_offset_c:g} °C colder than the place your own frost "
                "dates are of, and they take no account of that. Give the plot its own own_last "
                "and own_first in plots.toml."
            )
            yield Notice("own-dates-too-warm", Level.WARNING, plot.id, says)


def _colder_than_told(plot: Plot) -> bool:
    return plot.frost_offset_c < 0 and not (plot.own_last and plot.own_first)


def _zone_notices(outlook: Outlook) -> Iterator[Notice]:
    site = outlook.holding.site
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
