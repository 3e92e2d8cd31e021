"""The few requests of WebDAV and CalDAV that pushing needs.

RFC 9110 for the conditions (13.1), RFC 4918 for WebDAV, RFC 4791 for CalDAV. A password
goes only through TLS or to this very machine, and stands in no address and no message. No
server is trusted: each request has a deadline from the name's look-up to the last byte,
all of them have one together, and a reply is read up to a limit.
"""

import asyncio
import base64
import os
import re
import socket
import ssl
import time
from dataclasses import dataclass
from urllib.parse import quote, unquote

import httpx
from defusedxml import DefusedXmlException
from defusedxml.ElementTree import ParseError, fromstring

from scheduler.ways_out.address import LOOPBACK, web_address
from scheduler.words import clean

PATIENCE_S, SLOWEST_BYTES_S = 60.0, 10_000  # for one request; a large one may take longer
PUSH_S = 600.0
MOST_BYTES = 1_000_000
MAX_SAID = 200  # characters of a server's own words in a message
CREATED, GONE, CHANGED_THERE, NO_SUCH_METHOD = (200, 201, 204), (404, 410), 412, (405, 501)
_LISTED = 207
_WANT_ETAGS = b'<?xml version="1.0"?><propfind xmlns="DAV:"><prop><getetag/></prop></propfind>'
_STRONG = re.compile(r'"[!#-~]{0,500}"')  # of ASCII alone, so that it can be sent back
_SAYS = {
    401: "user and password are not accepted",
    403: "this user may not write there",
    404: "there is no such collection",
    405: "nothing can be written at this address; it should be that of one calendar",
    409: "there is no such collection, or it has an event of this UID under another name",
    413: "the item is too large for it",
    415: "it takes no calendar items",
    507: "it has no room left",
}


class PushError(Exception):
    """The server cannot be reached or does not let us; what was done so far stands."""


class TooMuchError(PushError):
    """A reply is larger than anything that is expected."""


@dataclass(frozen=True, slots=True)
class Reply:
    """What a server answered: its status, the validator of the item, its bytes."""

    status: int
    etag: str
    content: bytes
    moved_to: str = ""


def is_strong(etag: str) -> bool:
    """Whether a validator can stand in If-Match (RFC 9110 8.8.3 and 13.1.1)."""
    return _STRONG.fullmatch(etag) is not None


class Server:
    """A place that items are written to, until it is closed.

    Args:
        url: of the collection, or of one file.
        user: empty for none.
        password: of that user.

    Raises:
        PushError: the address is none, or a password would go there unencrypted.
    """

    def __init__(self, url: str, user: str = "", password: str = "") -> None:
        try:
            self._place = web_address(url)
        except ValueError as error:
            raise PushError(str(error)) from error
        self.url, self.user, self.password = url, user, password
        if self._place.scheme == "http" and user and self.host not in LOOPBACK:
            raise PushError("a password is not sent unencrypted; the address must begin https://")
        self._runner, self._until_s = asyncio.Runner(), 0.0
        # the bare transport: it follows no redirect and keeps no cookie
        self._transport = httpx.AsyncHTTPTransport(
            verify=ssl.create_default_context(), trust_env=False
        )

    @property
    def host(self) -> str:
        """The host, as a person reads it."""
        return self._place.host

    def put(self, name: str, content: bytes, etag: str) -> Reply:
        """Write an item, over the one that bears ``etag``; an empty one asks for a free place."""
        condition = {"If-Match": etag} if etag else {"If-None-Match": "*"}
        headers = condition | {"Content-Type": "text/calendar; charset=utf-8"}
        return self._ask("PUT", self._path_of(name), (*CREATED, CHANGED_THERE), headers, content)

    def get(self, name: str, most_bytes: int = MOST_BYTES) -> Reply:
        """Read an item; one that is larger than ``most_bytes`` is a ``TooMuchError``."""
        return self._ask("GET", self._path_of(name), (200, *GONE), most_bytes=most_bytes)

    def delete(self, name: str, etag: str) -> Reply:
        """Remove the item that bears ``etag``."""
        return self._ask(
            "DELETE", self._path_of(name), (*CREATED, *GONE, CHANGED_THERE), {"If-Match": etag}
        )

    def etag_of(self, name: str) -> str | None:
        """The validator of an item, empty where it has none; None where there is no item."""
        reply = self._ask("HEAD", self._path_of(name), (*CREATED, *GONE, *NO_SUCH_METHOD))
        if reply.status in NO_SUCH_METHOD:
            reply = self.get(name)
        return None if reply.status in GONE else reply.etag

    def etags(self) -> dict[str, str] | None:
        """The validators of all items by name; None where the server gives no such list."""
        kind = {"Depth": "1", "Content-Type": "application/xml; charset=utf-8"}
        folder = self._place.raw_path.rstrip(b"/") + b"/"
        try:
            reply = self._ask("PROPFIND", folder, (_LISTED, *NO_SUCH_METHOD), kind, _WANT_ETAGS)
        except TooMuchError:
            return None
        return None if reply.status in NO_SUCH_METHOD else self._read_list(reply.content)

    def _read_list(self, content: bytes) -> dict[str, str]:
        """Names and validators of a multistatus (RFC 4918 14.16); it may declare no entities."""
        try:
            root = fromstring(content, forbid_dtd=True)
        except (ParseError, DefusedXmlException, ValueError, LookupError) as error:
            raise PushError(f"{self.host} gives a list of items that cannot be read") from error
        etags = {}
        for item in root.findall("{DAV:}response"):
            name = unquote(item.findtext("{DAV:}href", "").strip().rpartition("/")[2])
            etags[name] = item.findtext("{DAV:}propstat/{DAV:}prop/{DAV:}getetag", "").strip()
        return etags

    def close(self) -> None:
        """Let go of the connection."""
        self._runner.run(self._transport.aclose())
        self._runner.close()

    def _ask(
        self,
        method: str,
        path: bytes,
        fine: tuple[int, ...],
        headers: dict[str, str] | None = None,
        content: bytes = b"",
        most_bytes: int = MOST_BYTES,
    ) -> Reply:
        now = time.monotonic()
        self._until_s = self._until_s or now + PUSH_S
        patience_s = min(PATIENCE_S + len(content) / SLOWEST_BYTES_S, self._until_s - now)
        url = self._place.copy_with(raw_path=path)
        named = {"User-Agent": "scheduler", "Accept-Encoding": "identity"} | (headers or {})
        if self.user:
            pair = f"{self.user}:{self.password}".encode("utf-8", "replace")
            named["Authorization"] = f"Basic {base64.b64encode(pair).decode()}"
        request = httpx.Request(method, url, headers=named, content=content)
        try:
            reply = self._runner.run(self._answer(request, patience_s, most_bytes))
        except TimeoutError as error:
            raise PushError(
                f"{self.host} gave no whole answer in time; what was done is kept"
            ) from error
        except (httpx.HTTPError, OSError) as error:
            says = clean(_reason_of(error), MAX_SAID, lines=False)
            raise PushError(f"{self.host} cannot be reached: {says}") from error
        if reply.status not in fine:
            raise PushError(self._refusal(reply))
        return reply

    async def _answer(self, request: httpx.Request, patience_s: float, most_bytes: int) -> Reply:
        async with asyncio.timeout(patience_s):
            response = await self._transport.handle_async_request(request)
            content = bytearray()
            try:
                async for part in response.aiter_raw():  # unpacked, it could have any size
                    content += part
                    if len(content) > most_bytes:
                        raise TooMuchError(f"{self.host} sends more than {most_bytes} bytes")
            finally:
                await response.aclose()
        etag, moved_to = (response.headers.get(name, "") for name in ("ETag", "Location"))
        return Reply(response.status_code, etag, bytes(content), moved_to)

    def _path_of(self, name: str) -> bytes:
        path = self._place.raw_path
        return path.rstrip(b"/") + b"/" + quote(name, safe="@").encode() if name else path

    def _refusal(self, reply: Reply) -> str:
        if 300 <= reply.status < 400:  # redirects are told, not followed: the password stays here
            place = clean(reply.moved_to, MAX_SAID, lines=False) or "elsewhere"
            return f"{self.host} answers {reply.status}: it has moved to {place}"
        reason = httpx.codes.get_reason_phrase(reply.status) or "no reason given"
        return f"{self.host} answers {reply.status}: {_SAYS.get(reply.status, reason)}"


def _reason_of(error: BaseException) -> str:
    """The system's own words, which the library keeps under several of its errors."""
    words, under = str(error) or type(error).__name__, error.__cause__ or error.__context__
    while under is not None:
        if isinstance(under, BaseExceptionGroup):  # one for each address of the host
            under = under.exceptions[0]
        if isinstance(under, (socket.gaierror, ssl.SSLError)):
            words = under.strerror or words
        elif isinstance(under, OSError) and under.errno:
            words = os.strerror(under.errno)
        under = under.__cause__ or under.__context__
    return words
