"""Weather services on loopback, which answer in the formats of their documentation.

Search and values: NCEI Search Service and Data Service API User Documentation (dataset
daily-summaries); flags: readme of GHCN-Daily. Forecast: MET Norway, documentation of
Locationforecast 2.0 and of its JSON format; status codes and headers: its Terms of Service and
Status Codes.
Stations, values and forecasts are invented.
"""

import json
import re
import socket
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from urllib.parse import parse_qs, urlsplit

from scheduler.fetched import Asker, Spot
from scheduler.fetched.asking import Patience
from tests.ways_out.servers import scripted

TODAY = date(2026, 11, 25)
NOW = datetime(2026, 11, 25, 17, 0, tzinfo=UTC)
SPOT = Spot(46.5, 14.2, 500.0)
HEADER = (
    '"STATION","DATE","LATITUDE","LONGITUDE","ELEVATION","NAME",'
    '"TMIN","TMIN_ATTRIBUTES","TMAX","TMAX_ATTRIBUTES","PRCP","PRCP_ATTRIBUTES"'
)
Answer = bytes | Callable[[str, socket.socket], bytes]


def http(status: int, body: bytes | str = b"", **headers: str) -> bytes:
    """A whole answer; names of headers with ``_`` for ``-``."""
    content = body.encode() if isinstance(body, str) else body
    named = {"Content-Length": str(len(content)), "Connection": "keep-alive"}
    named |= {name.replace("_", "-"): value for name, value in headers.items()}
    lines = [f"HTTP/1.1 {status} X", *(f"{name}: {value}" for name, value in named.items())]
    return "\r\n".join([*lines, "", ""]).encode() + content


@dataclass
class Weather:
    """A running service; each path has its answers, the last of which is given again and again."""

    port: int
    answers: dict[str, list[Answer]]
    heard: list[str]
    slept: list[float] = field(default_factory=list)

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def asker(self, **patience: object) -> Asker:
        limits = Patience(**{"read_s": 5.0, **patience})  # type: ignore[arg-type]  # by name
        paths = (f"{self.url}/search", f"{self.url}/values", f"{self.url}/forecast")
        return Asker(*paths, limits, self.slept.append)

    def questions(self, path: str = "") -> list[dict[str, str]]:
        """What was asked, and the headers in small letters."""
        told = []
        for request in self.heard:
            head, *lines = request.split("\r\n")
            address = urlsplit(head.split()[1])
            if address.path.startswith(path):
                headers = dict(line.lower().split(": ", 1) for line in lines if ": " in line)
                asked = {key: values[0] for key, values in parse_qs(address.query).items()}
                told.append({**headers, **asked})
        return told


@contextmanager
def weather(answers: Mapping[str, list[Answer]]) -> Iterator[Weather]:
    """Serve answers by path; a path of stations' values may name one, as ``/values?ID``."""
    left = {path: list(given) for path, given in answers.items()}

    def answer(request: bytes, line: socket.socket) -> None:
        address = urlsplit(request.split()[1].decode())
        station = parse_qs(address.query).get("stations", [""])[0]
        own = f"{address.path}?{station}"
        given = left.get(own if own in left else address.path, [http(404)])
        chosen = given.pop(0) if len(given) > 1 else given[0]
        content = chosen if isinstance(chosen, bytes) else chosen(address.query, line)
        line.sendall(content)
        if b"Connection: close" in content or b"HTTP/1.1" not in content:
            line.shutdown(socket.SHUT_RDWR)

    with scripted(answer) as (port, heard):
        running = Weather(port, left, [])
        # one list, which grows as the service hears
        running.heard = _Decoded(heard)
        yield running


class _Decoded(list[str]):
    """The requests as text, read when they are looked at."""

    def __init__(self, heard: list[bytes]) -> None:
        super().__init__()
        self._heard = heard

    def __iter__(self) -> Iterator[str]:
        return iter([request.decode() for request in self._heard])

    def __len__(self) -> int:
        return len(self._heard)


def broken_off(body: str) -> bytes:
    """An answer that ends before its time, and the connection with it."""
    return http(200, body, Content_Length=str(len(body) + 100), Connection="close")


def slow(seconds: float) -> Answer:
    """A service that thinks for long."""

    def answer(_: str, __: socket.socket) -> bytes:
        time.sleep(seconds)
        return http(200, "{}")

    return answer


def trickling(_: str, line: socket.socket) -> bytes:
    """An answer that comes byte by byte, each soon enough, and never ends."""
    line.sendall(b"HTTP/1.1 200 X\r\nContent-Length: 1000000\r\n\r\n")
    for _byte in range(200):
        line.sendall(b" ")
        time.sleep(0.05)
    return b""


def minima(first: date, last: date, mean_c: float = 8.0) -> dict[date, float]:
    """Invented minima, colder in January, to a tenth of a degree."""
    days = [first + timedelta(days=at) for at in range((last - first).days + 1)]
    return {
        day: round(
            mean_c + 10 * (abs(day.timetuple().tm_yday - 183) / -91 + 1) + day.day % 7 / 10, 1
        )
        for day in days
    }


def values_csv(
    station: str,
    tmin_c: Mapping[date, float],
    *,
    where: str = "46.6,14.3,450.0",
    name: str = "INVENTED VALLEY, AU",
    flags: Mapping[date, str] | None = None,
    tenths: bool = False,
) -> str:
    """Daily summaries with flags, in degrees C or in tenths; a blank quality flag has passed."""
    lines = [HEADER]
    lat, lon, elev = where.split(",")
    for at, (day, value) in enumerate(tmin_c.items()):
        flag = (flags or {}).get(day, "")
        cells = [value, value + 9, 1.2 * (at % 3)]
        told = [f"{round(10 * c)}" if tenths else f"{c:.1f}" for c in cells]
        lines.append(
            f'"{station}","{day}","{lat}","{lon}","{elev}","{name}",'
            f'"{told[0]}",",{flag},S","{told[1]}",",,S","{told[2]}",",,S"'
        )
    return "\n".join([*lines, ""])


def search_json(*stations: str, near: Mapping[str, tuple[float, float]] | None = None) -> str:
    """Stations of a box; ``near`` gives longitude and latitude to those that carry them."""
    results = []
    for station in stations:
        kinds = [{"id": "TMIN", "coverage": 0.9}, {"id": "PRCP", "coverage": 1.0}]
        result: dict[str, object] = {
            "stations": [{"id": station, "name": "?", "dataTypes": kinds}]
        }
        if near and station in near:
            result["boundingPoints"] = [{"type": "Point", "coordinates": near[station]}]
        results.append(result)
    return json.dumps({"count": len(results), "totalCount": 120_000, "results": results})


def series(
    made: datetime, temperature_at: Callable[[datetime], float], hours: int = 60, days: int = 9
) -> list[dict[str, object]]:
    """A series by the hour at first, and every six hours later (UTC), as the service has it."""
    first = made.replace(minute=0, second=0, microsecond=0)
    times = [first + timedelta(hours=at) for at in range(hours)]
    when = times[-1] + timedelta(hours=1)
    while when < first + timedelta(days=days):
        if when.hour % 6 == 0:
            times.append(when)
        when += timedelta(hours=1)
    return [
        {
            "time": f"{when:%Y-%m-%dT%H:%M:%SZ}",
            "data": {
                "instant": {"details": {"air_temperature": temperature_at(when)}},
                "next_6_hours": {"summary": {}, "details": {"precipitation_amount": 0.0}},
            },
        }
        for when in times
    ]


def forecast_json(made: datetime, steps: list[dict[str, object]], unit: str = "celsius") -> str:
    """A forecast in GeoJSON."""
    meta = {"updated_at": f"{made:%Y-%m-%dT%H:%M:%SZ}", "units": {"air_temperature": unit}}
    return json.dumps({
        "type": "Feature",
        "geometry": {"type": "Point", "coordinates": [14.2, 46.5, 500]},
        "properties": {"meta": meta, "timeseries": steps},
    })  # fmt: skip


def cold_dawn(when: datetime) -> float:
    """Six degrees by day; colder by night, and coldest at 5 UTC."""
    return round(6.0 - 8.0 * max(0.0, 1 - abs((when.hour - 5 + 12) % 24 - 12) / 6), 1)


def http_time(when: datetime) -> str:
    """As in a header (RFC 9110 5.6.7)."""
    return when.strftime("%a, %d %b %Y %H:%M:%S GMT")


def contents(folder: Path) -> dict[str, bytes]:
    """All files below a folder, with what they hold."""
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def one_line(text: str) -> str:
    """The only line of an error."""
    assert text.count("\n") <= 1, text
    assert "Traceback" not in text
    assert re.search(r"[a-z]", text)
    return text.strip()
