"""How much of the crew's time is kept spare for rain, month by month.

A day with enough rain is no day for heavy work outdoors. The share of such days among all
days of a calendar month that the station's record has rain for is the share of everybody's
hours that a plan had better not count on there. It shortens the days and closes none: which
days it will rain on nobody knows when the season is planned. What is kept goes by the month and
in steps of 5 %: finer the record cannot tell, a plan would change with each year added to it,
and the roster looks at few kinds of day.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from scheduler.files import fields
from scheduler.holding import Holding
from scheduler.terms import Basis, Level, Notice, Season, frozen, month_words
from scheduler.weather import Record

MONTHS = 12
SPARE_STEP = 0.05  # of what is kept spare
SPARE_CODE = "spare-time"


@dataclass(frozen=True, eq=False)
class RainDays:
    """Days of each calendar month, January first, and how many of them were too wet.

    Args:
        name: the record.
        wet_mm: rain of a day, at or above which nobody works outdoors.
        least: days of a month below which it tells nothing.
        first: first day with rain read.
        last: last such day.
        n_days: (12,) days with rain read, all years together; days without do not count.
        n_wet: (12,) those of them that were too wet.
    """

    name: str
    wet_mm: float
    least: float
    first: date
    last: date
    n_days: NDArray[np.intp]
    n_wet: NDArray[np.intp]

    @property
    def told(self) -> NDArray[np.bool_]:
        """(12,) months of which enough days were read."""
        return np.asarray((self.n_days >= self.least) & (self.n_days > 0))

    @property
    def shares(self) -> NDArray[np.float64]:
        """(12,) share of days too wet, in whole per cents; NaN where too few were read."""
        counted = np.where(self.told, self.n_days, 1)
        whole = np.floor(100 * self.n_wet / counted + 0.5) / 100
        return np.where(self.told, whole, np.nan)


@dataclass(frozen=True, eq=False)
class SpareTime:
    """What share of everybody's hours a plan leaves free in each calendar month.

    Args:
        basis: planned where the grower states it, measured where the record does; None where
            neither says anything.
        shares: (12,) of the hours, January first, 0 to 0.5.
        rain: what the record says of rain; None where it has none.
        usual: the share that growers keep who go by no record.
    """

    basis: Basis | None
    shares: NDArray[np.float64]
    rain: RainDays | None
    usual: float

    def share_on(self, day: date) -> float:
        """The share kept free on a day."""
        return float(self.shares[day.month - 1])

    def worked(self, season: Season) -> NDArray[np.float64]:
        """(n_days,) the share of the hours that is left to plan with."""
        return 1.0 - self.shares[_months(np.datetime64(season.first, "D"), season.n_days)]

    @property
    def capped(self) -> tuple[int, ...]:
        """Months, 1 to 12, whose rain would take more than may be kept spare."""
        if self.rain is None or self.basis is not Basis.MEASURED:
            return ()
        return tuple((np.flatnonzero(in_steps(self.rain.shares) > fields.MOST_SPARE) + 1).tolist())


def spare_time_of(holding: Holding) -> SpareTime:
    """The grower's own statement, else what the record says, else nothing."""
    rules, stated = holding.rules, holding.crew.spare_share
    usual = rules.figure("spare-usual")
    rain = rain_days(
        holding.record, rules.figure("rain-stops-work"), rules.figure("rain-days-least")
    )
    if stated is not None:
        return SpareTime(Basis.PLANNED, frozen(np.full(MONTHS, stated)), rain, usual)
    if rain is None or not rain.told.any():
        return SpareTime(None, frozen(np.zeros(MONTHS)), rain, usual)
    shares = np.minimum(np.nan_to_num(in_steps(rain.shares)), fields.MOST_SPARE)
    return SpareTime(Basis.MEASURED, frozen(shares), rain, usual)


def in_steps(shares: NDArray[np.float64]) -> NDArray[np.float64]:
    """Shares in steps of 5 %, halves up; NaN stays.

    >>> in_steps(np.array([0.02, 0.03, 0.12, 0.125, 0.52])).tolist()
    [0.0, 0.05, 0.1, 0.15, 0.5]
    """
    return np.round(np.floor(shares / SPARE_STEP + 0.5) * SPARE_STEP, 2)


def rain_days(record: Record | None, wet_mm: float, least: float) -> RainDays | None:
    """Count the days too wet to work, by calendar month; None without any rain read."""
    if record is None or record.rain_mm is None:
        return None
    known = np.flatnonzero(~np.isnan(record.rain_mm))
    if not known.size:
        return None
    first = np.datetime64(record.season.first, "D")
    months = _months(first, record.season.n_days)[known]
    wet = record.rain_mm[known] >= wet_mm
    return RainDays(
        record.name,
        wet_mm,
        least,
        record.season.date_of(known[0]),
        record.season.date_of(known[-1]),
        frozen(np.bincount(months, minlength=MONTHS)),
        frozen(np.bincount(months[wet], minlength=MONTHS)),
    )


def _months(first: np.datetime64, n_days: int) -> NDArray[np.intp]:
    """(n_days,) calendar month of each day, 0 to 11."""
    months = (first + np.arange(n_days)).astype("datetime64[M]").astype(np.intp)
    return np.asarray(months % MONTHS)


def spare_notices(spare: SpareTime) -> Iterator[Notice]:
    """How much time is kept spare and why, as a note: to keep none may be meant."""
    says = spare_words(spare)
    if says:
        yield Notice(SPARE_CODE, Level.NOTE, "crew.toml", says)


def spare_words(spare: SpareTime) -> str:
    """How much time is kept spare, and what that rests on.

    Empty where the grower says that none is, and no record says otherwise.
    """
    rain = spare.rain
    if spare.basis is Basis.PLANNED:
        return _stated_words(float(spare.shares[0]), rain)
    if rain is None:
        return (
            "No time is kept spare for rain: no record with rain stands under stations in "
            f"site.toml. To keep some, say spare_share = {spare.usual:g} at the head of crew.toml "
            "(a usual share; common practice, no source), or add a column rain_mm to the record."
        )
    if spare.basis is None:
        return (
            f"No time is kept spare: fewer than {rain.least:g} days of each calendar month have "
            "their rain read, too few to go by. spare_share in crew.toml would set a share."
        )
    told = (
        f"Spare time from your record: {_range_words(rain, spare.shares)}; about so many of the "
        f"days from {rain.first.year} to {rain.last.year} ({int(rain.n_days.sum())} with their "
        f"rain read) had {rain.wet_mm:g} mm or more. spare_share in crew.toml would set your own "
        "share.",
        *_limit_words(spare, rain),
    )
    return " ".join(told)


def _stated_words(share: float, rain: RainDays | None) -> str:
    """The grower's own figure, with the record's beside it."""
    measured = rain is not None and rain.told.any()
    if not share and not measured:
        return ""
    kept = f"{share_words(share)} of the crew's hours" if share else "none"
    told = f"Spare time by your own word: {kept}, all year (spare_share in crew.toml)"
    if rain is not None and measured:
        learned = np.minimum(in_steps(rain.shares), fields.MOST_SPARE)
        told += f". By the rain of your record it would be {_range_words(rain, learned)}"
    return f"{told}."


def share_words(share: float) -> str:
    """A share in per cent, as precisely as a grower states it.

    >>> share_words(0.14), share_words(0.125)
    ('14 %', '12.5 %')
    """
    return f"{round(100 * share, 2):g} %"


def _range_words(rain: RainDays, shares: NDArray[np.float64]) -> str:
    """The wettest and the driest of the months that tell something."""
    months = np.flatnonzero(rain.told)
    ends = (months[np.argmax(shares[months])], months[np.argmin(shares[months])])
    most, least = (f"{share_words(float(shares[at]))}|{month_words(at + 1)}" for at in ends)
    return f"{most.replace('|', ' of the hours in ')} down to {least.replace('|', ' in ')}"


def _limit_words(spare: SpareTime, rain: RainDays) -> Iterator[str]:
    """Where the record's shares are cut down, and where it tells nothing."""
    if spare.capped:
        yield (
            f"It rains so much on more days in {_listed(spare.capped)}, but more than "
            f"{share_words(fields.MOST_SPARE)} is never kept spare: work there may well take "
            "longer."
        )
    silent = (np.flatnonzero(~rain.told) + 1).tolist()
    if silent:
        yield (
            f"Fewer than {rain.least:g} days of {_listed(silent)} have their rain read: no time "
            "is kept spare there."
        )


def _listed(months: Sequence[int]) -> str:
    return ", ".join(month_words(month) for month in months)
