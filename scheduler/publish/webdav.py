"""The few requests of WebDAV and CalDAV that pushing needs, over plain HTTP.

RFC 9110 for the conditions (13.1), RFC 4918 for WebDAV, RFC 4791 for CalDAV. A password
goes only through TLS or to this very machine, and stands in no address and no message.
"""

import base64
import http.client
import ssl
from dataclasses import dataclass, field
from urllib.parse import urlsplit

LOOPBACK = ("127.0.0.1", "::1", "localhost")
PATIENCE_S = 30.0
CREATED, GONE, CHANGED_THERE = (200, 201, 204), (404, 410), 412
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


@dataclass(frozen=True, slots=True)
class Reply:
    """What a server answered: its status, the validator of the item, its bytes."""

    status: int
    etag: str
    content: bytes


@dataclass(slots=True)
class Server:
    """A place that items are written to.

    Args:
        url: of the collection, or of one file.
        user: empty for none.
        password: of that user.
    """

    url: str
    user: str = ""
    password: str = field(default="", repr=False)
    _connection: http.client.HTTPConnection = field(init=False, repr=False)
    _path: str = field(init=False, repr=False)

    def __post_init__(self) -> None:
        parts = urlsplit(self.url)
        if parts.scheme not in ("http", "https") or not parts.hostname:
            raise PushError("that is no web address; write it as https://example.org/calendar/")
        if parts.username or parts.password:
            raise PushError("the address has a user or password in it; give them apart from it")
        if parts.scheme == "http" and self.user and parts.hostname not in LOOPBACK:
            raise PushError("a password is not sent unencrypted; the address must begin https://")
        self._path = parts.path or "/"
        self._connection = (
            http.client.HTTPSConnection(
                parts.hostname,
                parts.port,
                timeout=PATIENCE_S,
                context=ssl.create_default_context(),
            )
            if parts.scheme == "https"
            else http.client.HTTPConnection(parts.hostname, parts.port, timeout=PATIENCE_S)
        )

    def put(self, name: str, content: bytes, etag: str) -> Reply:
        """Write an item, over the one that bears ``etag``; an empty one asks for a free place."""
        condition = {"If-Match": etag} if etag else {"If-None-Match": "*"}
        kind = {"Content-Type": "text/calendar; charset=utf-8"}
        return self._ask("PUT", name, content, condition | kind, (*CREATED, CHANGED_THERE))

    def get(self, name: str) -> Reply:
        """Read an item."""
        return self._ask("GET", name, None, {}, (200, *GONE))

    def delete(self, name: str, etag: str) -> Reply:
        """Remove the item that bears ``etag``."""
        return self._ask(
            "DELETE", name, None, {"If-Match": etag}, (*CREATED, *GONE, CHANGED_THERE)
        )

    def close(self) -> None:
        """Let go of the connection."""
        self._connection.close()

    def _ask(
        self,
        method: str,
        name: str,
        content: bytes | None,
        headers: dict[str, str],
        fine: tuple[int, ...],
    ) -> Reply:
        path = f"{self._path.rstrip('/')}/{name}" if name else self._path
        try:
            self._connection.request(method, path, content, headers | self._who())
            response = self._connection.getresponse()
            reply = Reply(response.status, response.headers.get("ETag", ""), response.read())
        except (OSError, http.client.HTTPException) as error:
            self._connection.close()
            says = getattr(error, "strerror", None) or str(error) or type(error).__name__
            raise PushError(f"{self._where} cannot be reached: {says}") from error
        if reply.status not in fine:
            raise PushError(self._refusal(reply.status, response.headers.get("Location", "")))
        return reply

    def _who(self) -> dict[str, str]:
        if not self.user:
            return {}
        pair = base64.b64encode(f"{self.user}:{self.password}".encode()).decode()
        return {"Authorization": f"Basic {pair}"}

    @property
    def _where(self) -> str:
        return self._connection.host

    def _refusal(self, status: int, location: str) -> str:
        if 300 <= status < 400:  # redirects are told, not followed: the password stays here
            return f"{self._where} answers {status}: it has moved to {location or 'elsewhere'}"
        says = _SAYS.get(status, http.client.responses.get(status, "no reason given"))
        return f"{self._where} answers {status}: {says}"
