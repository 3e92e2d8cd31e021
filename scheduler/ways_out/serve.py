"""A small server of feeds for the home network and for trial; not for the open internet.

It knows two kinds of path, ``/<file>`` and ``/<folder>/<file>``. What is asked for is only
ever compared with the names that stand in the folder and never made into a path, so there
is no way out of it. It lists nothing, and its log names neither folder nor address: the
folder's name is the secret (RFC 9110 for the headers, RFC 5545 section 8.1 for the type).
"""

import hashlib
import hmac
import ipaddress
import math
import socket
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from email.utils import format_datetime, parsedate_to_datetime
from functools import partial
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any, ClassVar
from urllib.parse import unquote, urlsplit

LOOPBACK = ("127.0.0.1", "::1", "localhost")
EVERYWHERE = ("", "0.0.0.0", "::")  # noqa: S104  # names what is warned of
METHODS = ("GET", "HEAD")
REQUEST_S = 30.0  # from the end of one answer, or the connection, to the end of the next head
MOST_READERS = 200  # connections at once; a household has a few
TOO_MANY = b"HTTP/1.1 503 Service Unavailable\r\nConnection: close\r\nContent-Length: 0\r\n\r\n"
TYPES = {".ics": "text/calendar; charset=utf-8", ".html": "text/html; charset=utf-8"}


@dataclass(frozen=True, slots=True)
class Resource:
    """A file as it is served.

    Args:
        name: file name.
        content: its bytes.
        changed: when it last changed, whole seconds, UTC.
    """

    name: str
    content: bytes
    changed: datetime

    @property
    def etag(self) -> str:
        """A strong validator: the same bytes, the same tag."""
        return f'"{hashlib.sha256(self.content).hexdigest()[:32]}"'


def find(root: Path, target: str) -> Resource | None:
    """The file a request asks for; None where there is none that may be served.

    Args:
        root: the folder.
        target: the request target: path, and a query, which is ignored.
    """
    try:
        names = unquote(urlsplit(target).path, errors="replace").split("/")
    except ValueError:  # such as a bracket that opens and does not close
        return None
    if names[0] or not 2 <= len(names) <= 3:
        return None
    place: Path | None = root
    try:
        for name in names[1:]:
            place = _child(place, name) if place is not None else None
        if place is None or not is_served(place):
            return None
        changed = datetime.fromtimestamp(int(place.stat().st_mtime), UTC)
        return Resource(place.name, place.read_bytes(), changed)
    except OSError:
        return None


def is_served(path: Path) -> bool:
    """Whether it is a plain file of a kind that is served: not hidden, no link, pipe or device."""
    shown = path.suffix in TYPES and not path.name.startswith(".")
    return shown and not path.is_symlink() and path.is_file()


def _child(folder: Path, name: str) -> Path | None:
    """The entry of that very name, unless it is hidden or a link to elsewhere."""
    if name.startswith(".") or not folder.is_dir():
        return None
    asked = name.encode("utf-8", "replace")
    for entry in folder.iterdir():
        if hmac.compare_digest(entry.name.encode("utf-8", "replace"), asked):
            return None if entry.is_symlink() else entry
    return None


def names_of(host: str) -> frozenset[str]:
    """The names under which readers may ask a server that listens at ``host``.

    A page that somebody visits may point a name of its own at this machine and read feeds
    through the visitor's browser; it cannot have these names (RFC 6762, RFC 8375).
    """
    machine = socket.gethostname().lower()
    first = machine.partition(".")[0]
    kin = {f"{first}{ending}" for ending in ("", ".local", ".home.arpa", ".lan")}
    return frozenset({"localhost", host.lower(), machine} | kin)


def is_ours(asked: str, names: frozenset[str]) -> bool:
    """Whether the Host of a request is an IP address or one of the names of this server.

    >>> names = frozenset({"hut.local"})
    >>> is_ours("10.0.0.7:8008", names), is_ours("HUT.local", names), is_ours("e.org", names)
    (True, True, False)
    """
    try:
        host = (urlsplit(f"//{asked}").hostname or "").removesuffix(".")
        return host in names or bool(ipaddress.ip_address(host))
    except ValueError:
        return False


def is_unchanged(resource: Resource, if_none_match: str | None, if_since: str | None) -> bool:
    """Whether the reader already has it; the tag goes before the date (RFC 9110 13.2.2)."""
    if if_none_match is not None:
        tags = {tag.strip().removeprefix("W/") for tag in if_none_match.split(",")}
        return resource.etag in tags or "*" in tags
    if if_since is None:
        return False
    try:
        since = parsedate_to_datetime(if_since)
    except ValueError:
        return False
    return since.tzinfo is not None and resource.changed <= since


class FeedHandler(BaseHTTPRequestHandler):
    """Answers GET and HEAD."""

    protocol_version = "HTTP/1.1"
    timeout = REQUEST_S
    server: "FeedServer"
    quiet: ClassVar[dict[str, str]] = {
        "Cache-Control": "private, no-cache",
        "Referrer-Policy": "no-referrer",
        "X-Robots-Tag": "noindex",
        "X-Content-Type-Options": "nosniff",
    }

    def __init__(self, root: Path, log: Callable[[str], None], *args: object) -> None:
        """Answer one connection; ``args`` are those of the standard library."""
        self.root, self.log, self.served = root, log, ""
        super().__init__(*args)  # type: ignore[arg-type]  # request, address and server, passed on

    def handle_one_request(self) -> None:
        """Read a request and answer it; the head must be there in time, however it trickles."""
        self.server.wait_for(self.connection, REQUEST_S)
        super().handle_one_request()

    def version_string(self) -> str:
        """What the server calls itself; not which language it is written in."""
        return "scheduler"

    def do_GET(self) -> None:  # the library's name
        """Send a file, or that it has not changed, or that there is none."""
        self._answer(body=True)

    def do_HEAD(self) -> None:  # the library's name
        """Send what GET would, without the bytes."""
        self._answer(body=False)

    def _answer(self, *, body: bool) -> None:
        if self.headers.get("Content-Length") or self.headers.get("Transfer-Encoding"):
            self.close_connection = True  # what follows is no request, and nobody reads it
        self.server.wait_for(self.connection, math.inf)  # the library bounds what is sent
        if not all(is_ours(host, self.server.names) for host in self.headers.get_all("Host", [])):
            self.send_error(HTTPStatus.MISDIRECTED_REQUEST)
            return
        found = find(self.root, self.path)
        self.served = found.name if found else ""
        if found is None:
            self._head(HTTPStatus.NOT_FOUND, {"Content-Length": "0"})
            return
        tags = {"ETag": found.etag, "Last-Modified": format_datetime(found.changed, usegmt=True)}
        asked = (self.headers.get("If-None-Match"), self.headers.get("If-Modified-Since"))
        if is_unchanged(found, *asked):
            self._head(HTTPStatus.NOT_MODIFIED, tags)
            return
        told = {
            "Content-Type": TYPES[Path(found.name).suffix],
            "Content-Disposition": f'inline; filename="{_ascii(found.name)}"',
            "Content-Length": str(len(found.content)),
        }
        self._head(HTTPStatus.OK, tags | told)
        if body:
            self.wfile.write(found.content)

    def send_error(
        self,
        code: int,
        message: str | None = None,  # noqa: ARG002  # the library's
        explain: str | None = None,  # noqa: ARG002  # the library's
    ) -> None:
        """Refuse what is no request for a file, without quoting it as the library would."""
        self.served, self.request_version = "", self.protocol_version  # so that a head is sent
        self._head(HTTPStatus(code), {"Content-Length": "0", "Connection": "close"})

    def _head(self, status: HTTPStatus, headers: dict[str, str]) -> None:
        self.send_response(status)
        for name, value in (headers | self.quiet).items():
            self.send_header(name, value)
        self.end_headers()

    def log_request(self, code: int | str = "-", size: int | str = "-") -> None:  # noqa: ARG002  # the library's
        """Say what was answered, without the path: it holds the secret, or forges a line."""
        status = code.value if isinstance(code, HTTPStatus) else code
        asked = self.command if self.command in METHODS else "?"
        self.log(f"{asked} {status} {self.served}".rstrip())

    def log_message(self, format: str, *args: object) -> None:  # the library's
        """Say nothing else: the library's messages quote the request."""


def _ascii(name: str) -> str:
    return "".join(
        char if char.isalnum() and char.isascii() else "-" for char in Path(name).stem
    ) + (Path(name).suffix)


class FeedServer(ThreadingHTTPServer):
    """A thread for each reader, of whom there is a limit, as there is to their patience.

    One that goes away in the middle is nothing to tell of.
    """

    daemon_threads = True
    request_queue_size = 128  # readers that come at once; five of the library's own are few
    names: frozenset[str] = frozenset()  # under which it may be asked

    def __init__(self, *args: Any, **named: Any) -> None:  # noqa: ANN401  # the library's
        """Listen; the arguments are those of the standard library."""
        self._readers: dict[
            socket.socket, float
        ] = {}  # connections, and until when each is waited for
        super().__init__(*args, **named)

    def wait_for(self, reader: socket.socket, seconds: float) -> None:
        """Let a reader go unless it has said what it wants by then."""
        self._readers[reader] = time.monotonic() + seconds

    def verify_request(self, request: Any, client_address: object) -> bool:  # noqa: ANN401, ARG002  # the library's
        """Take a reader in, or tell one too many to come later."""
        if len(self._readers) < MOST_READERS:
            self.wait_for(request, REQUEST_S)
            return True
        with suppress(OSError):
            request.sendall(TOO_MANY)
        return False

    def service_actions(self) -> None:
        """Let those go that have taken too long; the library calls this twice a second."""
        now = time.monotonic()
        for reader in [each for each, until in list(self._readers.items()) if until < now]:
            with suppress(OSError):
                reader.shutdown(socket.SHUT_RDWR)

    def shutdown_request(self, request: Any) -> None:  # noqa: ANN401  # the library's
        """Close a connection, and count it no more."""
        self._readers.pop(request, None)
        super().shutdown_request(request)

    def handle_error(self, request: object, client_address: object) -> None:
        """Say nothing: the library would print the reader's address and a traceback."""


class FeedServer6(FeedServer):
    """The same at an address of IP version 6."""

    address_family = socket.AF_INET6


def server_of(root: Path, host: str, port: int, log: Callable[[str], None]) -> FeedServer:
    """A server that is ready to run; ``serve_forever`` starts it.

    Args:
        root: the folder with the feeds.
        host: name or address to listen at; of ``LOOPBACK`` for this machine alone.
        port: 0 takes any that is free.
        log: takes one line for each request.

    Raises:
        OSError: the port is taken, or the host is none of this machine.
    """
    kind = FeedServer6 if ":" in host else FeedServer
    server = kind((host, port), partial(FeedHandler, root, log))
    server.names = names_of(host)
    return server


def address_of(host: str, port: int) -> str:
    """Where readers find the server, as far as the host tells.

    >>> address_of("::1", 8008), address_of("0.0.0.0", 8008)
    ('http://[::1]:8008/', 'http://<this machine>:8008/')
    """
    name = "<this machine>" if host in EVERYWHERE else f"[{host}]" if ":" in host else host
    return f"http://{name}:{port}/"
