"""All that a station record tells of frost at one threshold, and how far that was true."""

from dataclasses import dataclass

from scheduler.frost.answers import FrostDates
from scheduler.frost.calibration import Calibration, calibration_of
from scheduler.frost.climate import climate_of
from scheduler.frost.risk import risk_of
from scheduler.frost.seasons import FrostClimate, SeasonDates
from scheduler.frost.summaries import FreeSeason, HalfMonth, free_season, frost_nights, severity
from scheduler.terms import N_SLOTS, Season
from scheduler.weather import Record

# 36, 32, 28 and 24 degrees F: the light frost, freeze and hard freeze of the United States
# weather service, and what is colder still.
USUAL_THRESHOLDS_C = (2.2, 0.0, -2.2, -4.4)
_TESTED_SHARE = 3  # a third of the seasons is kept out to test the rest on


@dataclass(frozen=True, slots=True)
class DatesAt:
    """Frost dates at one threshold, degrees C at the station."""

    threshold_c: float
    last: FrostDates
    first: FrostDates


@dataclass(frozen=True, eq=False)  # holds tables of nights
class StationReport:
    """A record, looked at.

    Args:
        record: the daily minima.
        climate: the same cut into seasons, the period that counts.
        threshold_c: at or below this is a frost, degrees C at the station.
        seasons: last and first frost of each season of the period.
        nights: frost nights of each cold season of the period, by the year it begins in.
        free_season: length of the season between them.
        dates: dates by chance at the usual thresholds and the one asked for.
        severity: coldest night by half-month.
        tested: the stated chances against later seasons, for last and first frosts; empty
            where the record is too short to be split.
    """

    record: Record
    climate: FrostClimate
    threshold_c: float
    seasons: SeasonDates
    nights: tuple[tuple[str, int], ...]
    free_season: FreeSeason | None
    dates: tuple[DatesAt, ...]
    severity: tuple[HalfMonth, ...]
    tested: tuple[Calibration, ...]

    @property
    def mean_nights(self) -> float | None:
        """Frost nights a cold season, on average; None where no season is whole."""
        counts = [n for _, n in self.nights]
        return sum(counts) / len(counts) if counts else None


def report_of(
    record: Record,
    *,
    threshold_c: float,
    period_seasons: int,
    southern: bool,
    n_tested: int | None = None,
) -> StationReport:
    """Look at a record.

    Args:
        record: daily minima.
        threshold_c: degrees C at the station.
        period_seasons: how many of the latest seasons count, at least 1.
        southern: hemisphere; matters for short records only.
        n_tested: seasons kept out to test the chances on; a third of all without.
    """
    climate = climate_of(record, period_seasons=period_seasons, southern=southern)
    seasons = climate.seasons(threshold_c)
    return StationReport(
        record=record,
        climate=climate,
        threshold_c=threshold_c,
        seasons=seasons,
        nights=frost_nights(climate, threshold_c),
        free_season=free_season(seasons),
        dates=_dates(climate, threshold_c, southern=southern),
        severity=severity(climate),
        tested=_tested(record, threshold_c, n_tested, southern=southern),
    )


def _dates(climate: FrostClimate, threshold_c: float, *, southern: bool) -> tuple[DatesAt, ...]:
    thresholds = sorted({*USUAL_THRESHOLDS_C, threshold_c}, reverse=True)
    risks = (
        risk_of(
            climate,
            threshold_c=at_c,
            offset_c=0.0,
            tolerance=0.5,  # dates do not depend on it
            season=Season(climate.cycle.date_of(int(climate.start_years[-1]), 0), N_SLOTS),
            southern=southern,
        )
        for at_c in thresholds
    )
    return tuple(DatesAt(risk.threshold_c, risk.last_frost, risk.first_frost) for risk in risks)


def _tested(
    record: Record, threshold_c: float, n_tested: int | None, *, southern: bool
) -> tuple[Calibration, ...]:
    """The chances of the earlier seasons of the whole record against the later ones."""
    n_years = record.season.n_days // 365 + 1
    whole = climate_of(record, period_seasons=n_years, southern=southern)
    found = []
    for side in ("last", "first"):
        dates = whole.seasons(threshold_c)
        n_seasons = (dates.last if side == "last" else dates.first).n_seasons
        tested = n_seasons // _TESTED_SHARE if n_tested is None else n_tested
        found.append(calibration_of(whole, threshold_c=threshold_c, n_tested=tested, side=side))
    return tuple(one for one in found if one is not None)
