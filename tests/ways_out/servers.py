"""Servers on loopback: our own, and three that the tests push to."""

import base64
import http.client
import importlib.util
import json
import os
import re
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import date
from itertools import takewhile
from pathlib import Path

import icalendar
import pytest

from scheduler.desk import SiteDesk, links_in, listening, server_of
from scheduler.desk.links import Links
from tests.sites import AS_OF

START_S = 30.0
USER, PASSWORD = "uxia", "correct horse"  # of a server that lives for one test
COLLECTIONS = {
    "radicale": f"/{USER}/woods/",
    "xandikos": "/user/calendars/calendar/",
    "wsgidav": "/woods/",
}


@dataclass(frozen=True)
class CalendarServer:
    """A running server with one empty calendar."""

    port: int
    collection: str

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}{self.collection}"

    def ask(self, method: str, name: str = "", body: bytes = b"", **headers: str) -> bytes:
        """A request of another client, past the code under test."""
        pair = base64.b64encode(f"{USER}:{PASSWORD}".encode()).decode()
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=10)
        named = {key.replace("_", "-"): value for key, value in headers.items()}
        named["Authorization"] = f"Basic {pair}"
        connection.request(method, self.collection + name, body or None, named)
        response = connection.getresponse()
        told = response.read()
        connection.close()
        assert response.status < 300, (method, name, response.status, told)
        return told

    def names(self) -> set[str]:
        """Names of the items it holds, by PROPFIND (RFC 4918 9.1)."""
        listed = self.ask("PROPFIND", Depth="1").decode()
        parts = listed.replace("</", "\n</").replace(">", ">\n").split("\n")
        return {part.rsplit("/", 1)[1] for part in parts if re.search(r"/[^/]+\.ics$", part)}

    def event(self, name: str) -> icalendar.Event:
        calendar = icalendar.Calendar.from_ical(self.ask("GET", name))
        (event,) = calendar.walk("VEVENT")
        assert isinstance(event, icalendar.Event)
        return event


@dataclass(frozen=True)
class OwnServer:
    """The desk of a site, running."""

    desk: SiteDesk
    links: Links
    port: int

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}/"

    def link(self, leads_to: str) -> str:
        """The path of a private link, with its strokes."""
        return f"/{self.links.token(leads_to)}/"


@contextmanager
def serving(
    calendars: Path,
    host: str = "127.0.0.1",
    log: Callable[[str], None] = lambda _: None,
    site: Path = Path("no-site"),
    *,
    as_of: date = AS_OF,
    open_to_all: bool = False,
) -> Iterator[OwnServer]:
    """Our own server of a folder of calendars, and of the site whose they are."""
    desk, links = SiteDesk(site, calendars, None, lambda: as_of), links_in(calendars)
    with listening(host, 0) as door:
        port = int(door.getsockname()[1])
        server = server_of(desk, links, host, log, open_to_all=open_to_all)
        thread = threading.Thread(target=server.run, kwargs={"sockets": [door]})
        thread.start()
        try:
            yield OwnServer(desk, links, port)
        finally:
            server.should_exit = True
            thread.join()


@contextmanager
def running(kind: str, folder: Path) -> Iterator[CalendarServer]:
    """Start a server of a kind in an empty folder, and stop it afterwards."""
    if importlib.util.find_spec(kind) is None:
        pytest.skip(f"{kind} is not installed")
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    server = CalendarServer(port, COLLECTIONS[kind])
    log = (folder / "log").open("wb")
    with log, subprocess.Popen(_command(kind, port, folder), stdout=log, stderr=log) as process:
        try:
            _await(port, process)
            if kind == "radicale":
                server.ask("MKCALENDAR")
            yield server
        finally:
            process.terminate()
            process.wait(10)


@contextmanager
def scripted(answer: Callable[[bytes, socket.socket], None]) -> Iterator[tuple[int, list[bytes]]]:
    """A server that answers each request as it likes, byte by byte; its port and what it heard.

    Args:
        answer: given the request and the connection; an OSError ends the connection.
    """
    heard: list[bytes] = []

    def serve(line: socket.socket) -> None:
        with line, line.makefile("rb") as stream, suppress(OSError):
            while head := b"".join(takewhile(b"\r\n".__ne__, stream)):
                length = re.search(rb"(?im)^content-length: *(\d+)", head)
                request = head + stream.read(int(length[1]) if length else 0)
                heard.append(request)
                answer(request, line)

    def accept() -> None:
        with suppress(OSError):
            while True:
                threading.Thread(target=serve, args=(door.accept()[0],), daemon=True).start()

    with socket.create_server(("127.0.0.1", 0)) as door:
        threading.Thread(target=accept, daemon=True).start()
        yield door.getsockname()[1], heard
        door.shutdown(socket.SHUT_RDWR)


def _command(kind: str, port: int, folder: Path) -> list[str]:
    if kind == "radicale":
        users = folder / "users"
        users.write_text(f"{USER}:{PASSWORD}\n", encoding="utf-8")
        options = {
            "--server-hosts": f"127.0.0.1:{port}",
            "--storage-filesystem-folder": folder / "store",
            "--auth-type": "htpasswd",
            "--auth-htpasswd-filename": users,
            "--auth-htpasswd-encryption": "plain",
        }
        flat = [str(part) for pair in options.items() for part in pair]
        return [sys.executable, "-m", "radicale", "--config", os.devnull, *flat]
    if kind == "wsgidav":
        return _webdav_command(port, folder)
    return [
        str(Path(sys.executable).with_name("xandikos")), "serve", "--defaults",
        "--listen-address", "127.0.0.1", "-p", str(port), "-d", str(folder / "store"),
        "--current-user-principal", "/user/",
    ]  # fmt: skip


def _webdav_command(port: int, folder: Path) -> list[str]:
    (folder / "store" / "woods").mkdir(parents=True)
    config = {
        "host": "127.0.0.1",
        "port": port,
        "provider_mapping": {"/": str(folder / "store")},
        "simple_dc": {"user_mapping": {"*": {USER: {"password": PASSWORD}}}},
        "http_authenticator": {"accept_digest": False, "default_to_digest": False},
    }
    (folder / "wsgidav.json").write_text(json.dumps(config), encoding="utf-8")
    program = str(Path(sys.executable).with_name("wsgidav"))
    return [program, "--config", str(folder / "wsgidav.json")]


def _await(port: int, process: subprocess.Popen[bytes]) -> None:
    until = time.monotonic() + START_S
    while time.monotonic() < until and process.poll() is None:
        try:
            socket.create_connection(("127.0.0.1", port), timeout=1).close()
        except OSError:
            time.sleep(0.05)
        else:
            return
    pytest.fail(f"the server did not start (exit code {process.poll()})")
