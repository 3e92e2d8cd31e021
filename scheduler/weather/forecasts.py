"""Forecasts of nightly minima, as the grower keeps them.

The file is CSV with the columns ``issued,date,tmin_c``: the day on whose evening the
forecast was made, the day on whose morning the minimum falls, and the minimum at the
station in degrees C. Old forecasts stay in the file: from enough of them and what came of
them the site's own error is learned. Lines that begin with ``#`` are comments.
``tmin_f`` in degrees F may stand for tmin_c.
"""

from collections import Counter
from collections.abc import Iterable

from scheduler.files import Fault, checked_rows, fields


@fields.table
class ForecastNight:
    """One night of one forecast: issued on an evening, for the minimum of a later morning."""

    issued: fields.Day
    date: fields.Day
    tmin_c: fields.Celsius

    @property
    def lead(self) -> int:
        """Nights ahead; the coming night is 1."""
        return (self.date - self.issued).days


def read_forecast(
    name: str, lines: Iterable[str]
) -> tuple[tuple[ForecastNight, ...] | None, list[Fault]]:
    """The nights of a file in order of issue and day and no faults, or None and the faults."""
    nights, row_names, faults = checked_rows(name, lines, ForecastNight)
    faults += [
        Fault(name, row, "date", f"{night.date}", f"a day after that of issue, {night.issued}")
        for night, row in zip(nights, row_names, strict=True)
        if night.lead < 1
    ]
    faults += [
        Fault(name, "", "date", f"{day} as of {issued} {n} times", "one value a night and issue")
        for (issued, day), n in Counter((night.issued, night.date) for night in nights).items()
        if n > 1
    ]
    if faults:
        return None, faults
    return tuple(sorted(nights, key=lambda night: (night.issued, night.date))), []
