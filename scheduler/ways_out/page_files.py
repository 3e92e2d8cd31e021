"""Pages into a folder: each whole or not at all, unchanged ones left as they are."""

from collections.abc import Iterable
from pathlib import Path

from scheduler.files import SHARED_FILE, write_whole
from scheduler.pages import Page


def write_pages(pages: Iterable[Page], picture: bytes, folder: Path) -> int:
    """Write pages and the same rows as JSON; pages of days that are gone are taken away.

    Args:
        pages: all that the folder is to hold.
        picture: the season as an SVG file.
        folder: made where it is not there.

    Returns:
        How many files are new or changed.

    Raises:
        OSError: the folder is read-only or the disk is full; old files stand.
    """
    folder.mkdir(parents=True, exist_ok=True)
    files = {"season.svg": picture}
    for page in pages:
        files |= {f"{page.name}.html": page.html, f"{page.name}.json": page.data}
    changed = sum(write_whole(folder / name, data, SHARED_FILE) for name, data in files.items())
    for path in folder.glob("day-????-??-??.*"):
        if path.name not in files:
            path.unlink()
    return changed
