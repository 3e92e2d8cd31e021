"""``site.toml``: where the holding lies and how careful its grower is."""

from dataclasses import field
from typing import Literal

from scheduler.files import fields
from scheduler.holding.signs import DryMonths, Sign
from scheduler.terms import Place


@fields.table
class FrostPolicy:
    """Table ``[frost]``: which record to trust, and how much chance to take.

    Args:
        stations: record files in the site folder, the most trusted first; each fills
            the gaps of those before it.
        tolerance: the chance of another frost, 0 to 1, at which the window counts as
            closed.
        threshold_c: a night at or below this is a frost that hurts, degrees C at the plot;
            where it is left out, the tenderest stock that the plan exposes sets it.
        period_seasons: how many of the latest seasons count.
        own_last: the grower's own date of the usual last frost, used where no record is.
        own_first: likewise the usual first frost.
        units: unit of a record by file name, where the file names none: C, F or 0.1 C.
        station_elev_m: height of the station; with a plot's own a last resort for its offset.
        forecast: file of forecast minima, past and present.
        evenings: file of the site's own clear evenings.
        bloom: stage of bloom that a kind has reached now, as frost.toml names it.
    """

    stations: tuple[fields.Told, ...] = ()
    tolerance: fields.Share = 0.10
    threshold_c: fields.Celsius | None = None
    period_seasons: fields.SeasonsBack = 30
    own_last: fields.MonthDay | None = None
    own_first: fields.MonthDay | None = None
    units: dict[str, Literal["C", "F", "0.1 C"]] = field(default_factory=dict)
    station_elev_m: fields.ElevM | None = None
    forecast: fields.Told | None = None
    evenings: fields.Told | None = None
    bloom: dict[str, str] = field(default_factory=dict)


@fields.table
class MoonPractice:
    """Table ``[moon]``: the optional grower practice of cutting in the waning moon."""

    practice: fields.YesNo = False


@fields.table
class Site:
    """``site.toml``.

    Args:
        id: short name that never changes: subscribed phones know the events by it.
        name: what people call the holding.
        lat_deg: latitude, north positive.
        lon_deg: longitude, east positive.
        elev_m: height above sea level, m.
        zone: IANA time zone.
        horizon_deg: altitude of the skyline (a ridge) above the flat horizon.
        frost: the frost policy.
        moon: the moon practice.
        sign: what plants show, and when.
        dry: usually dry parts of the year.
        works_alone: whether the grower works alone, with saws and ladders too; without it such
            work is planned for two at the least.
        emergency: who calls whom, and where the road is, as it is to be read on heavy days.
    """

    id: fields.Slug
    name: fields.Name
    lat_deg: fields.LatDeg
    lon_deg: fields.LonDeg
    elev_m: fields.ElevM
    zone: fields.Zone
    horizon_deg: fields.HorizonDeg = 0.0
    frost: FrostPolicy = FrostPolicy()
    moon: MoonPractice = MoonPractice()
    sign: tuple[Sign, ...] = ()
    dry: tuple[DryMonths, ...] = ()
    works_alone: fields.YesNo = False
    emergency: str = ""

    @property
    def place(self) -> Place:
        """Where the sky is looked at from."""
        return Place(self.lat_deg, self.lon_deg, self.zone, self.horizon_deg)
