"""``rules/frost.toml``: what frost does to plants, plots and forecasts, as data."""

import tomllib
from dataclasses import replace
from functools import lru_cache
from importlib import resources
from typing import Literal

from scheduler.files import FaultyFilesError, fields, validated


@fields.table
class Growth:
    """``[growth]``: how many weeks new growth stays tender after a cut."""

    tender_weeks: fields.SomeWeeks
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
    """``[seedling]``: juvenile and just planted stock.

    Args:
        warmer_k: hurt at so much more than the grown plant, K.
        tender_above_c: kinds that die at rest above this are tender.
        never_below_c: seedlings of tender kinds are hurt at this at the latest.
        source: where the figures come from.
    """

    warmer_k: fields.Amount
    tender_above_c: fields.Celsius
    never_below_c: fields.Celsius
    source: fields.Told


@fields.table
class Transfer:
    """``[transfer]``: from station to plot.

    Args:
        min_nights: fewest nights of overlap to fit an offset on.
        elevation_c_per_km: change of the minimum with height, a fallback only.
        source: where the figures come from.
    """

    min_nights: fields.CountOfSome
    elevation_c_per_km: fields.Number
    source: fields.Told


@fields.table
class SiteAdjustment:
    """``[[site_adjustment]]``: a published range that a grower may choose from.

    Args:
        id: name.
        words: what differs.
        low_c: least change of the minimum, degrees C.
        high_c: greatest.
        per: of the plot as a whole, or for each 100 m of height.
        source: where the range comes from.
    """

    id: fields.Slug
    words: fields.Told
    low_c: fields.Number
    high_c: fields.Number
    per: Literal["plot", "100 m"]
    source: fields.Told


@fields.table
class ForecastError:
    """``[forecast]``: standard error of forecast minima.

    Args:
        error_c: by night ahead, from the first, degrees C; later nights are not used.
        min_pairs: forecasts with their outcome that it takes to learn the site's own.
        source: where the figures come from.
    """

    error_c: tuple[fields.Positive, ...]
    min_pairs: fields.CountOfSome
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

    def stage_named(self, stage_id: str) -> BloomStage | None:
        """The stage of a name, or None."""
        return next((stage for stage in self.stage if stage.id == stage_id), None)


@fields.table
class FrostData:
    """The whole file."""

    growth: Growth
    hardening: Hardening
    states: States
    seedling: Seedling
    transfer: Transfer
    site_adjustment: tuple[SiteAdjustment, ...]
    forecast: ForecastError
    night: NightFit
    bloom: tuple[Bloom, ...]

    def bloom_of(self, plant_id: str) -> Bloom | None:
        """The bloom table of a kind, or None."""
        return next((bloom for bloom in self.bloom if bloom.plant == plant_id), None)

    def adjustment(self, adjustment_id: str) -> SiteAdjustment | None:
        """The published range of a name, or None."""
        return next((one for one in self.site_adjustment if one.id == adjustment_id), None)


@fields.table
class OwnFrostData:
    """A site's own ``frost.toml``: whatever it gives takes the place of the package's."""

    growth: Growth | None = None
    hardening: Hardening | None = None
    states: States | None = None
    seedling: Seedling | None = None
    transfer: Transfer | None = None
    site_adjustment: tuple[SiteAdjustment, ...] = ()
    forecast: ForecastError | None = None
    night: NightFit | None = None
    bloom: tuple[Bloom, ...] = ()

    def over(self, data: FrostData) -> FrostData:
        """The package's data with this file's tables in place of its own."""
        whole = ("growth", "hardening", "states", "seedling", "transfer", "forecast", "night")
        given = {name: getattr(self, name) for name in whole if getattr(self, name) is not None}
        by_id = {one.id: one for one in (*data.site_adjustment, *self.site_adjustment)}
        by_plant = {one.plant: one for one in (*data.bloom, *self.bloom)}
        return replace(
            data,
            **given,
            site_adjustment=tuple(by_id.values()),
            bloom=tuple(by_plant.values()),
        )


@lru_cache(maxsize=1)
def package_frost_data() -> FrostData:
    """The package's own figures; a fault in them is a mistake of the project's."""
    file = resources.files("scheduler.holding") / "rules" / "frost.toml"
    data, faults = validated(FrostData, tomllib.loads(file.read_text("utf-8")), "frost.toml")
    if data is None:
        raise FaultyFilesError(faults)
    return data
