"""Tables from outside the project, and the library's own slow search as an oracle."""

import csv
import re
from collections.abc import Callable, Iterator
from contextlib import closing
from datetime import UTC, datetime, timedelta
from importlib.resources import as_file, files
from pathlib import Path
from typing import Any

import pytest
from skyfield.iokit import Loader
from skyfield.jpllib import SpiceKernel

Rows = list[dict[str, str]]
TABLES = Path(__file__).parents[2] / "../shared/reference/data/sky"


@pytest.fixture(scope="session")
def table() -> Callable[[str], Rows]:
    """Read a reference table by name; the test is skipped where it is not at hand."""

    def read(name: str) -> Rows:
        path = TABLES / name
        if not path.exists():
            pytest.skip(f"the reference table {name} is not at hand")
        with path.open(newline="", encoding="utf-8") as lines:
            return list(csv.DictReader(lines))

    return read


@pytest.fixture(scope="session")
def wheel_lines() -> Callable[[str], list[str]]:
    """Lines of a US Naval Observatory table that the ephem wheel carries in its tests."""

    def read(name: str) -> list[str]:
        path = files("ephem") / "tests" / "usno" / name
        return path.read_text(encoding="utf-8").splitlines()

    return read


@pytest.fixture(scope="session")
def one_year_table(
    wheel_lines: Callable[[str], list[str]],
) -> Callable[[str, int], tuple[list[datetime], list[datetime]]]:
    """Read a page "Rise and Set for ..." in Eastern Standard Time: rises and sets in UTC."""

    def read(name: str, year: int) -> tuple[list[datetime], list[datetime]]:
        found: tuple[list[datetime], list[datetime]] = ([], [])
        for line in wheel_lines(name):
            if not re.match(r"\d\d  ", line):
                continue
            for month in range(1, 13):
                cells = line[4 + 11 * (month - 1) :][:9]
                for times, cell in zip(found, (cells[:4], cells[5:9]), strict=True):
                    if cell.strip():
                        eastern = datetime(
                            year, month, int(line[:2]), int(cell[:2]), int(cell[2:]), tzinfo=UTC
                        )
                        times.append(eastern + timedelta(hours=5))
        return sorted(found[0]), sorted(found[1])

    return read


@pytest.fixture(scope="session")
def skyfield_scale() -> Any:
    """The library's own timescale."""
    return Loader(".").timescale(builtin=True)


@pytest.fixture(scope="session")
def kernel() -> Iterator[Any]:
    """The library's own way to the ephemeris, for use as an oracle."""
    with (
        as_file(files("skyfield_data") / "data" / "de421.bsp") as path,
        closing(SpiceKernel(str(path))) as opened,
    ):
        yield opened
