"""Odd options and files: one plain line, exit code 2, nothing half-written, never a traceback."""

import json
import os
import re
import subprocess
import sys
from importlib import import_module
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from scheduler.cli import app, run
from scheduler.door import print_json
from tests.sites import ROOT, edit, new_site

AS_OF = ("--as-of", "2026-11-25")
NEEDS_PTY = pytest.mark.skipif(sys.platform == "win32", reason="a terminal of our own is needed")
TEXTS = ("site.toml", "plots.toml", "stock.csv", "crew.toml", "worklog.csv", "plan-2027.toml")


def ran(*args: object) -> Result:
    result = CliRunner().invoke(app, [str(arg) for arg in args])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result


@pytest.fixture
def site(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return new_site(tmp_path / "site")


@pytest.mark.parametrize(
    "day", ["2027-13-01", "tomorrow", "0001-01-01", "9999-12-31", "1899-12-31"]
)
@pytest.mark.parametrize("command", ["due", "frost", "check"])
def test_a_day_that_cannot_be_looked_at_is_refused(site: Path, command: str, day: str) -> None:
    result = ran(command, site, "--as-of", day)
    assert result.exit_code == 2
    assert day in result.stderr


@pytest.mark.parametrize("day", ["1900-01-02", "2053-09-30"])
@pytest.mark.parametrize("command", ["due", "frost", "check", "record", "write"])
def test_the_first_and_the_last_day_that_can_be_are_taken(command: str, day: str, tmp_path: Path,
        monkeypatch: pytest.MonkeyPatch) -> None:  # fmt: skip
    monkeypatch.chdir(tmp_path)
    assert ran(command, ROOT / "sites" / "klipskadu", "--as-of", day).exit_code in (0, 1, 2)


@pytest.mark.parametrize("name", TEXTS)
def test_files_of_another_encoding_name_the_line(site: Path, name: str) -> None:
    before = (site / name).read_bytes()
    (site / name).write_bytes(before + "# vía\n".encode("latin-1"))
    result = ran("check", site, *AS_OF)
    assert result.exit_code == 2
    line = before.count(b"\n") + 1
    assert f"{name}: found bytes that are not UTF-8, first in line {line};" in result.stderr


@pytest.mark.parametrize("name", TEXTS)
def test_a_folder_in_a_files_place_is_told(site: Path, name: str) -> None:
    (site / name).unlink()
    (site / name).mkdir()
    result = ran("check", site, *AS_OF)
    assert result.exit_code == 2
    assert f"{name}: found a folder; allowed: a file" in result.stderr


def test_files_from_windows_are_taken_and_the_log_stays_one(site: Path) -> None:
    """A byte-order mark and CRLF in every file."""
    for name in TEXTS:
        text = (site / name).read_bytes().replace(b"\n", b"\r\n")
        (site / name).write_bytes(b"\xef\xbb\xbf" + text)
    assert ran("check", site, *AS_OF).exit_code == 0
    log = (site / "worklog.csv").read_bytes()
    assert ran("done", site, "first-plot.weed-lines", "--as-of", "2027-05-01").exit_code == 0
    after = (site / "worklog.csv").read_bytes()
    assert after.startswith(log), "what stands there stays to the byte"
    assert after.count(b"\n") == after.count(b"\r\n") == log.count(b"\r\n") + 1
    assert ran("check", site, "--as-of", "2027-05-02").exit_code in (0, 1)


@pytest.mark.parametrize("day", ["9999-12-31", "0001-01-01"])
def test_days_that_nobody_can_count_from_are_faults_of_the_file(site: Path, day: str) -> None:
    log = f"date,plan,task,percent\n{day},2027,first-plot.weed-lines,100\n"
    (site / "worklog.csv").write_text(log, encoding="utf-8")
    edit(
        site,
        "crew.toml",
        'name = "Ilka"',
        f'name = "Ilka"\noff = [{{ first = {day}, last = {day} }}]',
    )
    result = ran("check", site, *AS_OF)
    assert result.exit_code == 2
    assert "worklog.csv, row 2, field date" in result.stderr
    assert "crew.toml" in result.stderr


def test_a_file_where_a_folder_is_wanted_is_told(site: Path, tmp_path: Path) -> None:
    (tmp_path / "afile").write_text("mine", encoding="utf-8")
    for args in (("write", site, "--to", "afile"), ("publish", site, "--to", "afile"),
                 ("start", "afile", "--lat", 43, "--lon", 5, "--zone", "UTC")):  # fmt: skip
        result = ran(*args, *AS_OF)
        assert result.exit_code == 2
        assert "a file stands there, where a folder is wanted" in result.stderr
    assert (tmp_path / "afile").read_text(encoding="utf-8") == "mine"


@pytest.mark.parametrize("command", ["roster", "check", "why"])
def test_calendars_that_are_not_there_are_not_taken_for_none(site: Path, command: str) -> None:
    """A slip in the folder's name would plan without the published days, and not say so."""
    task = ("first-plot.cut-medium",) if command == "why" else ()
    result = ran(command, site, *task, "--published", "nosuch", *AS_OF)
    assert result.exit_code == 2
    assert "nosuch" in result.stderr


def test_a_pushed_file_that_is_no_feed_is_named(tmp_path: Path) -> None:
    (tmp_path / "notes.ics").write_text("mine", encoding="utf-8")
    result = ran("push", tmp_path / "notes.ics", "http://127.0.0.1:9/x")
    assert result.exit_code == 2
    assert "notes.ics: it cannot be read as a feed" in result.stderr


def test_without_frost_dates_the_way_out_is_to_name_them(tmp_path: Path) -> None:
    site = new_site(tmp_path / "site", own_last="", own_first="")
    result = ran("check", site, *AS_OF)
    freed = [line for line in result.stderr.splitlines() if "What would free it" in line]
    assert freed
    for line in freed:
        assert "name a station record or your own frost dates under [frost]" in line
        assert "nothing safe" not in line
    assert "would be begun" not in result.stderr, "only weeded, not cut"


def test_why_tells_a_warning_once(tmp_path: Path) -> None:
    site = new_site(tmp_path / "site", own_last="", own_first="")
    result = ran("why", site, "first-plot.cut-medium", *AS_OF)
    assert result.exit_code == 1
    assert result.stdout.count("WARNING: The release visit of First plot could not be placed") == 1
    assert result.stdout.count("WARNING: ") == 1
    assert result.stderr == ""


def test_one_block_of_hire_is_one_and_costs_nothing_where_none_is_told(site: Path) -> None:
    told = ran("roster", site, *AS_OF).stdout
    assert "\n1 block of hire, no cost_day is told in crew.toml." in told


_CONTROL = re.compile(r"\x1b\[[0-9;?]*[A-Za-z]")


def test_help_cuts_no_sentence_off() -> None:
    told = ran("--help").stdout
    assert "..." not in told.replace("[ARGS]...", "")


def on_a_screen(width: int, *args: str) -> list[str]:
    """What a terminal of that width shows."""
    fcntl, pty, struct, termios = map(import_module, ("fcntl", "pty", "struct", "termios"))
    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 40, width, 0, 0))
    code = "from scheduler.cli import run; run()"
    environment = {**os.environ, "TERM": "xterm", "COLUMNS": str(width)}
    with subprocess.Popen(
        [sys.executable, "-c", code, *args], stdout=theirs, stderr=theirs, env=environment
    ):
        os.close(theirs)
        shown = b"".join(iter(lambda: _read(ours), b""))
    return [_CONTROL.sub("", line) for line in shown.decode().splitlines()]


def _read(end: int) -> bytes:
    try:
        return os.read(end, 65536)
    except OSError:  # the other end has closed
        return b""


@NEEDS_PTY
@pytest.mark.slow
@pytest.mark.parametrize(
    "command",
    [("roster",), ("due",), ("frost",), ("sky", "--days", "3"), ("record",), ("check",)],
    ids=lambda c: c[0],
)
def test_a_screen_of_80_columns_cuts_nothing_off(command: tuple[str, ...]) -> None:
    """Every word that a pipe gets stands on the screen, whole or broken at a line's end."""
    name, *options = command
    args = (name, str(ROOT / "sites" / "klipskadu"), *options, *AS_OF)
    lines = on_a_screen(80, *args)
    assert max(map(len, lines)) <= 80
    assert not [line for line in lines if "…" in line]
    piped = ran(*args).stdout
    days = set(re.findall(r"\b20\d\d-\d\d-\d\d\b", piped))
    assert days <= set(re.findall(r"\b20\d\d-\d\d-\d\d\b", " ".join(lines))), "days stay whole"


@NEEDS_PTY
@pytest.mark.slow
def test_a_wide_screen_breaks_no_id() -> None:
    args = ("roster", str(ROOT / "sites" / "klipskadu"), *AS_OF)
    shown = " ".join(on_a_screen(220, *args))
    for task_id in set(re.findall(r"\b(?:vlei|rant)\.[a-z-]+", ran(*args).stdout)):
        assert task_id in shown


HOSTILE = "Low\x1b]0;own\x07\x9b2J\u202eplot\nwarning: forged"


def test_no_name_or_argument_steers_a_terminal_or_forges_a_line(site: Path) -> None:
    edit(site, "site.toml", 'zone = "Europe/Vienna"', f"zone = {json.dumps(HOSTILE)}")
    for result in (ran("check", site, *AS_OF), ran("check", f"{site}\x1b[31m\udce9")):
        assert result.exit_code == 2
        assert not re.search("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e]", result.stderr)
        assert "\\x1b" in result.stderr
        assert not any(line.startswith("warning: ") for line in result.stderr.splitlines())


def test_a_record_for_programs_keeps_such_text_as_it_is(
    capsys: pytest.CaptureFixture[str],
) -> None:
    names = {"name": f"{HOSTILE}\U000e0001 ñ"}
    print_json(names)
    printed = capsys.readouterr().out
    assert json.loads(printed) == names
    assert not re.search("[\x1b\x9b\u202e\U000e0001]", printed)
    assert "ñ" in printed


def test_only_one_function_prints() -> None:
    printing = [
        path.name
        for path in (ROOT / "scheduler").rglob("*.py")
        if re.search(r"typer\.echo\(|(?<!>>> )\bprint\(", path.read_text(encoding="utf-8"))
    ]
    assert printing == ["door.py"]


def test_a_fault_of_the_program_is_one_line_with_an_exit_code_of_its_own(
    site: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def broken(*_: object) -> None:
        raise KeyError("forged\nline")

    monkeypatch.setattr("scheduler.holding.read_holding", broken)
    monkeypatch.setattr(sys, "argv", ["scheduler", "check", str(site)])
    with pytest.raises(SystemExit) as end:
        run()
    assert end.value.code == 3
    (line,) = capsys.readouterr().err.splitlines()
    assert line.startswith("This is a fault of scheduler, not of your files: KeyError in ")
    monkeypatch.setenv("SCHEDULER_TRACEBACK", "1")
    with pytest.raises(KeyError):
        run()
    assert "3 a fault of this program" in " ".join(ran("--help").stdout.split())
