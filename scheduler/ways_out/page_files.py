"""Pages into a folder: each whole or not at all, unchanged ones left as they are.

Decided: a page bears a mark, and only what bears it is written over or taken away. Held by
tests/pages/test_page_files.py::test_what_somebody_else_put_there_is_never_touched.
"""

from collections.abc import Iterable
from pathlib import Path

from scheduler.files import SHARED_FILE, write_whole
from scheduler.pages import MARK, Page


class ForeignPageError(Exception):
    """A file of somebody else stands where a page is to be written."""


def write_pages(pages: Iterable[Page], picture: bytes, folder: Path) -> int:
    """Write pages and the same rows as JSON; pages that are no longer wanted are taken away.

    Args:
        pages: all that the folder is to hold.
        picture: the season as an SVG file.
        folder: made where it is not there.

    Returns:
        How many files are new or changed.

    Raises:
        ForeignPageError: a file there is not one of our pages; nothing is written.
        OSError: the folder is read-only or the disk is full; old files are kept.
    """
    folder.mkdir(parents=True, exist_ok=True)
    files = {"season.svg": picture}
    for page in pages:
        files |= {f"{page.name}.html": page.html, f"{page.name}.json": page.data}
    ours = {path.stem for path in folder.glob("*.html") if MARK in path.read_bytes()}
    for name in files:
        if (folder / name).exists() and Path(name).stem not in ours:
            raise ForeignPageError(f"{folder / name}: not a page of ours, so it is left alone")
    changed = sum(write_whole(folder / name, data, SHARED_FILE) for name, data in files.items())
    for stem in sorted(ours - {Path(name).stem for name in files}):
        for ending in (".html", ".json"):
            (folder / f"{stem}{ending}").unlink(missing_ok=True)
    return changed
