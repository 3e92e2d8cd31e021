"""A folder that any web host or synced folder can serve: ``<token>/<slug>.ics``.

Whoever knows the address of a feed can read it, so each feed has a folder of its own with
a name that nobody can guess (192 bits). That name is the only secret and is kept nowhere
else: the folder is its own memory.
"""

import re
import secrets
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from scheduler.calendars import Feed
from scheduler.files import PRIVATE_FILE, PRIVATE_FOLDER, locked, write_whole
from scheduler.ways_out.address import web_address
from scheduler.ways_out.folder import Manner, State, Written, with_ended, write_ready
from scheduler.ways_out.page import Entry, page_bytes

TOKEN_BYTES = 24
TOKEN = re.compile(r"[A-Za-z0-9_-]{32}")
PAGE, ALL = "addresses", "all"


class ShareError(Exception):
    """The folder or address cannot be used as asked."""


@dataclass(frozen=True, slots=True)
class Shared:
    """What stands in the folder now.

    Args:
        feeds: what was written, in order.
        page: the owner's page of addresses; None where no address was given.
    """

    feeds: tuple[Written, ...]
    page: Path | None


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
        address: where the folder can be reached, ``https://...``; empty makes no page.
        new_token: names of feeds that get a new address, or ``all``; the old ones end.

    Raises:
        ShareError: the address is no web address, a feed to renew is not among the feeds,
            or one feed stands twice.
        ForeignFeedError: see ``write_feeds``.
        BusyError: likewise.
        OSError: likewise.
    """
    base = checked_address(address) if address else ""
    renewed = _renewed(feeds, new_token)
    folder.mkdir(parents=True, exist_ok=True, mode=PRIVATE_FOLDER)
    with locked(folder):
        _sweep(folder)
        written = _write(feeds, folder, manner, renewed)
        if not base:
            return Shared(written, None)
        page = _place(folder, f"{feeds[0].site_id}-{PAGE}.html", renew=PAGE in renewed)
        standing = [feed for feed in written if feed.state is not State.REMOVED]
        entries = [Entry(feed.title, _url(base, feed.path)) for feed in standing]
        write_whole(page, page_bytes(entries), PRIVATE_FILE)
        return Shared(written, page)


def _write(
    feeds: Sequence[Feed], folder: Path, manner: Manner, renewed: set[str]
) -> tuple[Written, ...]:
    places = [
        (feed, _place(folder, f"{feed.site_id}-{feed.name}.ics", renew=feed.name in renewed))
        for feed in feeds
    ]
    files = _files_of(feeds[0].site_id, folder) if feeds else {}
    everything = with_ended(places, files)
    try:
        return write_ready(everything, manner, PRIVATE_FILE)
    finally:
        _drop_unused(path for _, path in everything)


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


def _renewed(feeds: Sequence[Feed], new_token: Sequence[str]) -> set[str]:
    known = {feed.name for feed in feeds} | {PAGE}
    if wrong := sorted(set(new_token) - known - {ALL}):
        raise ShareError(f"no feed is called {wrong[0]!r}; there are {', '.join(sorted(known))}")
    return known if ALL in new_token else set(new_token)


def checked_address(address: str) -> str:
    """An address without a slash at its end, as programs read it.

    Raises:
        ShareError: it is no plain web address.
    """
    try:
        return str(web_address(address)).rstrip("/")
    except ValueError as error:
        raise ShareError(str(error)) from error


def _url(base: str, path: Path) -> str:
    return f"{base}/{path.parent.name}/{path.name}"


def _place(folder: Path, name: str, *, renew: bool) -> Path:
    """Where a file of that name stands or will stand; a new token moves it."""
    found = [path for path in folder.glob(f"*/{name}") if TOKEN.fullmatch(path.parent.name)]
    if len(found) > 1:
        raise ShareError(f"{name} stands twice below {folder}; remove the folder you do not use")
    place = found[0] if found else None
    if place is None or renew:
        home = folder / _token()
        if place is not None:
            place.parent.rename(home)
        else:
            home.mkdir(mode=PRIVATE_FOLDER)
        place = home / name
    return place


def _token() -> str:
    """A new secret name; never with a hyphen first, which a shell takes for an option."""
    while (token := secrets.token_urlsafe(TOKEN_BYTES)).startswith("-"):
        pass
    return token


def _sweep(folder: Path) -> None:
    """Remove what a writer that was killed has left: half files, and folders without a feed."""
    for home in [path for path in folder.iterdir() if TOKEN.fullmatch(path.name)]:
        for part in home.glob(".*.part"):
            part.unlink(missing_ok=True)
        _drop_unused([home / "any"])


def _drop_unused(places: Iterable[Path]) -> None:
    """Remove folders of feeds that were not written, or have been taken away."""
    for place in places:
        if place.parent.is_dir() and not any(place.parent.iterdir()):
            place.parent.rmdir()
