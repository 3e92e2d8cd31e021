"""What the desk sends and takes: live pages, calendars, changes; or a plain no (RFC 9110).

Pages need a session, which begins on this machine by asking, and on the network by the private
link of the desk. A calendar needs its own private link alone, as phones ask without a session; so
do the pages of one person. What is asked for is only compared with names that there are, and
never made into a path. Nothing is listed, and the log names no link.

Decided: forms carry a token of their session, cookies are SameSite and HttpOnly, and no page may
run a script or load anything from elsewhere. Held by
tests/desk/test_web.py::test_a_form_of_another_page_is_refused.
"""

import asyncio
import base64
import hashlib
import ipaddress
import re
import socket
import traceback
from collections.abc import Callable, Mapping, Sequence
from email.utils import formatdate
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs, quote, urlsplit

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route
from starlette.staticfiles import NotModifiedResponse, StaticFiles
from uvicorn.protocols.http.h11_impl import H11Protocol

from scheduler.calendars import ForeignFeedError, person_feeds
from scheduler.desk.forms import UnclearError
from scheduler.desk.links import Links
from scheduler.desk.site_desk import ChangedMeanwhileError, SiteDesk
from scheduler.desk.stock_edits import STOCK_FILE, stock_table
from scheduler.files import BusyError, FaultyFilesError
from scheduler.pages import (
    CalendarLink,
    Page,
    PageLink,
    answer_page,
    happened_page,
    owner_links,
    owner_pages,
    person_pages,
    refusal_page,
    season_picture,
    stock_page,
)
from scheduler.reasons import SeasonPlan

SESSION_S = 30 * 24 * 3600
READER_S = 120.0  # from the connection to the last byte; each connection has one answer
MOST_READERS = 200  # connections at once; a household has a few
MOST_BYTES, MOST_FIELDS = 2_000_000, 50_000  # of a form; the stock of a large holding has some
TOO_MANY = b"HTTP/1.1 503 Service Unavailable\r\nConnection: close\r\nContent-Length: 0\r\n\r\n"
TYPES = {
    ".ics": "text/calendar",
    ".html": "text/html",
    ".json": "application/json",
    ".svg": "image/svg+xml",
}
HEADERS = [
    ("Server", "scheduler"),
    ("Connection", "close"),
    ("Cache-Control", "private, no-cache"),
    ("Referrer-Policy", "no-referrer"),
    ("X-Robots-Tag", "noindex"),
    ("X-Content-Type-Options", "nosniff"),
]
# what is answered to whoever told a change that cannot be kept
REFUSALS: Mapping[type[Exception], tuple[str, int]] = {
    UnclearError: ("That is not clear", 422),
    FaultyFilesError: ("The files would have faults", 422),
    BusyError: ("Somebody else is writing", 503),
    ForeignFeedError: ("The calendars cannot be read", 503),
    OSError: ("It cannot be written", 503),
}
DESK_LINKS = (PageLink("happened", "What happened"), PageLink("stock", "Stock"))
_STYLE = re.compile(rb"<style>(.*?)</style>", re.DOTALL)


def application(
    desk: SiteDesk, links: Links, host: str, log: Callable[[str], None], *, open_to_all: bool
) -> Starlette:
    """The desk, for a server that listens at ``host``; ``log`` takes lines.

    Args:
        desk: the holding.
        links: its private links.
        host: name or address.
        log: takes one line for each request, from any thread.
        open_to_all: whether whoever asks may have a session, as on this machine alone.
    """
    names, web = served_names(host), _Web(desk, links, open_to_all=open_to_all)

    async def answer(request: Request) -> Response:
        if not is_ours(request.headers.get("host"), names):
            raise HTTPException(421)
        body = await _body(request) if request.method == "POST" else b""
        response = await run_in_threadpool(web.answer, request, body)
        what = request.path_params["path"].rpartition("/")[2]
        log(f"{request.method} {response.status_code} {what}".rstrip())
        return response

    def refuse(request: Request, error: Exception) -> Response:
        """Say no, and quote nothing: a path holds the secret, or forges a line of the log."""
        assert isinstance(error, HTTPException)
        known = request.method in ("GET", "HEAD", "POST")
        log(f"{request.method if known else '?'} {error.status_code}")
        return Response(status_code=error.status_code, headers=error.headers)

    def own_up(request: Request, error: Exception) -> Response:
        """Tell a fault of this program; what was not written yet is not."""
        where = traceback.extract_tb(error.__traceback__)[-1]
        at = f"{type(error).__name__} in {Path(where.filename).name}, line {where.lineno}"
        log(f"{request.method} 500: a fault of scheduler, not of your files: {at}")
        return Response(f"This is a fault of scheduler, not of your files: {at}.", 500)

    routes = [Route("/{path:path}", answer, methods=["GET", "HEAD", "POST"])]
    return Starlette(routes=routes, exception_handlers={HTTPException: refuse, Exception: own_up})


async def _body(request: Request) -> bytes:
    parts, size = [], 0
    async for part in request.stream():
        size += len(part)
        if size > MOST_BYTES:
            raise HTTPException(413)
        parts.append(part)
    return b"".join(parts)


class _Web:
    """Requests into pages, calendars and changes."""

    def __init__(self, desk: SiteDesk, links: Links, *, open_to_all: bool) -> None:
        self.desk, self.links, self.open_to_all = desk, links, open_to_all
        self.conditions = StaticFiles(directory=desk.calendars)

    def answer(self, request: Request, body: bytes) -> Response:
        path = request.path_params["path"]
        if request.method == "POST":
            return self.told(request, path, body)
        token, slash, name = path.partition("/")
        if slash:
            return self.by_link(request, token, name)
        session = request.cookies.get(self.links.cookie, "")
        begins = self.open_to_all and not self.links.is_session(session)
        if begins:
            session = self.links.new_session()
        if not self.links.is_session(session):
            raise HTTPException(404)
        response = self.page(request, path or "index.html", session)
        if begins:
            self.set_cookie(response, session)
        return response

    def by_link(self, request: Request, token: str, name: str) -> Response:
        """What a private link leads to: the desk, a calendar, the pages of one person."""
        if token == self.links.desk and name in ("", "index.html"):
            response = RedirectResponse("/", 303)
            self.set_cookie(response, self.links.new_session())
            return response
        feeds = {self.links.token(path.stem): path for path in feeds_in(self.desk.calendars)}
        feed = feeds.get(token)
        if feed is None or not (name == feed.name or feed.stem.startswith("person-")):
            raise HTTPException(404)
        if name == feed.name:
            return self.sent(request, feed.read_bytes(), feed.name, feed.stat().st_mtime)
        try:
            plan = self.desk.plan()
        except (FaultyFilesError, ForeignFeedError, OSError) as error:
            raise HTTPException(503) from error
        person = person_feeds(plan.placed.holding.crew).get(feed.stem)
        if person is None:
            raise HTTPException(404)
        calendars = [self.calendar(request, feed)]
        return self.drawn(request, person_pages(plan, person, calendars), name or "index.html")

    def page(self, request: Request, path: str, session: str) -> Response:
        """One page of the owner's."""
        try:
            plan = self.desk.plan()
        except (FaultyFilesError, ForeignFeedError, OSError) as error:
            reasons = _lines(error)
            return self.refused(request, "The files have faults", 503, reasons, "index.html")
        if path == "season.svg":
            return self.sent(request, season_picture(plan), path)
        more = self.more(plan, session)
        calendars = (self.calendar(request, feed) for feed in feeds_in(self.desk.calendars))
        pages = owner_pages(plan, calendars, **more)
        pages["happened"] = lambda: happened_page(plan, self.desk.kept, **more)
        if (stock := self.desk.folder / STOCK_FILE).exists():  # a workbook is edited where it is
            table = stock_table(stock.read_bytes())
            pages["stock"] = lambda: stock_page(table, plan, **more)
        return self.drawn(request, pages, path)

    def told(self, request: Request, path: str, body: bytes) -> Response:
        """What somebody has told, answered; or why it cannot be."""
        session = request.cookies.get(self.links.cookie, "")
        form = _form(body) if self.links.is_session(session) else {}
        if not self.links.is_form_token(form.pop("token", [""])[0], session):
            # of another page, or of one from before the links were renewed
            reasons = ["This form is too old, or not of this desk: load its page again."]
            return self.refused(request, "Load the page again", 403, reasons)
        try:
            return self.done(request, path, form, session)
        except tuple(REFUSALS) as error:
            title, status = next(
                told for kind, told in REFUSALS.items() if isinstance(error, kind)
            )
            return self.refused(request, title, status, _lines(error))

    def done(
        self, request: Request, path: str, form: dict[str, list[str]], session: str
    ) -> Response:
        """What a change would move, or that it is kept."""
        status, seen = 200, form.pop("seen", [""])[0]
        if path == "write":
            self.desk.write_again()
            return RedirectResponse("/", 303)
        if path == "keep":
            try:
                self.desk.keep(form, seen)
            except ChangedMeanwhileError:
                status = 409
            else:
                return RedirectResponse("/happened.html", 303)
        elif path != "try":
            raise HTTPException(404)
        answer = self.desk.tried(form)
        more = {"meanwhile": status == 409, **self.more(self.desk.plan(), session)}
        page = answer_page("Keep this?", answer, answer.form, **more)
        return self.sent(request, page.html, "answer.html", status=status)

    def refused(
        self, request: Request, title: str, status: int, reasons: Sequence[str],
        back: str = "happened.html",
    ) -> Response:  # fmt: skip
        page = refusal_page(title, reasons, links=(), back=back)
        return self.sent(request, page.html, "refusal.html", status=status)

    def more(self, plan: SeasonPlan, session: str) -> dict[str, Any]:
        """What makes a page one of the desk."""
        desk = {
            "token": self.links.form_token(session),
            "today": plan.placed.outlook.as_of,
            "waiting": self.desk.waiting(),
            "loses": self.desk.loses,
            "kept": self.desk.kept,
        }
        links = DESK_LINKS if (self.desk.folder / STOCK_FILE).exists() else DESK_LINKS[:1]
        return {"desk": desk, "links": (*owner_links(plan), *links)}

    def calendar(self, request: Request, feed: Path) -> CalendarLink:
        """A calendar under its private link."""
        host = request.headers.get("host", "")
        address = f"http://{host}/{self.links.token(feed.stem)}/{quote(feed.name)}"
        title = self.desk.titles().get(feed.stem, feed.stem)
        return CalendarLink(title, address, address if host else "")

    def set_cookie(self, response: Response, session: str) -> None:
        # the browser forgets it after a month; new links end it before
        response.set_cookie(self.links.cookie, session, SESSION_S, httponly=True, samesite="lax")

    def drawn(
        self, request: Request, pages: Mapping[str, Callable[[], Page]], path: str
    ) -> Response:
        name, _, ending = path.rpartition(".")
        if name not in pages or ending not in ("html", "json"):
            raise HTTPException(404)
        page = pages[name]()
        return self.sent(request, page.html if ending == "html" else page.data, path)

    def sent(
        self, request: Request, content: bytes, name: str, changed: float | None = None,
        status: int = 200,
    ) -> Response:  # fmt: skip
        """Bytes with their validators, or that they have not changed."""
        kind = Path(name).suffix
        headers = {"ETag": f'"{hashlib.sha256(content).hexdigest()[:32]}"'}
        if changed is not None:
            headers["Last-Modified"] = formatdate(changed, usegmt=True)
        if kind == ".ics":
            headers["Content-Disposition"] = f'inline; filename="{quote(name, errors="replace")}"'
        else:
            headers["Content-Security-Policy"] = policy_of(content)
        response = Response(content, status, headers, TYPES[kind])
        if status == 200 and self.conditions.is_not_modified(response.headers, request.headers):
            return NotModifiedResponse(response.headers)
        return response


def feeds_in(folder: Path) -> list[Path]:
    """The calendars in a folder: plain files, not hidden and no links."""
    found = (path for path in folder.glob("*.ics") if not path.name.startswith("."))
    return sorted(path for path in found if path.is_file() and not path.is_symlink())


def policy_of(content: bytes) -> str:
    """What a page may load and run: its own style, and nothing else (CSP Level 3)."""
    styles = (
        base64.b64encode(hashlib.sha256(style).digest()).decode()
        for style in _STYLE.findall(content)
    )
    allowed = " ".join(f"'sha256-{digest}'" for digest in styles) or "'none'"
    return (
        f"default-src 'none'; style-src {allowed}; img-src 'self' data:; form-action 'self'; "
        "base-uri 'none'; frame-ancestors 'none'"
    )


def _form(body: bytes) -> dict[str, list[str]]:
    try:
        text = body.decode()
        return parse_qs(text, keep_blank_values=True, max_num_fields=MOST_FIELDS)
    except ValueError as error:
        raise HTTPException(400) from error


def _lines(error: Exception) -> list[str]:
    if isinstance(error, FaultyFilesError):
        return [str(fault) for fault in error.faults]
    if isinstance(error, OSError):
        return [f"{error.filename or 'file'}: {error.strerror or error}"]
    return [str(line) for line in error.args]


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
        if asked is not None and re.search(r"[/?#@\\]", asked):
            return False
        return asked is None or host in names or bool(ipaddress.ip_address(host))
    except ValueError:
        return False


class DeskProtocol(H11Protocol):
    """A connection: it has a limit of time, and a place among so many."""

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Take a reader in, or tell one too many to come later."""
        super().connection_made(transport)
        self.loop.call_later(READER_S, transport.abort)
        if len(self.connections) > MOST_READERS:
            transport.write(TOO_MANY)
            transport.close()
