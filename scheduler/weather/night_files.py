"""Files of nights that the grower keeps: forecasts of minima, and clear evenings.

A forecast file is CSV with the columns ``issued,date,tmin_c``: the day on whose evening the
forecast was made, the day on whose morning the minimum falls, and the minimum at the
station in degrees C. Old forecasts stay in the file: from enough of them and what came of
them the site's own error is learned.

A file of evenings, which the site's night model is fitted on, is CSV with the columns
``date,temperature_c,dew_point_c,tmin_c``: the day on whose morning the night ended, temperature
and dew point two hours after sunset, and the minimum that followed, degrees C, all read at the
station. ``humidity_pct`` may stand in for the dew point. Only nights of radiation belong in it:
clear, wind below 2 m/s, no fog, no rain.

Lines that begin with ``#`` are comments; ``_f`` in place of ``_c`` in a name means degrees F.
"""

from collections import Counter
from collections.abc import Iterable, Sequence
from typing import Annotated

from annotated_types import Gt, Le

from scheduler.files import Fault, FaultyFilesError, checked_rows, fields


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
    nights, places, faults = checked_rows(name, lines, ForecastNight)
    faults += [
        where.fault("date", f"{night.date}", f"a day after that of issue, {night.issued}")
        for night, where in zip(nights, places, strict=True)
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


NIGHT_HEADER = "issued,date,tmin_c"


def with_nights(old: bytes, name: str, nights: Sequence[tuple[str, str, str]]) -> bytes:
    """A forecast file with more nights; those of the same issue and day are taken out first.

    Of each the day of issue, the day and the minimum, as the file has them.

    Raises:
        FaultyFilesError: its columns are others, or in another order.
    """
    lines = old.decode("utf-8-sig").splitlines(keepends=True)
    head = _night_header(lines, name)
    end = "\r\n" if head.endswith("\r\n") else "\n"
    again = tuple(f"{issued},{day}," for issued, day, _ in nights)
    kept = "".join(line for line in lines if not line.startswith(again))
    gap = "" if kept.endswith("\n") else end
    mark = "\ufeff" if old.startswith(b"\xef\xbb\xbf") else ""
    return f"{mark}{kept}{gap}{''.join(','.join(night) + end for night in nights)}".encode()


def _night_header(lines: Sequence[str], name: str) -> str:
    head = next((line for line in lines if line.strip() and not line.startswith("#")), "")
    if head.strip() != NIGHT_HEADER:
        found = head.strip()[:60] or "nothing"
        allowed = f"the columns {NIGHT_HEADER}, to add nights from here"
        raise FaultyFilesError([Fault(name, "header", "", found, allowed)])
    return head


@fields.table
class Evening:
    """One night: the evening before, and the minimum; one of the two humidities is needed."""

    date: fields.Day
    temperature_c: fields.Celsius
    dew_point_c: fields.Celsius | None = None
    humidity_pct: Annotated[float, Gt(0), Le(100)] | None = None
    tmin_c: fields.Celsius


def read_evenings(
    name: str, lines: Iterable[str]
) -> tuple[tuple[Evening, ...] | None, list[Fault]]:
    """The evenings of a file and no faults, or None and the faults."""
    rows, places, faults = checked_rows(name, lines, Evening)
    faults += [
        where.fault("dew_point_c", "nothing", "a dew point, or humidity_pct")
        for row, where in zip(rows, places, strict=True)
        if row.dew_point_c is None and row.humidity_pct is None
    ]
    return (None, faults) if faults else (rows, [])
