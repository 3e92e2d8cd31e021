"""``rules/frost.toml``: what frost does to plants, plots and forecasts, as data."""

import tomllib
from collections.abc import Callable
from dataclasses import field, replace
from functools import lru_cache
from importlib import resources
from typing import Literal, TypeVar

from scheduler.files import FaultyFilesError, fields, validated

_T = TypeVar("_T")


def package_file(shape: type[_T], name: str) -> _T:
    """A file of the package's own ``rules``; a fault in it is a mistake of the project's."""
    file = resources.files("scheduler.holding") / "rules" / name
    value, faults = validated(shape, tomllib.loads(file.read_text(encoding="utf-8")), name)
    if value is None:
        raise FaultyFilesError(faults)
    return value


@fields.table
class Growth:
    """``[growth]``: how many weeks new growth stays tender after a cut."""

    tender_weeks: fields.GrowthWeeks
    source: fields.Told

    def tender_days(self, weeks: float | None = None) -> int:
        """The day of the cut and all of the weeks: these, or a rule's own."""
        return round(7 * (self.tender_weeks if weeks is None else weeks)) + 1


@fields.table
class Hardening:
    """``[hardening]``: how much earlier a plant at rest is hurt when it is not hardened, K."""

    unhardened_k: fields.Amount
    source: fields.Told


@fields.table
class States:
    """``[states]``: when standing stock is hardened, grows and may bloom, both ends counted.

    Days after the coldest day of the year at the station; before it if negative.
    """

    hardened_from: fields.DaysAround
    hardened_to: fields.DaysAround
    growing_from: fields.DaysAround
    growing_to: fields.DaysAround
    bloom_to: fields.DaysAround
    source: fields.Told


@fields.table
class Seedling:
    """``[seedling]``: juvenile and just planted stock."""

    warmer_k: fields.Amount  # hurt at so much more than the grown plant, K
    tender_above_c: fields.Celsius  # kinds that die at rest above this are tender
    never_below_c: fields.Celsius  # seedlings of tender kinds are hurt at this at the latest
    source: fields.Told


@fields.table
class Transfer:
    """``[transfer]``: from station to plot."""

    min_nights: fields.CountOfSome  # fewest nights of overlap to fit an offset on
    elevation_c_per_km: fields.Number  # change of the minimum with height, a fallback only
    source: fields.Told


@fields.table
class SiteAdjustment:
    """``[[site_adjustment]]``: a published range that a grower may choose from."""

    id: fields.Slug
    words: fields.Told  # what differs
    low_c: fields.Number  # least change of the minimum, degrees C
    high_c: fields.Number  # greatest
    per: Literal["plot", "100 m"]  # of the plot as a whole, or for each 100 m of height
    source: fields.Told


@fields.table
class ForecastError:
    """``[forecast]``: standard error of forecast minima."""

    # by night ahead, from the first, degrees C; later nights are not used
    error_c: tuple[fields.Positive, ...]
    min_pairs: fields.CountOfSome  # forecasts with their outcome, to learn the site's own
    source: fields.Told


@fields.table
class NightFit:
    """``[night]``: the evening estimate of the minimum; ``min_nights`` it is fitted on."""

    min_nights: fields.CountOfSome
    source: fields.Told


@fields.table
class BloomStage:
    """One stage of a bloom table: 30 minutes at ``kill10_c`` kill a tenth of the buds."""

    id: fields.Told
    kill10_c: fields.Celsius
    kill90_c: fields.Celsius | None = None


@fields.table
class Bloom:
    """``[[bloom]]``: critical temperatures of a kind, stages in the order of spring."""

    plant: fields.Slug
    stage: tuple[BloomStage, ...]
    source: fields.Told


def _of_the_package(table: Callable[["FrostData"], _T]) -> _T:
    """What holds where a site's own file leaves a table out."""
    default: _T = field(default_factory=lambda: table(package_frost_data()))
    return default


@fields.table
class FrostData:
    """The whole file; tables that a site's own ``frost.toml`` gives replace the package's."""

    growth: Growth = _of_the_package(lambda data: data.growth)
    hardening: Hardening = _of_the_package(lambda data: data.hardening)
    states: States = _of_the_package(lambda data: data.states)
    seedling: Seedling = _of_the_package(lambda data: data.seedling)
    transfer: Transfer = _of_the_package(lambda data: data.transfer)
    site_adjustment: tuple[SiteAdjustment, ...] = ()
    forecast: ForecastError = _of_the_package(lambda data: data.forecast)
    night: NightFit = _of_the_package(lambda data: data.night)
    bloom: tuple[Bloom, ...] = ()

    def bloom_of(self, plant_id: str) -> Bloom | None:
        """The bloom table of a kind, or None."""
        return next((bloom for bloom in self.bloom if bloom.plant == plant_id), None)

    def adjustment(self, adjustment_id: str) -> SiteAdjustment | None:
        """The published range of a name, or None."""
        return next((known for known in self.site_adjustment if known.id == adjustment_id), None)

    def over(self, data: "FrostData") -> "FrostData":
        """The same, with the ranges and blooms of other data that these do not replace."""
        ranges = {known.id: known for known in (*data.site_adjustment, *self.site_adjustment)}
        blooms = {bloom.plant: bloom for bloom in (*data.bloom, *self.bloom)}
        return replace(self, site_adjustment=tuple(ranges.values()), bloom=tuple(blooms.values()))


@lru_cache(maxsize=1)
def package_frost_data() -> FrostData:
    """The package's own figures."""
    return package_file(FrostData, "frost.toml")
