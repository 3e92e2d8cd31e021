"""The site's own evenings: what the night model is fitted on.

The file is CSV with the columns ``date,temperature_c,dew_point_c,tmin_c``: the day on
whose morning the night ended, temperature and dew point two hours after sunset, and the
minimum that followed, degrees C. ``humidity_pct`` may stand in for the dew point. Only
nights of radiation belong in it: clear, wind below 2 m/s, no fog, no rain.
"""

from collections.abc import Iterable
from typing import Annotated

import numpy as np
from annotated_types import Gt, Le
from numpy.typing import NDArray

from scheduler.frost.night import dew_point_c
from scheduler.frost.rows import checked_rows
from scheduler.holding import Fault
from scheduler.holding.fields import Celsius, Day, table
from scheduler.terms import frozen


@table
class EveningRow:
    """One night: the evening before, and the minimum; one of the two humidities is needed."""

    date: Day
    temperature_c: Celsius
    dew_point_c: Celsius | None = None
    humidity_pct: Annotated[float, Gt(0), Le(100)] | None = None
    tmin_c: Celsius


def read_evenings(
    name: str, lines: Iterable[str]
) -> tuple[NDArray[np.float64] | None, list[Fault]]:
    """Read a file of evenings and the minima that followed.

    Args:
        name: file name, for the faults.
        lines: the text.

    Returns:
        (n_nights, 3) temperature, dew point and minimum, degrees C, as
        ``fit_night_model`` takes them, and no faults; or None and the faults.
    """
    rows, row_names, faults = checked_rows(name, lines, EveningRow)
    faults += [
        Fault(name, row_name, "dew_point_c", "nothing", "a dew point, or humidity_pct")
        for row, row_name in zip(rows, row_names, strict=True)
        if row.dew_point_c is None and row.humidity_pct is None
    ]
    if faults:
        return None, faults
    nights = [(row.temperature_c, _dew_point_c(row), row.tmin_c) for row in rows]
    return frozen(np.array(nights, dtype=np.float64).reshape(-1, 3)), []


def _dew_point_c(row: EveningRow) -> float:
    if row.dew_point_c is not None:
        return row.dew_point_c
    assert row.humidity_pct is not None
    return dew_point_c(row.temperature_c, row.humidity_pct)
