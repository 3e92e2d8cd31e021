"""Calendars from the desk: what it sends, what it refuses, what it keeps to itself."""

import http.client
import signal
import socket
import struct
import subprocess
import sys
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

import pytest
from typer.testing import CliRunner

from scheduler.commands.app import app
from scheduler.desk import links_in, listening
from scheduler.ways_out import Manner, address_of, write_feeds
from tests.sites import AS_OF, new_site
from tests.ways_out.servers import serving
from tests.ways_out.test_disk import feed

NOW = Manner(datetime(2026, 11, 25, tzinfo=UTC))


@dataclass
class Answer:
    status: int
    headers: http.client.HTTPMessage
    body: bytes


@dataclass
class Served:
    root: Path
    port: int
    lines: list[str] = field(default_factory=list)

    def ask(self, target: str, method: str = "GET", **headers: str) -> Answer:
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=5)
        named = {name.replace("_", "-"): value for name, value in headers.items()}
        try:
            connection.putrequest(method, target, skip_accept_encoding=True)
            for name, value in named.items():
                connection.putheader(name, value)
            connection.endheaders()
            reply = connection.getresponse()
            return Answer(reply.status, reply.headers, reply.read())
        finally:
            connection.close()

    @property
    def path(self) -> str:
        return f"/{links_in(self.root).token('work')}/work.ics"


@pytest.fixture
def served(tmp_path: Path) -> Iterator[Served]:
    root = tmp_path / "www"
    write_feeds([feed("words")], root, NOW)
    (tmp_path / "secret.ics").write_bytes(b"outside")
    lines: list[str] = []
    with serving(root, log=lines.append) as own:
        yield Served(root, own.port, lines)


def test_a_feed_comes_with_its_type_and_both_validators(served: Served) -> None:
    answer = served.ask(served.path)
    assert answer.status == 200
    assert answer.body == (served.root / "work.ics").read_bytes()
    headers = answer.headers
    assert headers["Content-Type"] == "text/calendar; charset=utf-8"
    assert headers["Content-Disposition"] == 'inline; filename="work.ics"'
    assert headers["ETag"].startswith('"')
    assert headers["Last-Modified"].endswith(" GMT")
    assert headers["Referrer-Policy"] == "no-referrer"
    assert headers["X-Robots-Tag"] == "noindex"
    assert "private" in headers["Cache-Control"]
    assert "Content-Encoding" not in headers
    assert headers["Server"] == "scheduler"


def test_head_is_get_without_the_bytes(served: Served) -> None:
    got, head = served.ask(served.path), served.ask(served.path, "HEAD")
    assert head.status == 200
    assert head.body == b""
    for name in ("ETag", "Last-Modified", "Content-Length", "Content-Type"):
        assert head.headers[name] == got.headers[name]


def test_what_has_not_changed_is_not_sent_again(served: Served) -> None:
    """RFC 9110: weak comparison 8.8.3.2, lists and ``*`` 13.1.2, dates 13.1.3, order 13.2.2."""
    first = served.ask(served.path).headers
    tag, date = first["ETag"], first["Last-Modified"]
    for value in (tag, f"W/{tag}", f'"other", {tag}', "*"):
        answer = served.ask(served.path, If_None_Match=value)
        assert (answer.status, answer.body) == (304, b""), value
        assert answer.headers["ETag"] == tag
    assert served.ask(served.path, If_Modified_Since=date).status == 304
    assert served.ask(served.path, If_Modified_Since="Mon, 01 Jan 2001 00:00:00 GMT").status == 200
    assert served.ask(served.path, If_Modified_Since="no date at all").status == 200
    assert served.ask(served.path, If_None_Match='"other"', If_Modified_Since=date).status == 200


def test_a_feed_that_was_written_again_is_sent_again(served: Served) -> None:
    tag = served.ask(served.path).headers["ETag"]
    write_feeds([feed("other words")], served.root, NOW)
    answer = served.ask(served.path, If_None_Match=tag)
    assert answer.status == 200
    assert b"other words" in answer.body


@pytest.mark.parametrize(
    "target",
    [
        "/", "//", "/.", "/..", "/../secret.ics", "/%2e%2e/secret.ics", "/..%2fsecret.ics",
        "/%2e%2e%2fsecret.ics", "/..\\secret.ics", "/%00", "/.hidden/x.ics", "/a/b/c.ics", "x.ics",
        "/link.ics", "/linked/secret.ics", "/%ff%fe/x.ics", "/work.ics", "/notes.txt",
        "http://127.0.0.1/../secret.ics", "/" + "a" * 5000,
    ],
)  # fmt: skip
def test_nothing_else_is_sent_and_nothing_is_listed(served: Served, target: str) -> None:
    (served.root / "link.ics").symlink_to(served.root.parent / "secret.ics")
    (served.root / "linked").symlink_to(served.root.parent)
    (served.root / ".hidden").mkdir()
    (served.root / ".hidden" / "x.ics").write_bytes(b"hidden")
    (served.root / "notes.txt").write_bytes(b"notes")
    answer = served.ask(target)
    assert (answer.status, answer.body) == (404, b"")


def test_a_folder_with_the_right_token_is_not_listed_either(served: Served) -> None:
    token = served.path.split("/")[1]
    for target in (f"/{token}", f"/{token}/.", f"/{token}/*", f"/{token}/../sky.ics"):
        assert served.ask(target).status == 404, target


@pytest.mark.parametrize("method", ["PUT", "DELETE", "PROPFIND", "OPTIONS"])
def test_other_methods_change_nothing(served: Served, method: str) -> None:
    before = (served.root / "work.ics").read_bytes()
    assert served.ask(served.path, method).status == 405
    assert (served.root / "work.ics").read_bytes() == before


def test_the_log_never_holds_a_token_or_an_address(
    served: Served, capfd: pytest.CaptureFixture[str]
) -> None:
    token = served.path.split("/")[1]
    served.ask(served.path)
    served.ask(f"/{token}/nothing.ics")
    served.ask(served.path, "BREW")
    with socket.create_connection(("127.0.0.1", served.port), timeout=5) as raw:
        raw.sendall(f"GET /{token}/x HTTP/9.9 junk\r\n\r\n".encode())
        raw.recv(4096)
    said = "\n".join(served.lines) + "".join(capfd.readouterr())
    assert "GET 200 work.ics" in said
    assert token not in said
    assert "127.0.0.1" not in said


def raw(served: Served, request: bytes) -> bytes:
    """Everything that comes back until the server closes."""
    with socket.create_connection(("127.0.0.1", served.port), timeout=5) as line:
        line.sendall(request)
        return b"".join(iter(lambda: line.recv(65536), b""))


@pytest.mark.parametrize(
    "request_line",
    [
        b"GARBAGE",
        b"GET /%s HTTP/9.9",
        b"GET /%s HTTP/1.1 junk",
        b"GET /%s HTTP/x",
        b"GET /%s\x00 HTTP/1.1",
        b"GET http://[%s HTTP/1.1",
        b"GET /" + b"a" * 70_000 + b" HTTP/1.1",
        b"/%s /%s HTTP/1.1",
        b"\x1b[31mGET /%s HTTP/1.1",
        b"\x16\x03\x01\x02\x00\x01",  # somebody tries TLS
    ],
)
def test_what_is_no_request_gets_a_plain_no_and_is_quoted_nowhere(
    served: Served, capfd: pytest.CaptureFixture[str], request_line: bytes
) -> None:
    token = served.path.split("/")[1].encode()
    reply = raw(served, request_line.replace(b"%s", token) + b"\r\nHost: localhost\r\n\r\n")
    assert reply.split(b" ")[1] in (b"400", b"404")
    assert token not in reply
    assert served.ask(served.path).status == 200, "the next reader is served"
    said = "\n".join(served.lines) + "".join(capfd.readouterr())
    assert token.decode() not in said
    assert "\x1b" not in said
    assert "Traceback" not in said


def test_older_readers_are_served_too(served: Served) -> None:
    """HTTP/1.0 closes after each answer and names no host (RFC 1945)."""
    reply = raw(served, f"GET {served.path} HTTP/1.0\r\n\r\n".encode())
    head, _, body = reply.partition(b"\r\n\r\n")
    assert head.startswith(b"HTTP/1.1 200 OK\r\n")
    assert body == (served.root / "work.ics").read_bytes()


def test_bytes_after_a_request_are_not_taken_for_another(served: Served) -> None:
    inside = f"GET {served.path} HTTP/1.1\r\nHost: localhost\r\n\r\n"
    for field_line in ("", f"Content-Length: {len(inside)}\r\n", "Transfer-Encoding: chunked\r\n"):
        head = f"GET /nothing HTTP/1.1\r\nHost: localhost\r\n{field_line}\r\n"
        reply = raw(served, (head + inside).encode())
        assert reply.count(b"HTTP/1.1 ") == 1
        assert b" 200 " not in reply


def test_a_reader_that_goes_away_is_not_told_of(
    served: Served, capfd: pytest.CaptureFixture[str]
) -> None:
    """The connection is reset, not closed: linger 0 (POSIX SO_LINGER)."""
    for _ in range(20):
        line = socket.create_connection(("127.0.0.1", served.port), timeout=5)
        line.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))
        line.sendall(f"GET {served.path} HTTP/1.1\r\nHost: localhost\r\n\r\n".encode())
        line.close()
    assert served.ask(served.path).status == 200
    time.sleep(0.2)
    assert capfd.readouterr() == ("", "")


def test_many_readers_at_once_and_idle_ones_beside_them(served: Served) -> None:
    content = (served.root / "work.ics").read_bytes()
    idle = [socket.create_connection(("127.0.0.1", served.port), timeout=5) for _ in range(100)]
    try:
        begin = time.perf_counter()
        with ThreadPoolExecutor(20) as readers:
            answers = list(readers.map(lambda _: served.ask(served.path), range(200)))
        assert {(a.status, a.body) for a in answers} == {(200, content)}
        assert time.perf_counter() - begin < 20
    finally:
        for line in idle:
            line.close()


def test_the_command_serves_a_site_says_where_and_stops_when_asked(tmp_path: Path) -> None:
    command = [sys.executable, "-u", "-c", "from scheduler.commands.app import run; run()"]
    site, folder = new_site(tmp_path / "site"), tmp_path / "calendars"
    options = ["--to", str(folder), "--port", "0", "--as-of", str(AS_OF)]
    with subprocess.Popen(
        [*command, "serve", str(site), *options],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    ) as server:
        try:
            assert server.stdout is not None
            at, stops = (server.stdout.readline().strip() for _ in range(2))
            assert stops == "Ctrl-C stops it."
            port = int(at.removesuffix("/").rpartition(":")[2])
            served = Served(folder, port)
            assert served.ask(served.path).body == (folder / "work.ics").read_bytes()
            with socket.create_connection(("127.0.0.1", port), timeout=5):  # says nothing
                server.send_signal(signal.SIGINT)
                out, err = server.communicate(timeout=10)
            assert (server.returncode, out, err) == (0, "GET 200 work.ics\nStopped.\n", "")
        finally:
            server.kill()


@pytest.mark.parametrize(
    ("host", "port"),
    [("no.such.host.invalid", "0"), ("127.0.0.1", "taken"), ("192.0.2.1", "0"), ("a..b", "0")],
)
def test_an_address_that_cannot_be_had_is_said_by_its_option(
    served: Served, tmp_path: Path, host: str, port: str
) -> None:
    """192.0.2.0/24 is for documentation and belongs to nobody (RFC 5737)."""
    port = str(served.port) if port == "taken" else port
    site = new_site(tmp_path / "site")
    run = ["serve", str(site), "--to", str(tmp_path / "to"), "--host", host, "--port", port]
    result = CliRunner().invoke(app, run)
    assert result.exit_code == 2
    assert result.stderr.startswith(f"cannot listen at --host {host} --port {port}: ")


def test_a_server_of_ip_version_six_is_found(served: Served) -> None:
    try:
        listening("::1", 0).close()
    except OSError as error:
        pytest.skip(f"this machine has no IP version 6: {error.strerror}")
    with serving(served.root, "::1") as own:
        assert address_of("::1", own.port) == f"http://[::1]:{own.port}/"
        connection = http.client.HTTPConnection("::1", own.port, timeout=5)
        connection.request("GET", served.path)
        assert connection.getresponse().status == 200
        connection.close()
