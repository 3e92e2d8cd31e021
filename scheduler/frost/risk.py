"""Whether the frost window is open at a plot, by day, and what that rests on."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import cached_property, partial
from statistics import NormalDist
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from scheduler.frost.chance_curves import (
    NO_DATES,
    RECENT_SEASONS,
    FrostDates,
    answer_of,
    chance_within,
)
from scheduler.frost.seasons import FrostClimate, hundredths
from scheduler.terms import N_SLOTS, DaySpan, Level, Notice, Season, frozen, spans_of
from scheduler.weather import Cycle, default_cycle

OLD_RECORD_YEARS = 10
LEAST_FREE_DAYS = 30  # a shorter season without frost is none: common practice, no source


@dataclass(frozen=True, eq=False)  # arrays do not compare to one truth
class Ahead:
    """What forecast and season so far change in the days that lie ahead."""

    season: Season  # those days, from the evening on which it was told
    open: NDArray[np.bool_]  # (n_days,) True where the window is open
    on_or_after: NDArray[np.float64]  # (n_days,) chance of another frost on or after a day
    nights: tuple[float, ...] = ()  # chances of the mornings of the forecast, from the first day


@dataclass(frozen=True, kw_only=True, eq=False)  # arrays do not compare to one truth
class FrostRisk:
    """The frost risk of a plot over the days of a season.

    The window is open on a day on which another frost before the coming warmest day is
    likelier than tolerated, and either the chance that the first frost has come exceeds
    the tolerance too, or the coldest day of the year has gone by. Where fewer than 30 days
    a year would be closed, as high in the mountains, it never closes.
    """

    threshold_c: float  # at or below this, at the plot, is a frost that hurts, degrees C
    offset_c: float  # plot minus station on a frosty night, degrees C
    offset_spread_c: float  # standard deviation of that difference from night to night
    tolerance: float  # the chance of a frost, 0 to 1, above which the window counts as open
    # a station record, the grower's own dates, or nothing
    basis: Literal["record", "own dates", "unknown"]
    season: Season  # the days of the arrays
    cycle: Cycle  # the year of 366 slots from warmest day to warmest day
    open_by_slot: NDArray[np.bool_]  # (366,) True where the window is open
    # (366,) chance of another frost on or after a slot; NaN without record
    after_by_slot: NDArray[np.float64]
    before_by_slot: NDArray[np.float64]  # (366,) likewise that the first frost has come by a slot
    n_seasons: int = 0  # how many seasons of the record count
    period: tuple[str, str] | None = None  # names of the first and last of them
    last_frost: FrostDates = NO_DATES  # dates by chance; ``first_frost`` likewise
    first_frost: FrostDates = NO_DATES
    climate: FrostClimate | None = None  # what it was computed from
    ahead: Ahead | None = None  # what is known beyond climate; days it speaks of are its own
    doubt_days: int = 0  # by so many days the window is wider than the grower's own dates

    @cached_property
    def _slots(self) -> NDArray[np.intp]:
        return self.cycle.slots_of(self.season)[0]

    @cached_property
    def open(self) -> NDArray[np.bool_]:
        """(n_days,) True on days on which the frost window is open."""
        return self._joined(self.open_by_slot, self.ahead.open if self.ahead else None)

    @cached_property
    def chance_on_or_after(self) -> NDArray[np.float64]:
        """(n_days,) chance that another frost comes on or after the day, before the split."""
        return self._joined(self.after_by_slot, self.ahead.on_or_after if self.ahead else None)

    def _joined(self, by_slot: NDArray[Any], ahead: NDArray[Any] | None) -> NDArray[Any]:
        """(n_days,) the climate of the days, and over it what is known of those ahead."""
        joined = by_slot[self._slots]
        if self.ahead is not None and ahead is not None:
            at = self.season.day_of(self.ahead.season.first)
            here = slice(max(at, 0), max(at + len(ahead), 0))
            joined[here] = ahead[max(-at, 0) :][: joined[here].size]
        return frozen(joined)

    def chance_within(self, n_days: int) -> NDArray[np.float64]:
        """Chance of a damaging night in the 1 to 366 days from each day of the season on.

        The day itself counts; NaN without record.
        """
        if self.climate is None:
            return frozen(np.full(self.season.n_days, np.nan))
        key = station_key(self.threshold_c, self.offset_c)
        climate_within = partial(chance_within, self.climate, key, self.offset_spread_c)
        chances = climate_within(n_days)[self._slots]
        if self.ahead is not None:
            nights, begin = self.ahead.nights, self.season.day_of(self.ahead.season.first)
            slot_after = self.cycle.slot_of(self.ahead.season.date_of(len(nights)))
            for at in range(max(-begin, 0), min(len(nights), self.season.n_days - begin)):
                # the nights of the forecast that are still to come, then the climate of the rest
                coming = nights[at : at + n_days]
                none = math.prod(1 - chance for chance in coming)
                if len(coming) < n_days:
                    none *= 1 - float(climate_within(n_days - len(coming))[slot_after])
                chances[begin + at] = 1 - none
        return frozen(chances)

    def open_within(self, n_days: int) -> NDArray[np.bool_]:
        """Whether a damaging night in the days from each day of the season on is too likely.

        The day itself counts. By own dates, whether the run of days touches an open one.
        """
        if self.climate is None:
            days = (self.season.date_of(day) for day in range(self.season.n_days + n_days))
            is_open = np.array([self.is_open(day) for day in days])
            runs = np.lib.stride_tricks.sliding_window_view(is_open, n_days)
            return frozen(np.asarray(runs[: self.season.n_days].any(axis=1)))
        return frozen(~(self.chance_within(n_days) <= self.tolerance))

    @property
    def windows(self) -> tuple[DaySpan, ...]:
        """Spans of open days inside the season."""
        return spans_of(self.season, self.open)

    @property
    def ever_open(self) -> bool:
        """Whether any day of the year is open, or a forecast opens one."""
        seen = self.ahead is not None and bool(self.ahead.open.any())
        return seen or bool(self.open_by_slot.any())

    @property
    def ever_closed(self) -> bool:
        """Whether the year has a frost-free season that can be relied on."""
        return not self.open_by_slot.all()

    def is_open(self, day: date) -> bool:
        """Whether the window is open on a day, inside the season or not."""
        if self.ahead is not None and day in self.ahead.season:
            return bool(self.ahead.open[self.ahead.season.day_of(day)])
        return bool(self.open_by_slot[self.cycle.slot_of(day)])

    def chance_after(self, day: date) -> float:
        """Chance of another frost on or after a day; NaN without record."""
        if self.ahead is not None and day in self.ahead.season:
            return float(self.ahead.on_or_after[self.ahead.season.day_of(day)])
        return float(self.after_by_slot[self.cycle.slot_of(day)])

    def closes_after(self, day: date) -> date | None:
        """Last day of the open spell that holds ``day``.

        None where the window is closed on that day, or never closes.
        """
        if not self.is_open(day) or not self.ever_closed:
            return None
        while self.is_open(day + timedelta(days=1)):
            day += timedelta(days=1)
        return day

    def opens_on(self, day: date) -> date | None:
        """First open day on or after ``day``; None where the window never opens."""
        days = (day + timedelta(days=n) for n in range(2 * N_SLOTS))
        return next((day for day in days if self.is_open(day)), None)


def risk_of(  # noqa: PLR0913  # one keyword for each thing that a plot's risk rests on
    climate: FrostClimate | None,
    *,
    threshold_c: float,
    offset_c: float,
    tolerance: float,
    season: Season,
    southern: bool,
    offset_spread_c: float = 0.0,
    own_last: str | None = None,
    own_first: str | None = None,
    own_doubt_days: int = 0,
) -> FrostRisk:
    """The frost risk of a plot; what the figures mean stands at ``FrostRisk``.

    The plot's minimum is the station's plus ``offset_c``; a frost is at or below the
    threshold after that, compared in whole hundredths of a degree. The grower's own usual
    dates, MM-DD, and the hemisphere count without a record only. Without record and own dates
    the window is open everywhere; where one of the own dates is missing, it is open on that
    side up to midsummer. In one year of ten the frost is ``own_doubt_days`` beyond them.
    """
    cycle = default_cycle(southern=southern)
    doubt_days = _doubt_days(own_doubt_days, tolerance) if own_last or own_first else 0
    unknown = frozen(np.full(N_SLOTS, np.nan))
    spread_c = round(offset_spread_c, 3)
    risk = FrostRisk(
        threshold_c=threshold_c,
        offset_c=offset_c,
        offset_spread_c=spread_c,
        tolerance=tolerance,
        basis="own dates" if own_last or own_first else "unknown",
        season=season,
        cycle=cycle,
        open_by_slot=_own_open(cycle, own_last, own_first, doubt_days),
        doubt_days=doubt_days,
        after_by_slot=unknown,
        before_by_slot=unknown,
    )
    key = station_key(threshold_c, offset_c)
    answer = answer_of(climate, key, spread_c) if climate is not None else None
    if climate is None or answer is None:
        return risk
    after, before = answer.after_by_slot, answer.before_by_slot
    return replace(
        risk,
        basis="record",
        doubt_days=0,
        cycle=climate.cycle,
        open_by_slot=frozen(window_open(np.arange(N_SLOTS), after, before, tolerance)),
        after_by_slot=after,
        before_by_slot=before,
        n_seasons=answer.dates.n_seasons,
        period=answer.dates.period,
        last_frost=answer.last_frost,
        first_frost=answer.first_frost,
        climate=climate,
    )


def station_key(threshold_c: float, offset_c: float) -> int:
    """The threshold at the station that means ``threshold_c`` at the plot, hundredths of C."""
    return hundredths(threshold_c) - hundredths(offset_c)


def window_open(
    slots: NDArray[np.intp],
    after: NDArray[np.float64],
    before: NDArray[np.float64],
    tolerance: float,
) -> NDArray[np.bool_]:
    """True where the frost window is open, for the days of a year; see ``FrostRisk``."""
    # where frosts are rare, the first may come after the coldest day: from there on only
    # the chance of another counts, or no day would be open although frosts do come
    open_ = (after > tolerance) & ((before > tolerance) | (slots >= N_SLOTS // 2))
    too_short = np.count_nonzero(~open_) < LEAST_FREE_DAYS
    return np.ones_like(open_) if too_short else open_


def _doubt_days(one_in_ten_days: int, tolerance: float) -> int:
    """Days to keep from the grower's own dates, so that frost beyond them is as rare as wanted.

    The dates are taken for the middle of a normal distribution, which the dates of last and first
    frosts are near to (Thom and Shaw 1958, Monthly Weather Review 86; from memory).

    >>> [_doubt_days(14, tolerance) for tolerance in (0.5, 0.1, 0.02)]
    [0, 14, 23]
    """
    share = min(max(tolerance, 0.001), 0.5)
    normal = NormalDist()
    return math.ceil(one_in_ten_days * normal.inv_cdf(1 - share) / normal.inv_cdf(0.9) - 1e-9)


def _own_open(
    cycle: Cycle, own_last: str | None, own_first: str | None, doubt_days: int
) -> NDArray[np.bool_]:
    """(366,) open from the own first to the own last frost; an unknown end is open."""
    slots = np.arange(N_SLOTS)
    last = cycle.slot_of_month_day(own_last) + doubt_days if own_last else N_SLOTS
    first = cycle.slot_of_month_day(own_first) - doubt_days if own_first else 0
    n_closed = first + N_SLOTS - 1 - last
    if first > last or (own_first and own_last and n_closed < LEAST_FREE_DAYS):
        # dates on either side of midsummer the wrong way round, or too near, leave no safe day
        return frozen(np.ones(N_SLOTS, dtype=np.bool_))
    return frozen((slots >= first) & (slots <= last))


def risk_notices(risk: FrostRisk, about: str) -> Iterator[Notice]:
    """Everything that makes the risk of a plot less sure than its figures look.

    What concerns the record itself stands in the notices of the climate.
    """
    if risk.basis == "record":
        yield from _of_record(risk, about)
    elif risk.basis == "unknown":
        says = (
            "No frost dates are known: work that frost could hurt is held back. Name a station "
            "record or your own dates under [frost] in site.toml."
        )
        yield Notice("frost-unknown", Level.WARNING, about, says)
    else:
        wider = f", kept {risk.doubt_days} days from for their doubt" if risk.doubt_days else ""
        says = f"Frost dates are the grower's own{wider}; no chance can be given."
        yield Notice("frost-own-dates", Level.NOTE, about, says)


def _of_record(risk: FrostRisk, about: str) -> Iterator[Notice]:
    least = 0.5 / (risk.n_seasons + 1)
    if least > risk.tolerance:
        says = (
            f"{risk.n_seasons} seasons cannot show a chance below {least:.1%}: with a "
            f"tolerance of {risk.tolerance:.1%} the window never closes."
        )
        yield Notice("frost-tolerance-fine", Level.WARNING, about, says)
    elif not risk.ever_closed:
        says = "No season without frost can be relied on here: the window never closes."
        yield Notice("frost-no-free-season", Level.WARNING, about, says)
    if not risk.ever_open:
        says = f"On every day a frost is at most {risk.tolerance:.0%} likely: never open."
        yield Notice("frost-rare", Level.NOTE, about, says)
    for name, dates in (("last", risk.last_frost), ("first", risk.first_frost)):
        if dates.shifting:
            # to be known, but nothing in the plan is wrong for it: no warning that stands
            days = dates.recent_days or 0
            says = (
                f"The usual {name} frost of the latest {RECENT_SEASONS} seasons comes {abs(days)} "
                f"days {'later' if days > 0 else 'earlier'} than that of the whole period, more "
                f"than its error of {dates.median_error_days:g} days: a shorter period may be "
                "truer."
            )
            yield Notice("frost-dates-shifting", Level.NOTE, about, says)
    if risk.period is not None:
        years = risk.season.first.year - int(risk.period[1][:4])
        if years > OLD_RECORD_YEARS:
            says = f"The record ends with {risk.period[1]}, {years} years before the plan."
            yield Notice("frost-record-old", Level.WARNING, about, says)
