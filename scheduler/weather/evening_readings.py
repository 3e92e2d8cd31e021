"""The site's own evenings: what its night model is fitted on.

The file is CSV with the columns ``date,temperature_c,dew_point_c,tmin_c``: the day on
whose morning the night ended, temperature and dew point two hours after sunset, and the
minimum that followed, degrees C, all read at the station. ``humidity_pct`` may stand in for
the dew point, and ``_f`` in a name for degrees F. Only nights of radiation belong in it: clear,
wind below 2 m/s, no fog, no rain.
"""

from collections.abc import Iterable
from typing import Annotated

from annotated_types import Gt, Le

from scheduler.files import Fault, checked_rows, fields


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
    rows, row_names, faults = checked_rows(name, lines, Evening)
    faults += [
        Fault(name, row_name, "dew_point_c", "nothing", "a dew point, or humidity_pct")
        for row, row_name in zip(rows, row_names, strict=True)
        if row.dew_point_c is None and row.humidity_pct is None
    ]
    return (None, faults) if faults else (rows, [])
