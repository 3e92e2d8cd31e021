"""The log that `scheduler log` writes into: however it is kept, what is said to be written is."""

import stat
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
import typer
from hypothesis import given
from hypothesis import strategies as st
from typer.testing import CliRunner, Result

from scheduler.commands.app import app
from scheduler.commands.log_command import log as log_command
from scheduler.files import checked_rows
from scheduler.holding import LogEntry, read_holding
from tests.sites import AS_OF, append_to_log, new_site

TASK = "first-plot.weed-lines"
DAY = date(2027, 5, 20)
FIRST = "2027-05-18,2027,first-plot.lay-fine,100,rain,3.5"
OTHER = LogEntry(date=date(2027, 5, 18), plan="2027", task="first-plot.lay-fine", note="rain",
                 hours=3.5)  # fmt: skip
posix = pytest.mark.skipif(sys.platform == "win32", reason="links and modes of POSIX")


@pytest.fixture
def site(tmp_path: Path) -> Path:
    return new_site(tmp_path / "site")


@pytest.fixture
def log(site: Path) -> Path:
    return site / "worklog.csv"


def done(site: Path, *words: object, task: str = TASK) -> Result:
    args = ["log", str(site), task, *map(str, words), "--as-of", str(DAY)]
    result = CliRunner().invoke(app, args)
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result


def entries(site: Path) -> tuple[LogEntry, ...]:
    """What the log says, without what the tool adds for itself."""
    return tuple(replace(entry, book_h=None) for entry in read_holding(site, AS_OF).log)


COLUMNS = "date,plan,task,percent,note,hours"
KEPT = {
    "a line that names the delimiter": f"sep=;\n{COLUMNS}\n{FIRST}\n".replace(",", ";"),
    "a quoted comment on top": f'"# my log, of 2027",,\n{COLUMNS}\n{FIRST}\n',
    "capitals and blanks": f"{COLUMNS},Hours left,Book h\n{FIRST}\n".title(),
    "a mark and CRLF": f"\ufeff{COLUMNS}\r\n{FIRST}\r\n",
    "CR alone": f"{COLUMNS}\r{FIRST}\r",
    "tabs": f"{COLUMNS}\n{FIRST}\n".replace(",", "\t"),
    "no end of the last line": f"{COLUMNS}\n{FIRST}",
    "a comment without an end": f"{COLUMNS}\n{FIRST}\n# so far",
    "few columns": "task,date,plan\nfirst-plot.lay-fine,2027-05-18,2027\n",
    "the note first": "note,date,plan,task,hours\nrain,2027-05-18,2027,first-plot.lay-fine,3.5\n",
    "empty columns and rows": f"{COLUMNS},,\n{FIRST},,\n,,,,,,,\n",
    "a note of two lines": f"{COLUMNS}\n{FIRST.replace('rain', chr(34) + 'rain' + chr(34))}\n",
}


@pytest.mark.parametrize("note", ["# three trees", "=1+1", "-2 °C", '"so", it\'s; wéll\t', "'=x"])
@pytest.mark.parametrize("kept", KEPT)
def test_a_row_is_read_back_as_it_was_told_however_the_log_is_kept(
    site: Path, log: Path, kept: str, note: str
) -> None:
    before = KEPT[kept].encode()
    log.write_bytes(before)
    stood = entries(site)
    assert len(stood) == 1
    result = done(site, "--note", note, "--hours-left", "2,5", "--hours", 3)
    assert result.exit_code == 0, result.output
    first, mine = entries(site)
    assert (first,) == stood
    assert (mine.note, mine.hours, mine.hours_left) == (note.strip(), 3.0, 2.5)
    assert (mine.task, mine.date) == (TASK, DAY)
    _, _, rows = log.read_bytes().partition(b"2027-05-18")
    assert rows.startswith(before.partition(b"2027-05-18")[2]), "rows stay to the byte"
    assert log.read_bytes().startswith(before.splitlines()[0][:12])
    assert done(site, "--hours-left", 1).exit_code == 0


TEXT = st.text(st.characters(exclude_categories=["Cs", "Cc"]), max_size=20)


@given(notes=st.lists(TEXT, min_size=1, max_size=4), kept=st.sampled_from(sorted(KEPT)))
def test_any_note_is_read_back(
    tmp_path_factory: pytest.TempPathFactory, notes: list[str], kept: str
) -> None:
    folder = tmp_path_factory.mktemp("log")
    (folder / "worklog.csv").write_bytes(KEPT[kept].encode())
    rows = [replace(OTHER, note=note, percent=40 + n) for n, note in enumerate(notes)]
    append_to_log(folder, rows)
    text = (folder / "worklog.csv").read_bytes().decode("utf-8-sig").replace("\r\n", "\n")
    read, _, faults = checked_rows("w", text.replace("\r", "\n").split("\n"), LogEntry)
    assert not faults
    assert [entry.note for entry in read[1:]] == [note.strip() for note in notes]
    assert [entry.percent for entry in read[1:]] == [row.percent for row in rows]


@pytest.mark.parametrize(
    "kept",
    [
        f"{COLUMNS}\n{FIRST.replace('rain', chr(34) + 'rain')}\n",
        f'{COLUMNS}\n{FIRST}\n2027-05-19,2027,first-plot.chip,50,"\n',
        f"{COLUMNS},mood\n{FIRST},fair\n",
        f"{COLUMNS}\n{FIRST}\n\0\n",
    ],
)
def test_a_log_with_a_fault_is_left_as_it_is(site: Path, log: Path, kept: str) -> None:
    log.write_bytes(kept.encode())
    result = done(site)
    assert result.exit_code == 2
    assert "worklog.csv" in result.stderr
    assert log.read_bytes() == kept.encode()


def test_what_would_be_read_otherwise_is_not_written(site: Path, log: Path) -> None:
    """Bytes of a terminal that are no UTF-8 come as lone surrogates, which no file can hold."""
    before = log.read_bytes()
    result = done(site, "--note", "caf\udce9")
    assert result.exit_code == 2
    assert "would not be read as it was given" in result.stderr
    assert log.read_bytes() == before


def test_logged_at_once_nothing_is_lost(site: Path) -> None:
    def write(n: int) -> None:
        append_to_log(site, [replace(OTHER, hours=n)])

    with ThreadPoolExecutor(8) as pool:
        list(pool.map(write, range(40)))
    assert sorted(entry.hours or 0 for entry in entries(site)) == list(range(40))


def test_the_same_work_logged_at_once_is_logged_once(
    site: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    def write(_: int) -> int:
        try:
            log_command(site, [TASK], on=DAY, as_of=DAY)
        except typer.Exit as end:
            return end.exit_code
        return 0

    with ThreadPoolExecutor(4) as pool:
        codes = sorted(pool.map(write, range(4)))
    assert codes == [0, 2, 2, 2]
    assert capsys.readouterr().err.count("so it is done") == 3
    assert [entry.task for entry in entries(site)] == [TASK]


@pytest.mark.slow
def test_programs_that_log_at_once_lose_nothing(site: Path) -> None:
    tasks = [TASK, "first-plot.lay-fine", "first-plot.weed-light", TASK]
    command = [
        sys.executable,
        "-c",
        "from scheduler.commands.app import run; run()",
        "log",
        str(site),
    ]
    started = [
        subprocess.Popen([*command, task, "--as-of", str(DAY)], stderr=subprocess.PIPE)
        for task in tasks
    ]
    for program in started:
        program.communicate()
    assert sorted(program.returncode for program in started) == [0, 0, 0, 2]
    assert sorted(entry.task for entry in entries(site)) == sorted(set(tasks))


@posix
def test_a_log_elsewhere_is_followed_and_stays_a_link(
    site: Path, log: Path, tmp_path: Path
) -> None:
    there = tmp_path / "kept" / "our log.csv"
    there.parent.mkdir()
    log.rename(there)
    log.symlink_to(there)
    assert done(site).exit_code == 0
    assert log.is_symlink()
    assert TASK in there.read_text("utf-8")
    assert [path.name for path in there.parent.iterdir()] == [there.name]


@posix
def test_a_log_whose_link_leads_nowhere_is_not_begun_anew(
    site: Path, log: Path, tmp_path: Path
) -> None:
    log.unlink()
    log.symlink_to(tmp_path / "unplugged" / "log.csv")
    for result in (done(site), CliRunner().invoke(app, ["check", str(site)])):
        assert result.exit_code == 2
        assert "no such" in result.stderr
    assert log.is_symlink()


def test_a_log_that_is_read_only_is_refused(site: Path, log: Path) -> None:
    before = log.read_bytes()
    log.chmod(stat.S_IREAD)
    result = done(site)
    assert result.exit_code == 2
    assert "worklog.csv: it is read-only; nothing was written" in result.stderr
    assert log.read_bytes() == before
    log.chmod(stat.S_IREAD | stat.S_IWRITE)


@posix
def test_what_a_kill_has_left_is_swept_and_a_mode_is_kept(site: Path, log: Path) -> None:
    (site / ".worklog.csv.abc.part").write_text("half", "utf-8")
    log.chmod(0o640)
    assert done(site).exit_code == 0
    assert not list(site.glob(".*"))
    assert stat.S_IMODE(log.stat().st_mode) == 0o640


def test_a_missing_log_is_begun(site: Path, log: Path) -> None:
    log.unlink()
    assert done(site, "--note", "=x").exit_code == 0
    (entry,) = entries(site)
    assert (entry.task, entry.note) == (TASK, "=x")
