"""Many holdings on one page: what is due this week, frost, and what wants an answer."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from scheduler.pages.rendering import Page, Rows, page


@dataclass(frozen=True, slots=True)
class HoldingRow:
    """One holding."""

    name: str  # its name; of one that could not be read, its folder
    href: str  # its own pages, seen from this one; empty where there are none
    this_week: tuple[tuple[date, tuple[str, ...]], ...]  # days with work, and the work
    frost: tuple[str, ...]  # plots whose frost window is open, and until when
    answers: tuple[str, ...]  # warnings, the worst first
    fault: str  # why nothing could be planned; empty where it could


def holding_row(front: Rows, href: str) -> HoldingRow:
    """The row of a holding, from the rows of its front page."""
    days = front["days"] if front["this_week"] else ()
    return HoldingRow(
        name=front["site"],
        href=href,
        this_week=tuple((day.day, day.work) for day in days),
        frost=tuple(
            f"{row['plot']} {row['state'].removeprefix('frost risk ')}"
            for row in front["frost"]
            if row["is_open"]
        ),
        answers=front["answers"],
        fault="",
    )


def overview_page(rows: Iterable[HoldingRow], as_of: date) -> Page:
    """The page of all holdings, and its rows as JSON."""
    holdings = tuple(sorted(rows, key=_order))
    sheet = {
        "as_of": as_of,
        "n_due": sum(bool(row.this_week) for row in holdings),
        "n_frost": sum(bool(row.frost) for row in holdings),
        "n_answers": sum(bool(row.answers) for row in holdings),
        "n_faults": sum(bool(row.fault) for row in holdings),
        "holdings": holdings,
    }
    return page("overview", f"{len(holdings)} holdings", "overview.html", sheet, links=())


def _order(row: HoldingRow) -> tuple[bool, date, str]:
    first = row.this_week[0][0] if row.this_week else date.max
    return not row.fault, first, row.name
