"""A feed pushed as one file to plain WebDAV, and the password taken from a real keyring."""

import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from typer.testing import CliRunner

from scheduler.calendars import ForeignFeedError
from scheduler.calendars.ics import Event
from scheduler.commands.app import app
from scheduler.ways_out import PushError, Server, push_feed
from scheduler.ways_out.push import Report
from tests.sites import ROOT
from tests.ways_out.servers import PASSWORD, USER, CalendarServer, running
from tests.ways_out.test_push import replies_lost, work, written

NAME = "work.ics"


@pytest.fixture(scope="module")
def running_server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[CalendarServer]:
    with running("wsgidav", tmp_path_factory.mktemp("wsgidav")) as server:
        yield server


@pytest.fixture
def server(running_server: CalendarServer) -> CalendarServer:
    """The server, emptied."""
    for name in running_server.names():
        running_server.ask("DELETE", name)
    return running_server


def pushed(
    folder: Path, server: CalendarServer, events: tuple[Event, ...], day: int = 0
) -> Report:
    path = written(folder, events, day)
    place = Server(server.url + NAME, USER, PASSWORD)
    return push_feed(path, place, folder / "memory.json", whole=True)


def test_a_feed_is_one_file_there_byte_for_byte_and_sent_only_if_it_changed(
    server: CalendarServer, tmp_path: Path
) -> None:
    assert pushed(tmp_path, server, work(weed=1, cut=2)) == Report(new=1)
    assert server.ask("GET", NAME) == (tmp_path / NAME).read_bytes()
    assert pushed(tmp_path, server, work(weed=1, cut=2)) == Report(unchanged=1)
    assert pushed(tmp_path, server, work(weed=1, cut=9), 1) == Report(changed=1)
    assert server.ask("GET", NAME) == (tmp_path / NAME).read_bytes()
    assert server.names() == {NAME}


def test_a_file_that_somebody_else_put_or_changed_there_is_left(
    server: CalendarServer, tmp_path: Path
) -> None:
    server.ask("PUT", NAME, b"somebody's own calendar")
    assert pushed(tmp_path, server, work(weed=1)).left_alone == [""], "If-None-Match: *"
    assert server.ask("GET", NAME) == b"somebody's own calendar"
    server.ask("DELETE", NAME)
    assert pushed(tmp_path, server, work(weed=1)) == Report(new=1)
    server.ask("PUT", NAME, b"written over by somebody")
    assert pushed(tmp_path, server, work(weed=2), 1).left_alone == [""], "If-Match"
    assert server.ask("GET", NAME) == b"written over by somebody"


def test_a_file_removed_there_is_reported_though_this_server_ignores_the_condition(
    server: CalendarServer, tmp_path: Path
) -> None:
    """RFC 9110 13.1.1 wants 412 of If-Match where there is no file; this server answers 201."""
    pushed(tmp_path, server, work(weed=1))
    server.ask("DELETE", NAME)
    assert pushed(tmp_path, server, work(weed=1)) == Report(left_alone=[""])
    assert pushed(tmp_path, server, work(weed=2), 1) == Report(left_alone=[""])
    assert server.names() == set()


def test_a_push_that_was_not_remembered_is_found_there(
    server: CalendarServer, tmp_path: Path
) -> None:
    pushed(tmp_path, server, work(weed=1))
    (tmp_path / "memory.json").unlink()
    assert pushed(tmp_path, server, work(weed=1)) == Report(unchanged=1)
    assert pushed(tmp_path, server, work(weed=2), 1) == Report(changed=1)


def test_a_lost_reply_is_no_strangers_edit(
    server: CalendarServer, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    pushed(tmp_path, server, work(weed=1))
    with replies_lost(monkeypatch, "put"):
        pushed(tmp_path, server, work(weed=2), 1)
    assert pushed(tmp_path, server, work(weed=3), 2) == Report(changed=1)
    assert server.ask("GET", NAME) == (tmp_path / NAME).read_bytes()


def test_an_empty_feed_takes_the_file_away_only_if_asked(
    server: CalendarServer, tmp_path: Path
) -> None:
    pushed(tmp_path, server, work(weed=1))
    server.ask("PUT", "theirs.ics", b"x")
    with pytest.raises(ForeignFeedError, match="--allow-empty"):
        pushed(tmp_path, server, (), 1)
    place = Server(server.url + NAME, USER, PASSWORD)
    report = push_feed(
        tmp_path / NAME, place, tmp_path / "memory.json", whole=True, allow_empty=True
    )
    assert report == Report(removed=1)
    assert server.names() == {"theirs.ics"}


def test_a_folder_is_no_place_for_a_file(server: CalendarServer, tmp_path: Path) -> None:
    path = written(tmp_path, work(weed=1))
    with pytest.raises(PushError, match="nothing can be written at this address"):
        push_feed(path, Server(server.url, USER, PASSWORD), tmp_path / "memory.json", whole=True)


def test_radicale_takes_a_whole_calendar_at_the_address_of_a_collection(tmp_path: Path) -> None:
    (tmp_path / "server").mkdir()
    with running("radicale", tmp_path / "server") as server:
        path = written(tmp_path, work(weed=1, cut=2))
        url, memory = server.url.replace("/woods/", "/whole/"), tmp_path / "memory.json"

        def push() -> Report:
            return push_feed(path, Server(url, USER, PASSWORD), memory, whole=True)

        assert push() == Report(new=1)
        assert push() == Report(unchanged=1)
        written(tmp_path, work(weed=1, cut=9), later_days=1)
        assert push() == Report(changed=1)


def test_the_command_says_in_plain_words_that_the_file_was_changed(
    server: CalendarServer, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("SCHEDULER_PASSWORD", PASSWORD)
    path = written(tmp_path, work(weed=1))
    run = ["push", str(path), server.url + NAME, "--user", USER, "--whole"]
    assert CliRunner().invoke(app, run).stdout == "1 new, 0 changed, 0 removed, 0 unchanged\n"
    server.ask("PUT", NAME, b"written over by somebody")
    written(tmp_path, work(weed=5), later_days=1)
    told = CliRunner().invoke(app, run)
    assert told.exit_code == 1
    assert told.stderr == (
        "the feed was changed or removed there by somebody else; left as it is\n"
    )


def test_the_password_is_taken_from_the_keyring_as_the_error_says(
    server: CalendarServer, tmp_path: Path
) -> None:
    """The real library and its own command, with a keyring that is a file."""
    path = written(tmp_path, work(weed=1))
    env = {name: value for name, value in os.environ.items() if name != "SCHEDULER_PASSWORD"}
    env |= {
        "PYTHON_KEYRING_BACKEND": "tests.ways_out.key_file.FileKeyring",
        "KEY_FILE": str(tmp_path / "keys.json"),
        "PYTHONPATH": str(ROOT),
    }

    def run(*command: str, told: str = "") -> subprocess.CompletedProcess[str]:
        program = str(Path(sys.executable).with_name(command[0]))
        return subprocess.run(
            [program, *command[1:]],
            env=env, input=told, capture_output=True, text=True, check=False, timeout=60,
        )  # fmt: skip

    push = ("scheduler", "push", str(path), server.url + NAME, "--user", USER, "--whole")
    refused = run(*push)
    assert refused.returncode == 2
    told = f"`keyring set scheduler {USER}@127.0.0.1`"
    assert told in refused.stderr
    kept = run(*told.strip("`").split(), told=PASSWORD)
    assert kept.returncode == 0, kept.stderr
    done = run(*push)
    assert (done.returncode, done.stdout) == (0, "1 new, 0 changed, 0 removed, 0 unchanged\n")
    assert server.names() == {NAME}
