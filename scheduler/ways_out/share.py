"""A folder that any web host or synced folder can serve: ``<token>/<slug>.ics``.

Whoever knows the address of a feed can read it, so each feed has a folder of its own with
a name that nobody can guess (192 bits). That name is the only secret and is kept nowhere
else: the folder is its own memory.
"""

import re
import secrets
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from scheduler.calendars import Feed, person_feeds
from scheduler.files import PRIVATE_FILE, PRIVATE_FOLDER, locked
from scheduler.reasons import SeasonPlan
from scheduler.ways_out.address import web_address
from scheduler.ways_out.folder import Manner, Written, write_ready
from scheduler.ways_out.page_files import write_owner_pages, write_page_files, write_person_pages

TOKEN_BYTES = 24
TOKEN = re.compile(r"[A-Za-z0-9_-]{32}")
PAGES, ALL = "pages", "all"


class ShareError(Exception):
    """The folder or address cannot be used as asked."""


@dataclass(frozen=True, slots=True)
class Shared:
    """What stands under private links."""

    folder: Path  # below which they stand
    feeds: tuple[Written, ...]  # the calendars
    pages: Path  # folder for the owner's pages
    address_of: dict[Path, str]  # where phones find a calendar; empty where no address was given


def share_feeds(
    feeds: Sequence[Feed],
    folder: Path,
    manner: Manner,
    *,
    address: str = "",
    new_token: Sequence[str] = (),
) -> Shared:
    """Write feeds below a folder, each under its own secret name.

    Args:
        feeds: the calendars of one site.
        folder: made if need be; other sites may share it.
        manner: how.
        address: where the folder can be reached, ``https://...``; empty gives no addresses.
        new_token: names of feeds that get a new address, ``pages``, or ``all``; the old ones end.

    Raises:
        ShareError: the address is no web address, a feed to renew is not among the feeds,
            or one feed stands twice.
        ForeignFeedError, LossError, BusyError, OSError: see ``write_feeds``.
    """
    try:
        base = str(web_address(address)).rstrip("/") if address else ""
    except ValueError as error:
        raise ShareError(str(error)) from error
    names = {feed.name for feed in feeds} | {PAGES}
    if wrong := sorted(set(new_token) - names - {ALL}):
        raise ShareError(f"no feed is called {wrong[0]!r}; there are {', '.join(sorted(names))}")
    renewed = names if ALL in new_token else set(new_token)
    site_id = feeds[0].site_id
    folder.mkdir(parents=True, exist_ok=True, mode=PRIVATE_FOLDER)
    with locked(folder):
        _sweep(folder)
        places = [
            (feed, _place(folder, f"{site_id}-{feed.name}.ics", renew=feed.name in renewed))
            for feed in feeds
        ]
        try:
            written = write_ready(places, _files_of(site_id, folder), manner, PRIVATE_FILE)
        finally:
            _sweep(folder)
        pages = _place(folder, f"{site_id}-{PAGES}", renew=PAGES in renewed)
        pages.mkdir(exist_ok=True, mode=PRIVATE_FOLDER)
    addresses = {
        feed.path: f"{base}/{feed.path.parent.name}/{feed.path.name}" for feed in written if base
    }
    return Shared(folder, written, pages, addresses)


def share_pages(plan: SeasonPlan, shared: Shared) -> None:
    """Write the owner's pages under their private link, and each person's own beside their feed.

    Raises:
        ForeignPageError, BusyError, OSError: a page cannot be written.
    """
    site_id, people = plan.placed.holding.site.id, person_feeds(plan.placed.holding.crew)
    with locked(shared.folder):
        for feed in shared.feeds:
            # whoever has left, or has another name now, has no pages any more
            person = people.get(feed.path.stem.removeprefix(f"{site_id}-"))
            write_person_pages(plan, person, feed, shared.address_of, PRIVATE_FILE)
        _take_pages_left_behind(shared.folder)
        write_owner_pages(plan, shared.feeds, shared.pages, shared.address_of, PRIVATE_FILE)
        _sweep(shared.folder)


def _take_pages_left_behind(folder: Path) -> None:
    """Take our pages from private folders whose calendar has gone."""
    for home in [path for path in folder.iterdir() if TOKEN.fullmatch(path.name)]:
        if not any(home.glob("*.ics")):
            write_page_files((), {}, home, PRIVATE_FILE)


def _files_of(site_id: str, folder: Path) -> dict[str, Path]:
    """Feeds of a site below a folder that other sites may share, by name of the feed.

    Where one site's id begins with another's, a file belongs to the longer.
    """
    stems = {
        path.stem: path for path in folder.glob("*/*.ics") if TOKEN.fullmatch(path.parent.name)
    }
    sites = [stem.removesuffix("-work") for stem in stems if stem.endswith("-work")]
    longer = tuple(f"{site}-" for site in sites if site.startswith(f"{site_id}-"))
    return {
        stem.removeprefix(f"{site_id}-"): path
        for stem, path in stems.items()
        if stem.startswith(f"{site_id}-") and not stem.startswith(longer)
    }


def _place(folder: Path, name: str, *, renew: bool) -> Path:
    """Where a file of that name stands or will stand; a new token moves it."""
    standing = [path for path in folder.glob(f"*/{name}") if TOKEN.fullmatch(path.parent.name)]
    if len(standing) > 1:
        raise ShareError(f"{name} stands twice below {folder}; remove the folder you do not use")
    if standing and not renew:
        return standing[0]
    token = secrets.token_urlsafe(TOKEN_BYTES)
    while token.startswith("-"):  # a shell would take it for an option
        token = secrets.token_urlsafe(TOKEN_BYTES)
    home = folder / token
    if standing:
        standing[0].parent.rename(home)
    else:
        home.mkdir(mode=PRIVATE_FOLDER)
    return home / name


def _sweep(folder: Path) -> None:
    """Remove empty folders, and half files that a writer that was killed has left."""
    for home in [path for path in folder.iterdir() if TOKEN.fullmatch(path.name)]:
        for part in home.rglob(".*.part"):
            part.unlink(missing_ok=True)
        with suppress(OSError):  # it holds something
            home.rmdir()
