"""The overview of all holdings, beside their calendars."""

import os
from collections.abc import Iterable
from datetime import date
from pathlib import Path

from scheduler.files import SHARED_FILE
from scheduler.many.site_job import SiteOutcome
from scheduler.pages import HoldingRow, holding_row, overview_page
from scheduler.ways_out import write_page_files


def write_overview(outcomes: Iterable[SiteOutcome], folder: Path, as_of: date) -> Path:
    """Write ``overview.html`` and the same rows as ``overview.json``.

    Raises:
        ForeignPageError: something else stands there.
        OSError: the folder cannot be written.
    """
    rows = (_row(outcome, folder) for outcome in outcomes)
    write_page_files([overview_page(rows, as_of)], {}, folder, SHARED_FILE)
    return folder / "overview.html"


def _row(outcome: SiteOutcome, folder: Path) -> HoldingRow:
    if outcome.front is None:
        return HoldingRow(outcome.folder, "", (), (), (), outcome.says)
    href = ""
    if outcome.pages:
        href = Path(os.path.relpath(Path(outcome.pages) / "index.html", folder)).as_posix()
    return holding_row(outcome.front, href)
