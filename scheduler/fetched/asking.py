"""One question to a weather service: with an end to time, bytes and patience.

Nothing that a service sends is trusted. All questions of one ``Asker`` have a deadline together,
from the look-up of the name to the last byte; an answer is read up to a limit, unpacked; only a
host's own redirects are followed. No proxy is taken from the environment, and no cookie is kept.

Refused: going on after a 403; services answer so where they want no more questions. Held by
tests/fetched/test_asking.py::test_what_is_refused_is_not_asked_again
"""

import asyncio
import ssl
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from importlib.metadata import version
from types import MappingProxyType
from typing import Self

import httpx

from scheduler.words import clean

FINE, UNCHANGED, AGAIN = (200, 203), 304, (429, 500, 502, 503, 504)
MOST_REDIRECTS = 3
MAX_SAID = 160  # characters of somebody else's words in a message
_SAYS = {
    400: "it does not understand the question",
    403: "it refuses this program, or has had too many questions from here",
    404: "it has nothing at that address",
    429: "it has had too many questions from here; try again in an hour",
}


class FetchError(Exception):
    """Nothing usable came, in one line for the grower; what was there before is kept."""


class _TryAgainError(Exception):
    """It may go better in a moment: what to say if not, and how long the service asks to wait."""


@dataclass(frozen=True, slots=True)
class Patience:
    """How long and how often is asked, and how much is read."""

    connect_s: float = 10.0
    read_s: float = 30.0  # from one part of an answer to the next
    all_s: float = 180.0  # for all questions together
    waits_s: tuple[float, ...] = (2.0, 8.0)  # before the second try, and the third
    most_bytes: int = 20_000_000


@dataclass(frozen=True, slots=True)
class ServiceReply:
    """What a service answered."""

    host: str
    status: int
    headers: Mapping[str, str]
    content: bytes

    @property
    def text(self) -> str:
        """The answer as text, or a ``FetchError`` where it is none, or a web page."""
        try:
            text = self.content.decode("utf-8-sig")
        except UnicodeDecodeError as error:
            raise FetchError(f"{self.host} answers with bytes that are no text") from error
        if text.lstrip()[:1] == "<":
            raise FetchError(f"{self.host} answers with a web page, and not with values")
        return text


@dataclass
class Asker:
    """Asks the services, at these addresses, until it is closed."""

    search: str = "https://www.ncei.noaa.gov/access/services/search/v1/data"
    values: str = "https://www.ncei.noaa.gov/access/services/data/v1"
    forecast: str = "https://api.met.no/weatherapi/locationforecast/2.0/compact"
    patience: Patience = Patience()
    sleep: Callable[[float], None] = time.sleep  # between tries
    _runner: asyncio.Runner = field(default_factory=asyncio.Runner, init=False)

    def __post_init__(self) -> None:
        self._until_s = time.monotonic() + self.patience.all_s
        # the bare transport: it follows no redirect and keeps no cookie
        self._transport = httpx.AsyncHTTPTransport(
            verify=ssl.create_default_context(), trust_env=False
        )

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self._runner.run(self._transport.aclose())
        self._runner.close()

    def get(
        self,
        address: str,
        asked: Mapping[str, str],
        headers: Mapping[str, str] = MappingProxyType({}),
    ) -> ServiceReply:
        """The answer to a question, or that nothing has changed where the headers ask for that.

        Raises:
            FetchError: there is none that could be used.
        """
        url, waits = httpx.URL(address).copy_merge_params(asked), iter(self.patience.waits_s)
        while True:
            try:
                return self._answered(url, headers)
            except _TryAgainError as error:
                says, asked_s = error.args
                wait_s = max(next(waits, self.patience.all_s), asked_s)
                if time.monotonic() + wait_s >= self._until_s:
                    raise FetchError(says) from error
                self.sleep(wait_s)

    def _answered(self, url: httpx.URL, headers: Mapping[str, str]) -> ServiceReply:
        """The answer, after the redirects that stay with the host."""
        for _ in range(MOST_REDIRECTS + 1):
            reply = self._tried(url, headers)
            if reply.status in FINE or (reply.status == UNCHANGED and headers):
                return reply
            said = f"{url.host} answers {reply.status}: "
            if reply.status in AGAIN:
                asked_s = reply.headers.get("retry-after", "")[:9]
                wait_s = float(asked_s) if asked_s.isdecimal() else 0.0
                raise _TryAgainError(said + _SAYS.get(reply.status, "it is out of order"), wait_s)
            if not (300 <= reply.status < 400 and "location" in reply.headers):
                raise FetchError(said + _SAYS.get(reply.status, "nothing that can be used"))
            url = _moved(url, reply.headers["location"])
        raise FetchError(f"{url.host} sends from one address to the next without end")

    def _tried(self, url: httpx.URL, headers: Mapping[str, str]) -> ServiceReply:
        limits = dict.fromkeys(("read", "write", "pool"), self.patience.read_s)
        named = {
            "User-Agent": f"scheduler/{version('scheduler')} (open-source; contact in README)",
            "Accept-Encoding": "gzip",
        }
        timeout = {"timeout": {**limits, "connect": self.patience.connect_s}}
        request = httpx.Request("GET", url, headers={**named, **headers}, extensions=timeout)
        try:
            return self._runner.run(self._read(request))
        except (TimeoutError, httpx.TimeoutException) as error:
            raise _TryAgainError(f"{url.host} gave no whole answer in time", 0.0) from error
        except (httpx.RemoteProtocolError, httpx.ReadError, httpx.DecodingError) as error:
            raise _TryAgainError(f"{url.host} broke off its answer, or garbled it", 0.0) from error
        except (httpx.HTTPError, OSError) as error:
            says = clean(str(error), MAX_SAID, lines=False) or type(error).__name__
            raise FetchError(
                f"{url.host} cannot be reached; is there a network? ({says})"
            ) from error

    async def _read(self, request: httpx.Request) -> ServiceReply:
        async with asyncio.timeout(self._until_s - time.monotonic()):
            response = await self._transport.handle_async_request(request)
            content = bytearray()
            try:
                async for part in response.aiter_bytes():
                    content += part
                    if len(content) > self.patience.most_bytes:
                        most = f"more than {self.patience.most_bytes} bytes"
                        raise FetchError(f"{request.url.host} sends {most}, too many by far")
            finally:
                await response.aclose()
        return ServiceReply(
            request.url.host, response.status_code, response.headers, bytes(content)
        )


def _moved(url: httpx.URL, to: str) -> httpx.URL:
    try:
        there = url.join(to)
    except (httpx.InvalidURL, ValueError) as error:
        raise FetchError(f"{url.host} sends to an address that is none") from error
    if (there.scheme, there.host, there.port) != (url.scheme, url.host, url.port):
        host = clean(there.host, MAX_SAID, lines=False)
        raise FetchError(f"{url.host} sends to another place, {host}, where nothing is asked")
    return there
