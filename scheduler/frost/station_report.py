"""All that a station record tells of frost at one threshold, and how far that was true."""

from dataclasses import dataclass

from scheduler.frost.answers import NO_DATES, FrostDates, answer_of
from scheduler.frost.calibration import SIDES, Calibration, calibration_of
from scheduler.frost.climate import climate_of
from scheduler.frost.seasons import FrostClimate, SeasonDates, hundredths
from scheduler.frost.summaries import FreeSeason, HalfMonth, free_season, frost_nights, severity
from scheduler.weather import Record

# 36, 32, 28 and 24 degrees F: the light frost, freeze and hard freeze of the United States
# weather service, and what is colder still.
USUAL_THRESHOLDS_C = (2.2, 0.0, -2.2, -4.4)


@dataclass(frozen=True, slots=True)
class DatesAt:
    """Frost dates at one threshold, degrees C at the station."""

    threshold_c: float
    last: FrostDates
    first: FrostDates


@dataclass(frozen=True, eq=False)  # holds tables of nights
class StationReport:
    """A record, its climate, and what they tell of frost at a threshold at the station."""

    record: Record
    climate: FrostClimate
    threshold_c: float
    seasons: SeasonDates
    # frost nights of each cold season of the period, by the year it begins in
    nights: tuple[tuple[str, int], ...]
    free_season: FreeSeason | None
    dates: tuple[DatesAt, ...]  # dates by chance at the usual thresholds and the one asked for
    severity: tuple[HalfMonth, ...]
    # the stated chances against later seasons, for last and first frosts; empty where the record
    # is too short to be split
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
    """Look at a record; see ``climate_of`` and, for ``n_tested``, ``calibration_of``."""
    climate = climate_of(record, period_seasons=period_seasons, southern=southern)
    seasons = climate.seasons(threshold_c)
    # the chances of the earlier seasons of the whole record against the later ones
    whole = climate_of(record, period_seasons=record.season.n_days // 365 + 1, southern=southern)
    tested = (calibration_of(whole, threshold_c, side, n_tested) for side in SIDES)
    return StationReport(
        record=record,
        climate=climate,
        threshold_c=threshold_c,
        seasons=seasons,
        nights=frost_nights(climate, threshold_c),
        free_season=free_season(seasons),
        dates=_dates(climate, threshold_c),
        severity=severity(climate),
        tested=tuple(calibration for calibration in tested if calibration is not None),
    )


def _dates(climate: FrostClimate, threshold_c: float) -> tuple[DatesAt, ...]:
    """Dates at each threshold, from the warmest; none where no season can be used."""
    dates = []
    for at_c in sorted({*USUAL_THRESHOLDS_C, threshold_c}, reverse=True):
        answer = answer_of(climate, hundredths(at_c), 0.0)
        last, first = (answer.last_frost, answer.first_frost) if answer else (NO_DATES, NO_DATES)
        dates.append(DatesAt(at_c, last, first))
    return tuple(dates)
