"""How much of the crew's time is kept spare for rain, month by month.

The share of days with too much rain for work outdoors, among all days of a calendar month that
the record has rain for, is the share of everybody's hours not to count on there. It shortens the
days and closes none: which days it will rain on nobody knows when the season is planned. It goes
by the month and in steps of 5 %: finer the record cannot tell, a plan would change with each
year added to it, and the roster looks at few kinds of day.
"""

from collections.abc import Iterator
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
        wet_mm: rain of a day, at or above which nobody works outdoors.
        least: days of a month below which it tells nothing.
        first: first day with rain read, and ``last`` the last.
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

    def worked(self, season: Season) -> NDArray[np.float64]:
        """(n_days,) the share of the hours that is left to plan with."""
        return 1.0 - self.shares[_months(season)]


def spare_time_of(holding: Holding) -> SpareTime:
    """The grower's own statement, else what the record says, else nothing."""
    figure, stated = holding.rules.figure, holding.crew.spare_share
    rain = rain_days(holding.record, figure("rain-stops-work"), figure("rain-days-least"))
    basis, shares = None, np.zeros(MONTHS)
    if stated is not None:
        basis, shares = Basis.PLANNED, np.full(MONTHS, stated)
    elif rain is not None and rain.told.any():
        basis, shares = Basis.MEASURED, np.nan_to_num(kept_of(rain))
    return SpareTime(basis, frozen(shares), rain, figure("spare-usual"))


def kept_of(rain: RainDays) -> NDArray[np.float64]:
    """(12,) shares that the record would keep, capped; NaN where it tells nothing."""
    return np.minimum(in_steps(rain.shares), fields.MOST_SPARE)


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
    read = np.flatnonzero(~np.isnan(record.rain_mm))
    if not read.size:
        return None
    months = _months(record.season)[read]
    return RainDays(
        name=record.name,
        wet_mm=wet_mm,
        least=least,
        first=record.season.date_of(read[0]),
        last=record.season.date_of(read[-1]),
        n_days=frozen(np.bincount(months, minlength=MONTHS)),
        n_wet=frozen(np.bincount(months[record.rain_mm[read] >= wet_mm], minlength=MONTHS)),
    )


def _months(season: Season) -> NDArray[np.intp]:
    """(n_days,) calendar month of each day, 0 to 11."""
    days = np.datetime64(season.first, "D") + np.arange(season.n_days)
    return np.asarray(days.astype("datetime64[M]").astype(np.intp) % MONTHS)


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
            "There is no rain allowance: site.toml names no record with rain under stations. To "
            f"allow for rain, set spare_share = {spare.usual:g} at the head of crew.toml "
            "(a usual share; common practice, no source), or add a column rain_mm to the record."
        )
    if spare.basis is None:
        return (
            f"There is no rain allowance: fewer than {rain.least:g} days of each calendar month "
            "have their rain read, too few to go by. spare_share in crew.toml would set a share."
        )
    silent, capped = (
        ", ".join(month_words(month) for month in (np.flatnonzero(of) + 1).tolist())
        for of in (~rain.told, in_steps(rain.shares) > fields.MOST_SPARE)
    )
    says = (
        f"Rain allowance from your record: {_range_words(rain, spare.shares)}; about so many of "
        f"the days from {rain.first.year} to {rain.last.year} ({int(rain.n_days.sum())} with "
        f"their rain read) had {rain.wet_mm:g} mm or more. spare_share in crew.toml would set "
        "your own share."
    )
    if capped:
        says += (
            f" It rains so much on more days in {capped}, but more than "
            f"{share_words(fields.MOST_SPARE)} is never allowed for: work there may well take "
            "longer."
        )
    if silent:
        says += (
            f" Fewer than {rain.least:g} days of {silent} have their rain read: no rain "
            "allowance there."
        )
    return says


def _stated_words(share: float, rain: RainDays | None) -> str:
    """The grower's own figure, with the record's beside it."""
    kept = f"{share_words(share)} of the crew's hours" if share else "none"
    says = f"Rain allowance as you set it: {kept}, all year (spare_share in crew.toml)"
    if rain is not None and rain.told.any():
        by_rain = _range_words(rain, kept_of(rain))
        return f"{says}. By the rain of your record it would be {by_rain}."
    return f"{says}." if share else ""


def share_words(share: float) -> str:
    """A share in per cent, as precisely as a grower states it.

    >>> share_words(0.14), share_words(0.125)
    ('14 %', '12.5 %')
    """
    return f"{round(100 * share, 2):g} %"


def _range_words(rain: RainDays, shares: NDArray[np.float64]) -> str:
    """The wettest and the driest of the months that tell something."""
    months = np.flatnonzero(rain.told)
    most, least = months[np.argmax(shares[months])], months[np.argmin(shares[months])]
    return (
        f"{share_words(float(shares[most]))} of the hours in {month_words(most + 1)} down to "
        f"{share_words(float(shares[least]))} in {month_words(least + 1)}"
    )
