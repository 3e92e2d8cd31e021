"""The small server and readers that mean harm: none holds it up, none gets what is not theirs."""

import os
import socket
import sys
import time
from contextlib import suppress

import pytest

from scheduler.desk import links_in, web
from tests.desk.test_feeds_served import Served, raw, served  # noqa: F401  # a fixture


def seconds_until_closed(line: socket.socket, request: bytes, pause_s: float) -> float:
    """How long the server bears with a request that trickles in; ten seconds at most."""
    begin = time.monotonic()
    line.settimeout(pause_s)
    for at in range(int(10 / pause_s)):
        with suppress(TimeoutError):
            try:
                line.sendall(request[at : at + 1] or b"a")
                if not line.recv(1):
                    break
            except ConnectionError:
                break
    return time.monotonic() - begin


@pytest.mark.parametrize(
    "request_head", [b"", b"GET /x HTTP/1.1\r\n", b"GET /x HTTP/1.1\r\nHost: localhost\r\nX: "]
)
def test_a_request_that_trickles_in_is_not_waited_for(
    served: Served,  # noqa: F811  # the fixture
    monkeypatch: pytest.MonkeyPatch,
    request_head: bytes,
) -> None:
    monkeypatch.setattr(web, "READER_S", 0.5)
    with socket.create_connection(("127.0.0.1", served.port), timeout=5) as line:
        line.sendall(request_head)
        assert seconds_until_closed(line, b"", 0.1) < 3
    assert served.ask(served.path).status == 200


def test_a_reader_that_waits_for_another_turn_is_let_go(
    served: Served,  # noqa: F811  # the fixture
) -> None:
    with socket.create_connection(("127.0.0.1", served.port), timeout=5) as line:
        line.sendall(f"HEAD {served.path} HTTP/1.1\r\nHost: localhost\r\n\r\n".encode())
        assert line.recv(4096).startswith(b"HTTP/1.1 200 OK\r\n")
        assert line.recv(4096) == b""


def test_a_reader_that_does_not_take_its_answer_is_let_go(
    served: Served,  # noqa: F811  # the fixture
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(web, "READER_S", 0.5)
    large = b"a" * 20_000_000  # more than the buffers of the system take
    (served.root / "large.ics").write_bytes(large)
    with socket.create_connection(("127.0.0.1", served.port), timeout=5) as line:
        path = f"/{links_in(served.root).token('large')}/large.ics"
        line.sendall(f"GET {path} HTTP/1.1\r\nHost: localhost\r\n\r\n".encode())
        time.sleep(1.5)
        taken = 0
        with suppress(ConnectionError):
            while part := line.recv(2**20):
                taken += len(part)
    assert 0 < taken < len(large)
    assert served.ask(served.path).status == 200


def test_one_reader_too_many_is_told_and_the_next_is_served(
    served: Served,  # noqa: F811  # the fixture
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(web, "MOST_READERS", 5)
    idle = [socket.create_connection(("127.0.0.1", served.port), timeout=5) for _ in range(5)]
    try:
        with socket.create_connection(("127.0.0.1", served.port), timeout=5) as late:
            assert late.recv(4096).startswith(b"HTTP/1.1 503 ")
            assert late.recv(4096) == b""
    finally:
        for line in idle:
            line.close()
    time.sleep(0.2)
    assert served.ask(served.path).status == 200


HERE = socket.gethostname().lower()


@pytest.mark.parametrize(
    ("hosts", "status"),
    [
        (["127.0.0.1:8008"], 200), (["10.0.0.7"], 200), (["[::1]:8008"], 200),
        (["LOCALHOST"], 200), ([HERE], 200), ([f"{HERE.partition('.')[0]}.local:80"], 200),
        ([], 400),  # without one it is no request (RFC 9112 3.2), nor with two
        (["evil.example"], 421), (["evil.example:8008"], 421), (["127.0.0.1.evil.example"], 421),
        ([f"{HERE.partition('.')[0]}.example"], 421), (["[::1"], 421), (["127.0.0.1@e.org"], 421),
        (["localhost", "evil.example"], 400), (["127.0.0.1/evil.example"], 421),
    ],
)  # fmt: skip
def test_a_name_that_is_none_of_this_machine_is_refused(
    served: Served,  # noqa: F811  # the fixture
    hosts: list[str],
    status: int,
) -> None:
    """A page elsewhere could read feeds through a visitor's browser (RFC 9110 15.5.20)."""
    named = "".join(f"Host: {host}\r\n" for host in hosts)
    reply = raw(served, f"GET {served.path} HTTP/1.1\r\n{named}\r\n".encode())
    assert reply.startswith(f"HTTP/1.1 {status} ".encode())
    assert (b"VCALENDAR" in reply) == (status == 200)


@pytest.mark.skipif(sys.platform == "win32", reason="named pipes of POSIX")
def test_pipes_links_and_hidden_files_are_neither_served_nor_listed(
    served: Served,  # noqa: F811  # the fixture
) -> None:
    os.mkfifo(served.root / "pipe.ics")
    (served.root / "link.ics").symlink_to(served.root.parent / "secret.ics")
    (served.root / ".hidden.ics").write_bytes(b"hidden")
    (served.root / "folder.ics").mkdir()
    (served.root / "plain one.ics").write_bytes(b"plain")
    token = links_in(served.root).token
    for name in ("pipe", "link", ".hidden", "folder"):
        assert served.ask(f"/{token(name)}/{name}.ics").status == 404
    assert served.ask(f"/{token('plain one')}/plain%20one.ics").body == b"plain"
    assert [path.name for path in web.feeds_in(served.root)] == ["plain one.ics", "work.ics"]
