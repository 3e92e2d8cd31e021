"""What the server sends: a file of the folder, or a plain no (RFC 9110, RFC 5545 8.1).

What is asked for is only ever compared with the names that stand in the folder and never
made into a path, so there is no way out of it. Nothing is listed, and the log names neither
folder nor address: the folder's name is the secret.
"""

import asyncio
import hashlib
import ipaddress
import socket
from collections.abc import Callable
from email.utils import formatdate
from pathlib import Path
from urllib.parse import quote, urlsplit

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route
from starlette.staticfiles import NotModifiedResponse, StaticFiles
from uvicorn.protocols.http.h11_impl import H11Protocol

from scheduler.ways_out.folder import TYPES, is_served, is_shown

METHODS = ("GET", "HEAD")
READER_S = 60.0  # from the connection to the last byte; each connection has one answer
MOST_READERS = 200  # connections at once; a household has a few
TOO_MANY = b"HTTP/1.1 503 Service Unavailable\r\nConnection: close\r\nContent-Length: 0\r\n\r\n"
HEADERS = [
    ("Server", "scheduler"),
    ("Connection", "close"),
    ("Cache-Control", "private, no-cache"),
    ("Referrer-Policy", "no-referrer"),
    ("X-Robots-Tag", "noindex"),
    ("X-Content-Type-Options", "nosniff"),
]


def application(root: Path, host: str, log: Callable[[str], None]) -> Starlette:
    """The feeds of a folder, for a server that listens at ``host``; ``log`` takes lines."""
    names, conditions = served_names(host), StaticFiles(directory=root)

    def answer(request: Request) -> Response:
        """Send a file, or say that it has not changed."""
        if not is_ours(request.headers.get("host"), names):
            raise HTTPException(421)
        try:
            place = find(root, request.path_params["path"])
            content, changed = place.read_bytes(), place.stat().st_mtime
        except (LookupError, OSError) as error:
            raise HTTPException(404) from error
        headers = {
            "ETag": f'"{hashlib.sha256(content).hexdigest()[:32]}"',
            "Last-Modified": formatdate(changed, usegmt=True),
            "Content-Disposition": f'inline; filename="{quote(place.name, errors="replace")}"',
        }
        response = Response(content, 200, headers, TYPES[place.suffix])
        if conditions.is_not_modified(response.headers, request.headers):
            response = NotModifiedResponse(response.headers)
        log(f"{request.method} {response.status_code} {place.name}")
        return response

    def refuse(request: Request, error: Exception) -> Response:
        """Say no, and quote nothing: a path holds the secret, or forges a line of the log."""
        assert isinstance(error, HTTPException)
        log(f"{request.method if request.method in METHODS else '?'} {error.status_code}")
        return Response(status_code=error.status_code, headers=error.headers)

    routes = [Route("/{path:path}", answer, methods=METHODS)]
    return Starlette(routes=routes, exception_handlers={HTTPException: refuse})


def find(root: Path, path: str) -> Path:
    """The file at a path: ``<file>`` or ``<folder>/<file>``.

    Raises:
        LookupError: there is none that may be sent.
        OSError: a folder cannot be read, or is none.
    """
    place = root
    for name in path.split("/", 1):
        place = {at.name: at for at in place.iterdir() if is_shown(at)}[name]
    if not is_served(place):
        raise LookupError(path)
    return place


def served_names(host: str) -> frozenset[str]:
    """The names under which readers may ask a server that listens at ``host``.

    A page that somebody visits may point a name of its own at this machine and read feeds
    through the visitor's browser; it cannot have these names (RFC 6762, RFC 8375).
    """
    machine = socket.gethostname().lower()
    first = machine.partition(".")[0]
    kin = {f"{first}{ending}" for ending in ("", ".local", ".home.arpa", ".lan")}
    return frozenset({"localhost", host.lower(), machine, *kin})


def is_ours(asked: str | None, names: frozenset[str]) -> bool:
    """Whether the Host of a request is an IP address, or a name of this server, or missing.

    >>> names = frozenset({"hut.local"})
    >>> is_ours("10.0.0.7:8008", names), is_ours("HUT.local", names), is_ours("e.org", names)
    (True, True, False)
    """
    try:
        host = (urlsplit(f"//{asked}").hostname or "").removesuffix(".")
        return asked is None or host in names or bool(ipaddress.ip_address(host))
    except ValueError:
        return False


class FeedProtocol(H11Protocol):
    """A connection: it has a limit of time, and a place among so many."""

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Take a reader in, or tell one too many to come later."""
        super().connection_made(transport)
        self.loop.call_later(READER_S, transport.abort)
        if len(self.connections) > MOST_READERS:
            transport.write(TOO_MANY)
            transport.close()
