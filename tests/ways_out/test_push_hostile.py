"""Pushing to servers that mean harm or are broken: an end in time, a plain line, nothing raw."""

import itertools
import json
import os
import socket
import sys
import time
from collections.abc import Callable, Iterable
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from scheduler.calendars import sense_of
from scheduler.commands.app import app
from scheduler.ways_out import PushError, Server, push_feed, webdav
from scheduler.ways_out.push import Report
from tests.ways_out.servers import scripted
from tests.ways_out.test_push import name_of, work, written

LONG_S = 5.0  # what takes longer than this would have gone on
NEEDS_PIPES = pytest.mark.skipif(sys.platform == "win32", reason="named pipes of POSIX")
OK, LISTED = b"HTTP/1.1 200 OK\r\n", b"HTTP/1.1 207 Multi-Status\r\n"


def sending(
    *parts: Iterable[bytes], pause_s: float = 0.0
) -> Callable[[bytes, socket.socket], None]:
    def answer(_: bytes, line: socket.socket) -> None:
        for part in itertools.chain(*parts):
            line.sendall(part)
            time.sleep(pause_s)

    return answer


def whole(head: bytes, body: bytes) -> bytes:
    return head + b"Content-Length: %d\r\n\r\n" % len(body) + body


TRICKLES = {
    "silence": sending((), pause_s=0),
    "interim answers without end": sending(itertools.repeat(b"HTTP/1.1 100 Continue\r\n\r\n")),
    "a trickled head": sending([OK, b"X: "], itertools.repeat(b"a"), pause_s=0.05),
    "a trickled body": sending(
        [LISTED, b"Content-Length: 9999\r\n\r\n"], itertools.repeat(b"a"), pause_s=0.05
    ),
}
FLOODS = {
    "a huge line": sending([OK, b"X: "], itertools.repeat(b"a" * 9999)),
    "headers without end": sending([OK], itertools.repeat(b"X: y\r\n" * 999)),
    "no HTTP": sending([b"\x00\x1b[31mSSH-2.0\r\n\r\n"]),
    "controls in a header": sending([whole(b"HTTP/1.1 302 X\r\nLocation: \x1b[2J\x07\r\n", b"")]),
    "an entity bomb": sending(
        [whole(LISTED, b'<!DOCTYPE a [<!ENTITY b "bb"><!ENTITY c "&b;&b;">]><a>&c;</a>')]
    ),
    "half a list": sending([whole(LISTED, b"<multistatus xmlns='DAV:'><response>")]),
    "an encoding that is none": sending(
        [whole(LISTED, b'<?xml version="1.0" encoding="x"?><a/>')]
    ),
    "a body that ends early": sending([LISTED + b"Content-Length: 99\r\n\r\n<a"], pause_s=0.1),
}


def refused(port: int, folder: Path) -> str:
    """What a push to a hostile server says, in time and in one plain line."""
    path, begin = written(folder, work(cut=2)), time.monotonic()
    with pytest.raises(PushError) as told:
        push_feed(path, Server(f"http://127.0.0.1:{port}/x/"), folder / "memory.json")
    assert time.monotonic() - begin < LONG_S
    said = str(told.value)
    assert said.isprintable()
    assert len(said) < 400
    return said


@pytest.mark.parametrize("answer", TRICKLES.values(), ids=TRICKLES.keys())
def test_no_server_holds_a_push_for_ever(
    answer: Callable[[bytes, socket.socket], None], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(webdav, "PATIENCE_S", 0.3)
    with scripted(answer) as (port, _):
        assert "no whole answer in time" in refused(port, tmp_path)


@pytest.mark.parametrize("answer", FLOODS.values(), ids=FLOODS.keys())
def test_what_is_no_answer_gets_a_plain_line(
    answer: Callable[[bytes, socket.socket], None], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(webdav, "PATIENCE_S", 2.0)
    with scripted(answer) as (port, _):
        refused(port, tmp_path)


@pytest.mark.parametrize("length", [b"", b"Content-Length: 9999999999\r\n"])
def test_a_reply_without_end_is_read_to_the_limit(length: bytes, tmp_path: Path) -> None:
    sent: list[int] = []

    def answer(request: bytes, line: socket.socket) -> None:
        head = LISTED if request.startswith(b"PROPFIND") else b"HTTP/1.1 201 Created\r\n"
        line.sendall(head + length + b"\r\n")
        while True:
            sent.append(line.send(b"<" * 65536))

    with scripted(answer) as (port, _):
        assert "sends more than 1000000 bytes" in refused(port, tmp_path)
    assert sum(sent) < 2 * 10_000_000, "two replies, and what the system keeps on its way"


def test_all_requests_together_have_a_deadline(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(webdav, "PUSH_S", 1.5)

    def answer(request: bytes, line: socket.socket) -> None:
        time.sleep(0.4)
        if request.startswith(b"PROPFIND"):
            line.sendall(whole(LISTED, b'<multistatus xmlns="DAV:"/>'))
        else:
            line.sendall(whole(b'HTTP/1.1 201 Created\r\nETag: "a"\r\n', b""))

    with scripted(answer) as (port, heard):
        path = written(tmp_path, work(weed=1, cut=2, mulch=3, prune=4, lop=5))
        with pytest.raises(PushError, match="in time"):
            push_feed(path, Server(f"http://127.0.0.1:{port}/x/"), tmp_path / "memory.json")
    assert 1 < len(heard) < 5
    kept = json.loads((tmp_path / "memory.json").read_text(encoding="utf-8"))
    assert kept[f"http://127.0.0.1:{port}/x/"], "what was done is remembered"


def nested(deep: int) -> bytes:
    parts = b"BEGIN:VEVENT\r\n" * deep + b"END:VEVENT\r\n" * deep
    return b"BEGIN:VCALENDAR\r\n" + parts + b"END:VCALENDAR\r\n"


@pytest.mark.parametrize(
    "content",
    [nested(1500), nested(30_000), b"BEGIN:VCALENDAR\r\n" + b"BEGIN:X\r\nEND:X\r\n" * 50_000],
    ids=["deep", "deep and large", "many"],
)
def test_a_nested_item_is_left_in_time(content: bytes, tmp_path: Path) -> None:
    def answer(request: bytes, line: socket.socket) -> None:
        if request.startswith(b"PROPFIND"):
            line.sendall(whole(b"HTTP/1.1 405 No\r\n", b""))
        elif request.startswith(b"PUT"):
            line.sendall(whole(b"HTTP/1.1 412 No\r\n", b""))
        else:
            line.sendall(whole(OK + b'ETag: "a"\r\n', content))

    begin = time.monotonic()
    with scripted(answer) as (port, _):
        path = written(tmp_path, work(cut=2))
        place = Server(f"http://127.0.0.1:{port}/x/")
        report = push_feed(path, place, tmp_path / "memory.json")
    assert report == Report(left_alone=[name_of("cut")])
    assert time.monotonic() - begin < LONG_S


def test_a_whole_calendar_of_nested_parts_is_looked_at_in_time() -> None:
    begin = time.monotonic()
    assert sense_of(nested(30_000)) != sense_of(nested(29_999))
    assert time.monotonic() - begin < 2 * LONG_S


def test_a_servers_words_are_cleaned_and_shortened(tmp_path: Path) -> None:
    place = "Location: https://e.org/\u202eevil\x85" + "a" * 9000 + "\r\n"
    answer = sending([whole(b"HTTP/1.1 302 Found\r\n" + place.encode(), b"")])
    with scripted(answer) as (port, _):
        assert "it has moved to https://e.org/evil aaaa" in refused(port, tmp_path)


@pytest.mark.parametrize("etag", ['W/"a"', "a", '"é"', '"a' + "b" * 5000 + '"', '"a b"'])
def test_a_validator_that_cannot_be_sent_back_is_not_taken(etag: str, tmp_path: Path) -> None:
    path = written(tmp_path, work(cut=2))
    item = path.read_bytes()

    def answer(request: bytes, line: socket.socket) -> None:
        head = LISTED if request.startswith(b"PROPFIND") else OK
        body = item if request.startswith(b"GET") else b'<multistatus xmlns="DAV:"/>'
        line.sendall(whole(head + f"ETag: {etag}\r\n".encode(), body))

    with scripted(answer) as (port, _):
        assert "no strong ETag" in refused(port, tmp_path)


def ran(*args: object) -> Result:
    result = CliRunner().invoke(app, ["push", *(str(arg) for arg in args)])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    assert result.exit_code == 2
    assert len(result.stderr.splitlines()) == 1
    return result


@pytest.mark.parametrize(
    "url",
    [
        "http://host:99999/", "http://host:0/", "http://host:-1/", "http://host:x/", "http://[::1",
        "https://[x", "https://a..b/", "https://" + "a" * 64 + "/", "https:///x", "https://",
        "https://example.org/a b", "https:// example.org/", "https://example.org/\x1b[31m",
        "https://example.org/\r\nX: y", "https://example.org/?a=b", "https://example.org/#a",
        "https://example.org/\udcff", "https://me:se[cret@[x/", "http://h:" + "9" * 5000, "", "::",
    ],
)  # fmt: skip
def test_an_odd_address_gets_one_plain_line(url: str, tmp_path: Path) -> None:
    path = written(tmp_path, work(cut=2))
    for options in ((), ("--user", "me"), ("--whole",)):
        said = ran(path, url, *options).stderr.rstrip("\n")
        assert said.isprintable()
        assert len(said) < 300
        assert "cret" not in said


def test_letters_of_any_language_are_encoded(tmp_path: Path) -> None:
    """RFC 3986 2.5: as UTF-8, then percent-encoded."""
    with scripted(sending([whole(b"HTTP/1.1 404 No\r\n", b"")])) as (port, heard):
        said = ran(written(tmp_path, work(cut=2)), f"http://127.0.0.1:{port}/Uxía/").stderr
    assert "404: there is no such collection" in said
    assert heard[0].startswith(b"PROPFIND /Ux%C3%ADa/ HTTP/1.1\r\n")


@NEEDS_PIPES
def test_what_is_no_feed_file_gets_a_plain_line(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.ics")
    for path in (tmp_path / "pipe.ics", tmp_path, Path(os.devnull), Path()):
        assert f"{path}: " in ran(path, "http://127.0.0.1:9/x/").stderr


@NEEDS_PIPES
@pytest.mark.parametrize("kind", [os.mkfifo, os.mkdir])
def test_a_memory_that_is_no_file_is_named_and_left(
    kind: Callable[[Path], None], tmp_path: Path
) -> None:
    path, memory = written(tmp_path, work(cut=2)), tmp_path / "work.pushed.json"
    kind(memory)
    before = memory.lstat().st_mode
    assert str(memory) in ran(path, "http://127.0.0.1:9/x/").stderr
    assert memory.lstat().st_mode == before


@pytest.mark.parametrize(
    "content",
    [
        b"[" * 100_000, b'{"u":' * 100_000, b'{"u": {"x": {"etag": ' + b"9" * 5000 + b"}}}",
        b"\xff", b"", b"null", b"7", b'{"u": []}', b'{"u": {"x": "y"}}',
        b'{"u": {"x": {"etag": "a"}}}',
        b'{"\\ud800": {}}', b'{"u": {"x": {"etag": "", "digest": "", "ours": 7}}}',
    ],
    ids=lambda content: content[:24].decode("ascii", "replace"),
)  # fmt: skip
def test_a_memory_that_cannot_be_read_is_named_and_left(content: bytes, tmp_path: Path) -> None:
    path, memory = written(tmp_path, work(cut=2)), tmp_path / "work.pushed.json"
    memory.write_bytes(content)
    said = ran(path, "http://127.0.0.1:9/x/").stderr
    assert f"{memory} is left as it is" in said
    assert memory.read_bytes() == content
