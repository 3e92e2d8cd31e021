"""``site.toml``: where the holding lies and how careful its grower is."""

from dataclasses import field
from typing import Literal

from scheduler.files import fields
from scheduler.terms import Place


@fields.table
class Sign:
    """``[[phenology]]``: a sign in plants, and its usual day here."""

    groups: tuple[fields.Slug, ...]  # of plants that show it
    # buds that swell, leaves that unfold, first flowers, new growth of evergreens, or the last
    # leaves that fall
    sign: fields.SignKind
    on: fields.MonthDay  # usual day; set it anew when it is seen


@fields.table
class DryMonths:
    """``[[dry]]``: a part of the year that is usually dry here; it may run over New Year."""

    first: fields.MonthDay
    last: fields.MonthDay


@fields.table
class FrostPolicy:
    """Table ``[frost]``: which record to trust, and how much chance to take."""

    stations: tuple[fields.Told, ...] = ()  # record files, the most trusted first
    tolerance: fields.Share = 0.10  # chance of another frost at which the window counts as closed
    # a night at or below this is a frost that hurts, degrees C at the plot; where it is left out,
    # the tenderest stock that the plan exposes sets it
    threshold_c: fields.Celsius | None = None
    period_seasons: fields.SeasonsBack = 30  # only the latest ones count
    own_last: fields.MonthDay | None = None  # usual last frost, used where no record is
    own_first: fields.MonthDay | None = None  # likewise the usual first frost
    # how sure those dates are: in one year of ten the frost comes by so many days later in spring,
    # or sooner in autumn; 0 to 60. The plan keeps that far from them
    own_doubt_days: fields.DoubtDays = 0
    # unit of a record by file name, where the file names none: C, F or 0.1 C
    units: dict[str, Literal["C", "F", "0.1 C"]] = field(default_factory=dict)
    station_elev_m: fields.ElevM | None = None  # with a plot's own, a last resort for its offset
    forecast: fields.Told | None = None  # file of forecast minima, past and present
    evenings: fields.Told | None = None  # file of the site's own clear evenings
    # stage of bloom that a kind has reached now, as frost.toml names it
    bloom: dict[str, str] = field(default_factory=dict)


@fields.table
class MoonPractice:
    """Table ``[moon]``: the optional grower practice of cutting in the waning moon."""

    practice: fields.YesNo = False


@fields.table
class Site:
    """``site.toml``."""

    id: fields.Slug  # short name that never changes: subscribed phones know the events by it
    name: fields.Name
    lat_deg: fields.LatDeg  # north positive
    lon_deg: fields.LonDeg  # east positive
    elev_m: fields.ElevM  # above sea level
    zone: fields.Zone
    horizon_deg: fields.HorizonDeg = 0.0  # altitude of the skyline (a ridge)
    frost: FrostPolicy = FrostPolicy()
    moon: MoonPractice = MoonPractice()
    phenology: tuple[Sign, ...] = ()
    dry: tuple[DryMonths, ...] = ()
    # the grower works alone, with saws and ladders too; else such work is planned for two at least
    works_alone: fields.YesNo = False
    emergency: str = ""  # who calls whom, and where the road is, as it is to be read on heavy days

    @property
    def place(self) -> Place:
        """Where the sky is looked at from."""
        return Place(self.lat_deg, self.lon_deg, self.zone, self.horizon_deg)
