"""Pages into a folder: each whole or not at all, unchanged ones left as they are.

Decided: a page bears a mark, and only what bears it is written over or taken away. Held by
tests/pages/test_page_files.py::test_what_somebody_else_put_there_is_never_touched.
"""

import os
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from types import MappingProxyType

from scheduler.files import SHARED_FILE, write_whole
from scheduler.pages import (
    MARK,
    CalendarLink,
    Page,
    drawn_pages,
    owner_pages,
    person_pages,
    season_picture,
)
from scheduler.reasons import SeasonPlan
from scheduler.ways_out.folder import State, Written


class ForeignPageError(Exception):
    """A file of somebody else stands where a page is to be written."""


def write_owner_pages(
    plan: SeasonPlan,
    feeds: Sequence[Written],
    folder: Path,
    address_of: Mapping[Path, str] = MappingProxyType({}),
    mode: int = SHARED_FILE,
) -> int:
    """Write all pages of a holding; see ``write_page_files`` for what is refused.

    Args:
        plan: the season.
        feeds: its calendars, as they were written.
        folder: made where it is not there.
        address_of: where phones find a calendar, http or https, by its file.
        mode: access of new files.

    Returns:
        How many files are new or changed.
    """
    calendars = [_link(feed, folder, address_of) for feed in standing(feeds)]
    pages = drawn_pages(owner_pages(plan, calendars))
    return write_page_files(pages, {"season.svg": season_picture(plan)}, folder, mode)


def write_person_pages(
    plan: SeasonPlan, person: str | None, feed: Written, address_of: Mapping[Path, str], mode: int
) -> int:
    """Write the pages of one person beside their calendar; of None, or without it, take them."""
    folder = feed.path.parent
    calendars = [_link(each, folder, address_of) for each in standing([feed])]
    pages: tuple[Page, ...] = ()
    if person is not None and calendars:
        pages = drawn_pages(person_pages(plan, person, calendars))
    return write_page_files(pages, {}, folder, mode)


def standing(feeds: Iterable[Written]) -> tuple[Written, ...]:
    """The calendars that can be subscribed to."""
    return tuple(feed for feed in feeds if feed.state is not State.REMOVED)


def _link(feed: Written, folder: Path, address_of: Mapping[Path, str]) -> CalendarLink:
    address = address_of.get(feed.path, "")
    href = address or Path(os.path.relpath(feed.path, folder)).as_posix()
    return CalendarLink(feed.title, href, address)


def write_page_files(
    pages: Iterable[Page], files: Mapping[str, bytes], folder: Path, mode: int
) -> int:
    """Write pages, the same rows as JSON, and more; pages no longer wanted are taken away.

    Raises:
        ForeignPageError: a file there is not one of our pages; nothing is written.
        OSError: the folder is read-only or the disk is full; old files are kept.
    """
    folder.mkdir(parents=True, exist_ok=True)
    files = {**files}
    for page in pages:
        files |= {f"{page.name}.html": page.html, f"{page.name}.json": page.data}
    ours = {path.stem for path in folder.glob("*.html") if MARK in path.read_bytes()}
    for name in files:
        if (folder / name).exists() and Path(name).stem not in ours:
            raise ForeignPageError(f"{folder / name}: not a page of ours, so it is left alone")
    changed = sum(write_whole(folder / name, data, mode) for name, data in files.items())
    for stem in sorted(ours - {Path(name).stem for name in files}):
        for ending in (".html", ".json"):
            (folder / f"{stem}{ending}").unlink(missing_ok=True)
    return changed
