"""The record cut into cold seasons, and the last and first frost of each."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from scheduler.terms import N_SLOTS, Level, Notice, Season, frozen
from scheduler.weather import Cycle, Record, cold_guess_c, quality_notices, warmest_day_cycle

MAX_MISSING_DAYS = 10  # Utah Climate Center, freeze table help: the "10 missing day" standard
FREEZE, LIGHT_FROST = 0, 220  # hundredths of a degree C
NO_NIGHT = 2_000_000_000  # warmer than any threshold: no value, or no 29 February that year
_LEAST_PART_DAYS = 90  # of the year that has to be known, however close the dates
# The record has to reach from, and to, so many days after the coldest one.
_LAST_REACH, _FIRST_REACH = (0, 120), (-135, -30)
# Days after, and before, the coldest one up to which frosts may fall where no whole year is known.
_LAST_MAY_FALL, _FIRST_MAY_FALL = 150, 135
PERIOD_SEASONS = 30
INDICATIVE_SEASONS, FEW_SEASONS = 10, 15
_WELL_KNOWN_DAYS = 330  # seasons with so many values say where the frost part of the year lies


def hundredths(temperature_c: float) -> int:
    """A temperature in whole hundredths of a degree C, so that sums compare exactly."""
    return round(temperature_c * 100)


@dataclass(frozen=True)
class SideDates:
    """Last (or first) frosts as recorded, one for each season used."""

    # (n,) slot of the frost, counted from the split before it; without a frost -inf among last
    # frosts, +inf among first frosts
    slot: NDArray[np.float64]
    dates: tuple[date | None, ...]  # the same as civil days; None without a frost
    labels: tuple[str, ...]  # names of the growing seasons
    rows: NDArray[np.intp]  # (n,) rows of the climate's table that they were found in
    # names of seasons with more than 10 missing days in the part of the year where these frosts
    # fall
    left_out: tuple[str, ...]

    @property
    def by_label(self) -> dict[str, date | None]:
        """The dates by the names of their seasons."""
        return dict(zip(self.labels, self.dates, strict=True))

    @property
    def extremes(self) -> tuple[date | None, date | None]:
        """The earliest and the latest of them by the day of the year; None without any."""
        seen = np.flatnonzero(np.isfinite(self.slot))
        if not seen.size:
            return None, None
        early, late = seen[np.argmin(self.slot[seen])], seen[np.argmax(self.slot[seen])]
        return self.dates[early], self.dates[late]


@dataclass(frozen=True)
class SeasonDates:
    """Last and first frost of each growing season at one threshold."""

    threshold_c: float  # at or below this is a frost, degrees C at the station
    last: SideDates  # the last frosts before the split in the middle of their growing season
    first: SideDates  # the first frosts after it

    @property
    def n_seasons(self) -> int:
        """The smaller of the numbers of seasons known on either side."""
        return min(len(self.last.labels), len(self.first.labels))

    @property
    def period(self) -> tuple[str, str] | None:
        """Names of the first and last season used on either side; None without any."""
        labels = sorted((*self.last.labels, *self.first.labels))
        return (labels[0], labels[-1]) if labels else None

    @property
    def left_out(self) -> tuple[str, ...]:
        """Seasons left out on either side, by name."""
        return tuple(sorted({*self.last.left_out, *self.first.left_out}))


@dataclass(frozen=True, eq=False)  # compared by identity: answers are kept for each climate
class FrostClimate:
    """A station record as a table of cold seasons, each from split to split."""

    name: str
    cycle: Cycle
    start_years: NDArray[np.intp]  # (n_rows,) calendar year in which each cold season began
    # (n_rows, 366) minima in hundredths of a degree C, ``NO_NIGHT`` where there is no value
    recorded: NDArray[np.int32]
    # (n_rows, 366) the same with missing nights taken cold, those before and after the record
    # too; see ``fill``
    careful: NDArray[np.int32]
    missing: NDArray[np.bool_]  # (n_rows, 366) days without a value, outside the record too
    reached: NDArray[np.bool_]  # (n_rows, 366) days from the first to the last of the record
    period_seasons: int  # how many of the latest seasons count
    notices: tuple[Notice, ...] = ()

    @cached_property
    def _parts(self) -> tuple[tuple[int, int], tuple[int, int]]:
        """Slots between which last, and first, frosts fall; their ends are excluded.

        The same for every threshold, so that all plots rest on the same seasons: between
        dates of 0 degrees on the side of winter and of 2.2 on that of summer (32 and 36
        degrees F: freeze and frost of the US National Weather Service).
        """
        if not self._well_known.any():
            # nobody has seen a whole year here: the half in which frosts may fall is wanted
            coldest = self.cycle.coldest_slot
            return (coldest, coldest + _LAST_MAY_FALL), (coldest - _FIRST_MAY_FALL, coldest)
        last, first = self.frosts(FREEZE)
        last_warm, first_warm = self.frosts(LIGHT_FROST)
        begin, _ = self._reach(last)
        _, end = self._reach(last_warm)
        first_begin, _ = self._reach(first_warm)
        _, first_end = self._reach(first)
        return _widened(begin, end), _widened(first_begin, first_end)

    def _reach(self, slot: NDArray[np.float64]) -> tuple[int, int]:
        """Earliest and latest of these frosts; midwinter where most seasons have none."""
        seen = slot[np.isfinite(slot) & self._well_known]
        if 2 * seen.size < self._well_known.sum():
            return self.cycle.coldest_slot, self.cycle.coldest_slot
        return int(seen.min()), int(seen.max())

    @cached_property
    def _recorded_coldest(self) -> tuple[NDArray[np.int32], NDArray[np.int32]]:
        return _coldest(self.recorded)

    @cached_property
    def careful_coldest(self) -> tuple[NDArray[np.int32], NDArray[np.int32]]:
        """(n_rows, 366) coldest nights from each slot to the next split, and up to each slot."""
        return _coldest(self.careful)

    @cached_property
    def n_missing(self) -> NDArray[np.intp]:
        """(n_rows,) days without a value."""
        return frozen(self.missing.sum(axis=1))

    @cached_property
    def _well_known(self) -> NDArray[np.bool_]:
        return frozen(self.n_missing <= N_SLOTS - _WELL_KNOWN_DAYS)

    def seasons(self, threshold_c: float) -> SeasonDates:
        """Last and first frost of each season, at or below a threshold at the station.

        On either side the latest ``period_seasons`` seasons with at most 10 missing days in
        the part of the year where last (or first) frosts fall: the same for every threshold,
        which is taken in whole hundredths of a degree C.
        """
        key = hundredths(threshold_c)
        last, first = self.frosts(key)
        last_part, first_part = self._parts
        return SeasonDates(
            key / 100,
            self._side(last, last_part, _LAST_REACH, growing=1),
            self._side(first, first_part, _FIRST_REACH, growing=0),
        )

    def frosts(self, key: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """(n_rows,) slots of the last and of the first frost of every row, as recorded.

        Without a frost -inf and +inf. The threshold is in hundredths of a degree C.
        """
        after, before = self._recorded_coldest
        return last_slots(after <= key), first_slots(before <= key)

    def _side(
        self,
        slot: NDArray[np.float64],
        part: tuple[int, int],
        reach: tuple[int, int],
        *,
        growing: int,
    ) -> SideDates:
        """The seasons to use; ``growing`` is 1 where the growing season ends the row."""
        n_missing = (self.missing & self.reached)[:, part[0] : part[1]].sum(axis=1)
        # a season that the record does not reach is not there yet, rather than left out;
        # how far it has to reach does not hang on the frosts, so that a colder record has
        # the same seasons
        from_, to = (self.cycle.coldest_slot + days for days in reach)
        reached = self.reached[:, from_] & self.reached[:, to]
        usable = reached & (n_missing <= MAX_MISSING_DAYS)
        rows = np.flatnonzero(usable)[-self.period_seasons :]
        gappy = np.flatnonzero(reached & ~usable)
        since = rows[0] if rows.size else 0
        return SideDates(
            slot=frozen(slot[rows]),
            dates=tuple(self._date(row, slot[row]) for row in rows.tolist()),
            labels=tuple(self._label(row + growing) for row in rows.tolist()),
            rows=frozen(rows),
            left_out=tuple(self._label(row + growing) for row in gappy.tolist() if row >= since),
        )

    def _date(self, row: int, slot: float) -> date | None:
        if np.isinf(slot):
            return None
        return self.cycle.date_of(int(self.start_years[row]), int(slot))

    def _label(self, row: int) -> str:
        return self.cycle.label(int(self.start_years[0]) + row)


def _widened(begin: int, end: int) -> tuple[int, int]:
    """A run of at least 90 slots round another; the end excluded."""
    wider = max(_LEAST_PART_DAYS - (end + 1 - begin), 0)
    return max(begin - wider // 2, 0), min(end + 1 + wider - wider // 2, N_SLOTS)


def last_slots(come: NDArray[np.bool_]) -> NDArray[np.float64]:
    """(n,) last slot on or after which a frost comes, of (n, 366) rows; -inf without any."""
    n_days = come.sum(axis=1)
    return np.where(n_days > 0, n_days - 1.0, -np.inf)


def first_slots(come: NDArray[np.bool_]) -> NDArray[np.float64]:
    """(n,) first slot by which a frost has come, of (n, 366) rows; +inf without any."""
    n_days = come.sum(axis=1)
    return np.where(n_days > 0, N_SLOTS - n_days, np.inf)


def _coldest(table: NDArray[np.int32]) -> tuple[NDArray[np.int32], NDArray[np.int32]]:
    after = np.minimum.accumulate(table[:, ::-1], axis=1)[:, ::-1]
    return frozen(np.ascontiguousarray(after)), frozen(np.minimum.accumulate(table, axis=1))


@lru_cache(maxsize=16)  # two seasons of a site, and sites of one station, share it
def climate_of(
    record: Record, *, period_seasons: int = PERIOD_SEASONS, southern: bool = False
) -> FrostClimate:
    """Cut a record into cold seasons at its own climatological warmest day.

    The latest ``period_seasons`` count, at least 1. The hemisphere matters where the record is
    too short to tell its own warmest day. The notices are those of the reading and of the
    quality checks.
    """
    cycle = warmest_day_cycle(record.season, record.tmin_c, southern=southern)
    first, last = (cycle.start_year_of(day) for day in (record.season.first, record.season.last))
    whole = Season.between(cycle.date_of(first, 0), cycle.date_of(last, N_SLOTS - 1))
    slots, years = cycle.slots_of(whole)

    def table(values_c: NDArray[np.float64]) -> NDArray[np.int32]:
        """(n_rows, 366) hundredths of the values, ``NO_NIGHT`` where there are none."""
        cells = np.full((last - first + 1, N_SLOTS), NO_NIGHT, dtype=np.int32)
        known = ~np.isnan(values_c)
        in_hundredths = np.round(values_c[known] * 100).astype(np.int32)
        cells[years[known] - first, slots[known]] = in_hundredths
        return frozen(cells)

    tmin_c = whole.laid_over(record.season, record.tmin_c)
    held = whole.laid_over(record.season, np.zeros(record.season.n_days))
    recorded = table(tmin_c)
    climate = FrostClimate(
        record.name,
        cycle,
        frozen(np.arange(first, last + 1)),
        recorded,
        table(cold_guess_c(slots, tmin_c)),
        frozen((recorded == NO_NIGHT) & (table(np.zeros(whole.n_days)) != NO_NIGHT)),
        frozen(table(held) != NO_NIGHT),
        period_seasons,
    )
    notices = (*record.notices, *quality_notices(record), *_season_notices(climate))
    return replace(climate, notices=notices)


def _season_notices(climate: FrostClimate) -> Iterator[Notice]:
    dates = climate.seasons(0.0)
    n = dates.n_seasons
    if n == 0:
        says = "No season is known well enough to tell frost dates from."
        yield Notice("station-no-season", Level.WARNING, climate.name, says)
    elif n < INDICATIVE_SEASONS:
        says = f"Only {n} seasons of record: dates and chances are indicative."
        yield Notice("station-few-seasons", Level.WARNING, climate.name, says)
    elif n < FEW_SEASONS:
        says = f"{n} seasons of record: dates are rough."
        yield Notice("station-few-seasons", Level.NOTE, climate.name, says)
    if dates.left_out:
        says = (
            f"Left out, since more than {MAX_MISSING_DAYS} days are missing where frosts "
            f"fall: {', '.join(dates.left_out)}."
        )
        yield Notice("station-seasons-left-out", Level.NOTE, climate.name, says)
