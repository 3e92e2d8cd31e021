"""Checked rows of the small CSV files: forecasts and evenings."""

from collections.abc import Iterable
from typing import TypeVar

from scheduler.files.faults import Fault, validated
from scheduler.files.tables import rows_of_csv

_T = TypeVar("_T")


def checked_rows(
    name: str, lines: Iterable[str], shape: type[_T]
) -> tuple[tuple[_T, ...], list[str], list[Fault]]:
    """Read and check the rows of a CSV file.

    Args:
        name: file name, for the faults.
        lines: the text.
        shape: the class of a row, made by ``fields.table``.

    Returns:
        The rows, their names such as ``row 7``, and the faults; no rows where there is a
        fault.
    """
    rows, row_names, faults = rows_of_csv(name, "\n".join(lines), shape)
    if faults:
        return (), [], faults
    # all at once first: years of old forecasts are checked in one go
    checked, wrong = validated(tuple[shape, ...], rows, name)  # type: ignore[valid-type]  # the shape is an argument
    if not wrong:
        return tuple(checked or ()), row_names, []
    named = (
        fault
        for row, row_name in zip(rows, row_names, strict=True)
        for fault in validated(shape, row, name, row=row_name)[1]
    )
    return (), [], list(named)
