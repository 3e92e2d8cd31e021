"""The way to the disk: whole or not at all, one writer at a time, plain words when it fails."""

import errno
import importlib.util
import os
import shlex
import subprocess
import sys
import textwrap
import threading
import time
from datetime import UTC, date, datetime
from pathlib import Path
from types import ModuleType, SimpleNamespace

import pytest

from scheduler.calendars import Feed, ForeignFeedError
from scheduler.calendars.ics import Event
from scheduler.files import BusyError, disk, locked, write_whole
from scheduler.ways_out import Manner, write_feeds
from scheduler.ways_out.folder import State
from tests.sites import ROOT

if sys.platform != "win32":
    import fcntl

NOW = datetime(2026, 11, 25, tzinfo=UTC)
posix = pytest.mark.skipif(sys.platform == "win32", reason="signals and users of POSIX")


def feed(words: str, name: str = "work", n_events: int = 1) -> Feed:
    day = date(2027, 3, 1)
    events = tuple(Event(f"{n}", "Low: work", day, day, words, ("x",)) for n in range(n_events))
    return Feed("hill", name, "Hill", "A feed of tests.", events)


def test_a_file_is_written_once_and_then_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "a"
    assert write_whole(path, b"one")
    before = path.stat()
    assert not write_whole(path, b"one")
    assert path.stat().st_ino == before.st_ino
    assert path.stat().st_mtime_ns == before.st_mtime_ns


@posix
def test_a_mode_that_the_owner_has_set_stays(tmp_path: Path) -> None:
    path = tmp_path / "a"
    write_whole(path, b"one", disk.PRIVATE_FILE)
    assert path.stat().st_mode & 0o777 == 0o600
    path.chmod(0o640)
    write_whole(path, b"two", disk.PRIVATE_FILE)
    assert path.stat().st_mode & 0o777 == 0o640


def test_file_and_folder_are_both_synced(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without the second the new name can be lost in a power cut (POSIX fsync, rationale)."""
    synced: list[str] = []
    real = os.fsync

    def fsync(handle: int) -> None:
        synced.append("folder" if os.path.isdir(f"/proc/self/fd/{handle}") else "file")  # noqa: PTH112  # a descriptor
        real(handle)

    monkeypatch.setattr(os, "fsync", fsync)
    if not Path("/proc/self/fd").exists():
        pytest.skip("no /proc to ask what was synced")
    write_whole(tmp_path / "a", b"one")
    assert synced == ["file", "folder"]


# Half of the kills hit the whole way, which mostly computes; half hit the way to the disk alone,
# over and over, with feeds of a megabyte.
KILLED = """
    import os, random, signal, sys, time
    from datetime import UTC, datetime
    from pathlib import Path
    from scheduler.files import sweep, write_whole
    from scheduler.files.disk import locked
    from scheduler.ways_out.folder import Manner, write_feeds
    from scheduler.calendars.ics import feed_bytes
    from tests.ways_out.test_disk import feed

    folder = Path(sys.argv[1])
    path = folder / "work.ics"
    now = datetime(2026, 11, 25, tzinfo=UTC)
    small = [feed("one", n_events=30), feed("two", n_events=40)]
    large = [feed_bytes(feed(word * 900, n_events=250), None, now) for word in ("one ", "two ")]

    def whole_way():
        for each in small:
            write_feeds([each], folder, Manner(now, may_lose=True))

    def disk_alone():
        for each in large:
            with locked(folder):
                sweep(path)
                write_whole(path, each)

    write_feeds(small[:1], folder, Manner(now, may_lose=True))
    draw, litter, seen = random.Random(7), 0, set()
    for kill in range(50):
        child = os.fork()
        if child == 0:
            while True:
                (disk_alone if kill % 2 else whole_way)()
        time.sleep(draw.uniform(0.0, 0.03))
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        content = path.read_bytes()
        assert content.startswith(b"BEGIN:VCALENDAR\\r\\n"), (kill, content[:40])
        assert content.endswith(b"END:VCALENDAR\\r\\n"), (kill, content[-40:])
        n_events = content.count(b"\\r\\nBEGIN:VEVENT\\r\\n")
        assert n_events == content.count(b"\\r\\nEND:VEVENT\\r\\n") in (30, 40, 250), kill
        seen.add(n_events)
        litter += any(folder.glob(".*.part"))
    write_feeds(small[:1], folder, Manner(now, may_lose=True))
    print(litter, len(list(folder.iterdir())), len(seen))
"""


def script(body: str, *args: object) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-c", textwrap.dedent(body), *map(str, args)],
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
    )


@posix
def test_a_writer_killed_many_times_leaves_a_whole_feed_and_no_litter(tmp_path: Path) -> None:
    done = script(KILLED, tmp_path)
    assert done.returncode == 0, done.stderr
    litter, left, kinds = map(int, done.stdout.split())
    assert litter > 0, "no kill hit a write: the test would prove nothing"
    assert left == 1, "only the feed is left after the next write"
    assert kinds > 1


def test_a_second_writer_waits_for_the_first(tmp_path: Path) -> None:
    order: list[str] = []

    def second() -> None:
        write_feeds([feed("second")], tmp_path, Manner(NOW))
        order.append("second")

    with locked(tmp_path):
        other = threading.Thread(target=second)
        other.start()
        time.sleep(0.2)
        order.append("first")
    other.join()
    assert order == ["first", "second"]


def test_a_second_writer_says_so_if_the_first_does_not_end(tmp_path: Path) -> None:
    with (
        locked(tmp_path),
        pytest.raises(BusyError, match=r"another program .* nothing was written"),
        locked(tmp_path, wait_s=0.1),
    ):
        pass
    with locked(tmp_path, wait_s=0):  # and afterwards the folder is free again
        pass


@posix
def test_two_programs_writing_at_once_lose_no_revision(tmp_path: Path) -> None:
    """Each raises SEQUENCE from what the other wrote: twenty moves, counted one by one."""
    body = """
        import sys
        from datetime import UTC, date, datetime, timedelta
        from pathlib import Path
        from dataclasses import replace
        from scheduler.ways_out.folder import Manner, write_feeds
        from tests.ways_out.test_disk import feed
        base, folder = feed("x"), Path(sys.argv[1])
        for n in range(10):
            day = date(2027, 1, 1) + timedelta(days=2 * n + int(sys.argv[2]))
            event = replace(base.events[0], first=day, last=day)
            write_feeds([replace(base, events=(event,))], folder, Manner(datetime.now(UTC)))
    """
    both = [
        subprocess.Popen([sys.executable, "-c", textwrap.dedent(body), str(tmp_path), str(n)])
        for n in (0, 1)
    ]
    assert [one.wait(60) for one in both] == [0, 0]
    assert b"SEQUENCE:19\r\n" in (tmp_path / "work.ics").read_bytes()


def test_a_full_disk_leaves_the_old_feed_and_says_so(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write_feeds([feed("old")], tmp_path, Manner(NOW))
    before = (tmp_path / "work.ics").read_bytes()

    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OSError, match=r"No space left on device .the old file is kept.*work.ics"):
        write_feeds([feed("new")], tmp_path, Manner(NOW))
    assert [path.name for path in tmp_path.iterdir()] == ["work.ics"]
    assert (tmp_path / "work.ics").read_bytes() == before


@posix
def test_a_limit_of_the_system_in_the_middle_of_a_write_leaves_the_old_feed(
    tmp_path: Path,
) -> None:
    """A real write that stops half way: the system cuts the file at 4 kB."""
    done = script(
        """
        import resource, signal, sys
        from datetime import UTC, datetime
        from pathlib import Path
        from scheduler.ways_out.folder import Manner, write_feeds
        from tests.ways_out.test_disk import feed
        folder, manner = Path(sys.argv[1]), Manner(datetime(2026, 11, 25, tzinfo=UTC))
        write_feeds([feed("old")], folder, manner)
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (4096, 4096))
        try:
            write_feeds([feed("new", n_events=100)], folder, manner)
        except OSError as error:
            print(error.strerror)
        """,
        tmp_path,
    )
    assert "the old file is kept" in done.stdout, done.stderr
    assert b"DESCRIPTION:old" in (tmp_path / "work.ics").read_bytes()
    assert [path.name for path in tmp_path.iterdir()] == ["work.ics"]


@posix
def test_a_read_only_folder_leaves_the_old_feed_and_says_so() -> None:
    """Nobody may write into 0555 but root, so root steps down for it."""
    done = script(
        """
        import os, sys, tempfile
        from datetime import UTC, datetime
        from pathlib import Path
        from scheduler.ways_out.folder import Manner, write_feeds
        from tests.ways_out.test_disk import feed
        manner = Manner(datetime(2026, 11, 25, tzinfo=UTC))
        with tempfile.TemporaryDirectory() as top:
            folder = Path(top) / "feeds"
            write_feeds([feed("old")], folder, manner)
            Path(top).chmod(0o755); folder.chmod(0o555)
            root = os.geteuid() == 0
            if root:
                os.seteuid(65534)
            try:
                write_feeds([feed("new")], folder, manner)
            except OSError as error:
                print(error.strerror, error.filename)
            if root:
                os.seteuid(0)
            assert b"DESCRIPTION:old" in (folder / "work.ics").read_bytes()
            folder.chmod(0o755)
        """
    )
    assert done.returncode == 0, done.stderr
    assert "Permission denied (the old file is kept)" in done.stdout
    assert "work.ics" in done.stdout


def test_one_foreign_file_keeps_all_feeds_from_being_written(tmp_path: Path) -> None:
    (tmp_path / "work.ics").write_bytes(b"my own notes")
    with pytest.raises(ForeignFeedError, match="left as it is"):
        write_feeds([feed("x", "frost"), feed("x")], tmp_path, Manner(NOW))
    assert [path.name for path in tmp_path.iterdir()] == ["work.ics"]


def test_a_title_that_looks_like_an_event_does_not_make_a_feed_full(tmp_path: Path) -> None:
    full = feed("x")
    write_feeds([full], tmp_path, Manner(NOW))
    empty = Feed("hill", "work", "BEGIN:VEVENT", "BEGIN:VEVENT", ())
    (left,) = write_feeds([empty], tmp_path, Manner(NOW))
    assert left.state is State.LEFT
    assert b"DESCRIPTION:x" in (tmp_path / "work.ics").read_bytes()


def as_on_windows(monkeypatch: pytest.MonkeyPatch) -> ModuleType:
    """The lock as that system would load it, on a stand-in for its library.

    The stand-in takes its lock from this system, on the file it is handed; mode numbers and
    behaviour by the reference of Python's msvcrt: LK_NBLCK raises OSError where the bytes are
    taken, LK_UNLCK raises where they are not.
    """
    held: set[int] = set()

    def locking(handle: int, mode: int, n_bytes: int) -> None:
        assert n_bytes == 1
        if mode == msvcrt.LK_UNLCK:
            held.remove(handle)
            fcntl.flock(handle, fcntl.LOCK_UN)
            return
        assert mode == msvcrt.LK_NBLCK, "any other mode waits ten seconds by itself"
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        held.add(handle)

    msvcrt = SimpleNamespace(LK_UNLCK=0, LK_NBLCK=2, locking=locking, held=held)
    monkeypatch.setitem(sys.modules, "msvcrt", msvcrt)
    assert disk.__file__ is not None
    spec = importlib.util.spec_from_file_location("disk_on_windows", disk.__file__)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    with monkeypatch.context() as there:
        there.setattr(sys, "platform", "win32")
        spec.loader.exec_module(module)
    return module


@posix
def test_the_lock_of_the_other_system_keeps_one_writer_at_a_time(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    module = as_on_windows(monkeypatch)
    with module.locked(tmp_path):
        with pytest.raises(module.BusyError, match="nothing was written"):
            module.locked(tmp_path, wait_s=0.1).__enter__()
        write_feeds([feed("x")], tmp_path, Manner(NOW))
    with module.locked(tmp_path, wait_s=0):  # and afterwards the folder is free again
        pass
    assert not sys.modules["msvcrt"].held, "it is let go of, not only closed"
    assert {path.name for path in tmp_path.iterdir()} == {".lock", "work.ics"}


@posix
def test_a_writer_that_fails_lets_go_of_the_lock_of_either_system(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for module in (disk, as_on_windows(monkeypatch)):
        with pytest.raises(ValueError, match="in the middle"), module.locked(tmp_path):
            raise ValueError("in the middle")
        with module.locked(tmp_path, wait_s=0):
            pass


@posix
def test_a_disk_that_is_really_full_leaves_the_old_feed(tmp_path: Path) -> None:
    """A file system of 64 kB in memory, mounted in a name space of its own."""
    script_path = tmp_path / "fill.py"
    script_path.write_text(textwrap.dedent(FILLED), encoding="utf-8")
    (tmp_path / "small").mkdir()
    mount = "mount -t tmpfs -o size=64k small small && exec"
    command = f"{mount} {shlex.quote(sys.executable)} {shlex.quote(str(script_path))}"
    unshare = ["unshare", "--user", "--map-root-user", "--mount", "sh", "-c", command]
    try:
        done = subprocess.run(
            unshare, cwd=tmp_path, capture_output=True, text=True, check=False, timeout=60,
            env=os.environ | {"PYTHONPATH": str(ROOT)},
        )  # fmt: skip
    except FileNotFoundError:
        pytest.skip("no unshare on this system")
    if "READY" not in done.stdout:
        pytest.skip(f"no file system may be mounted here: {done.stderr.strip()[-80:]}")
    assert done.returncode == 0, done.stderr
    assert "No space left on device (the old file is kept)" in done.stdout
    assert "everything is as it was" in done.stdout


FILLED = """
    from datetime import UTC, datetime
    from pathlib import Path
    from scheduler.ways_out.folder import Manner, write_feeds
    from tests.ways_out.test_disk import feed

    print("READY", flush=True)
    folder, manner = Path("small"), Manner(datetime(2026, 11, 25, tzinfo=UTC))
    write_feeds([feed("old"), feed("old", "sky")], folder, manner)
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    try:
        write_feeds([feed("new", n_events=900), feed("old", "sky")], folder, manner)
    except OSError as error:
        print(error.strerror)
    if before == {path.name: path.read_bytes() for path in folder.iterdir()}:
        print("everything is as it was")
"""
