"""Odd options and files: one plain line, exit code 2, nothing half-written, never a traceback."""

import json
import os
import re
import subprocess
import sys
from collections.abc import Sequence
from datetime import date
from importlib import import_module
from pathlib import Path

import numpy as np
import pytest
from typer.testing import CliRunner, Result

from scheduler.commands import run
from scheduler.commands.app import app
from scheduler.commands.screen import print_json
from scheduler.holding import read_holding
from tests.sites import ROOT, edit, new_site

pytestmark = pytest.mark.usefixtures("plans_once")

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
@pytest.mark.parametrize("command", ["due", "frost", "check", "frost --history", "write"])
def test_the_first_and_the_last_day_that_can_be_are_taken(command: str, day: str, tmp_path: Path,
        monkeypatch: pytest.MonkeyPatch) -> None:  # fmt: skip
    monkeypatch.chdir(tmp_path)
    asked = ran(*command.split(), ROOT / "sites" / "klipskadu", "--as-of", day)
    assert asked.exit_code in (0, 1, 2)


def test_the_night_after_the_last_day_of_the_ephemeris_is_refused() -> None:
    site = ROOT / "sites" / "branasol"
    result = ran("frost", site, "--tonight", "--temp", 4, "--dew", 1, "--as-of", "2053-09-30")
    assert result.exit_code == 2
    assert "Sun and Moon are known from" in result.stderr


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
    assert ran("log", site, "first-plot.weed-lines", "--as-of", "2027-05-01").exit_code == 0
    after = (site / "worklog.csv").read_bytes()
    assert after.startswith(log), "what stands there stays to the byte"
    assert after.count(b"\n") == after.count(b"\r\n") == log.count(b"\r\n") + 1
    assert ran("check", site, "--as-of", "2027-05-02").exit_code in (0, 1)


POSIX = pytest.mark.skipif(sys.platform == "win32", reason="pipes and devices of POSIX")
RECORDS = (
    ("site.toml", "stations = []", 'stations = ["odd.csv"]'),
    ("site.toml", "[frost]", '[frost]\nforecast = "odd.csv"'),
    ("site.toml", "[frost]", '[frost]\nevenings = "odd.csv"'),
    ("plots.toml", 'name = "First plot"', 'name = "First plot"\nlogger = "odd.csv"'),
)


def odd_file(path: Path, kind: str) -> None:
    """Put something into a file's place that is none to be read."""
    path.unlink(missing_ok=True)
    if kind == "pipe":
        os.mkfifo(path)
    elif kind == "device":
        path.symlink_to("/dev/zero")
    else:
        with path.open("wb") as file:
            file.truncate(200_000_000)


ODD = {
    "pipe": "found a pipe or device; allowed: a file",
    "device": "found a pipe or device; allowed: a file",
    "large": "found 200 MB; allowed: a file of at most 100 MB",
}


@POSIX
@pytest.mark.parametrize("kind", ODD)
@pytest.mark.parametrize("name", [*TEXTS, "rules.toml", "frost.toml"])
def test_what_never_ends_is_not_read(site: Path, name: str, kind: str) -> None:
    """A pipe would be waited for for ever, and a device fill the memory."""
    odd_file(site / name, kind)
    result = ran("check", site, *AS_OF)
    assert result.exit_code == 2
    assert f"{name}: {ODD[kind]}" in result.stderr


@POSIX
@pytest.mark.parametrize("kind", ODD)
@pytest.mark.parametrize("named", RECORDS, ids=["station", "forecast", "evenings", "logger"])
def test_a_record_that_never_ends_is_not_read(
    site: Path, named: tuple[str, str, str], kind: str
) -> None:
    edit(site, *named)
    odd_file(site / "odd.csv", kind)
    assert f"odd.csv: {ODD[kind]}" in ran("check", site, *AS_OF).stderr
    (site / "odd.csv").unlink()
    (site / "odd.csv").mkdir()
    assert "odd.csv: found a folder; allowed: a file" in ran("check", site, *AS_OF).stderr


def test_a_record_by_a_name_that_no_file_can_have_is_told(site: Path) -> None:
    edit(site, "site.toml", "stations = []", r'stations = ["a\u0000b"]')
    result = ran("check", site, *AS_OF)
    assert result.exit_code == 2
    assert "found a name that no file can have" in result.stderr


@pytest.mark.parametrize(
    ("line", "found"),
    [
        (f"odd = {'[' * 5000}{']' * 5000}", "nested too deep"),
        (f"odd = {'9' * 5000}", "a number of thousands of digits"),
        (f"odd = 0x{'f' * 5000}", "odd"),
        ("odd = 1e400", "odd"),
    ],
    ids=["deep", "long", "hexadecimal", "infinite"],
)
@pytest.mark.parametrize("name", ["site.toml", "crew.toml", "rules.toml", "frost.toml"])
def test_toml_beyond_reason_is_a_fault_of_its_file(
    site: Path, name: str, line: str, found: str
) -> None:
    path = site / name
    before = path.read_text("utf-8") if path.exists() else ""
    path.write_text(f"{line}\n{before}", "utf-8")
    result = ran("check", site, *AS_OF)
    assert result.exit_code == 2
    assert result.stderr.startswith(f"{name}")
    assert found in result.stderr
    assert len(result.stderr) < 2000


@pytest.mark.parametrize("number", [f"0x{'f' * 5000}", "9" * 4000, "1e400", "inf", "nan"])
@pytest.mark.parametrize("key", ["lat_deg", "elev_m"])
def test_a_number_beyond_all_bounds_is_a_fault(site: Path, key: str, number: str) -> None:
    text = (site / "site.toml").read_text("utf-8")
    (site / "site.toml").write_text(
        re.sub(f"(?m)^{key} = \\S+", f"{key} = {number}", text), "utf-8"
    )
    result = ran("check", site, *AS_OF)
    assert result.exit_code == 2
    assert f"site.toml, field {key}" in result.stderr
    assert len(result.stderr) < 500


START = (
    "--place", "44, 5", "--plot", "Low, 600, 2019", "--person", "Ana, sat sun, hands", *AS_OF,
)  # fmt: skip
MINIMA = "".join(
    f"{year}-{month:02d}-15,40\n" for year in range(2000, 2021) for month in range(1, 13)
)


@pytest.mark.parametrize(
    ("header", "name"),
    [
        ("date,tmin_f", "minima.csv"),
        ("Date,TMIN_F,tmax_f", 'my "own" record.csv'),
        ("date,tmin_c", "a\\b.csv"),
        ("date,tmin_k", "minima.csv"),
    ],
)
def test_start_takes_the_records_that_the_reader_takes_and_no_others(
    tmp_path: Path, header: str, name: str
) -> None:
    record = tmp_path / name
    record.write_text(f"{header}\n{MINIMA}", "utf-8")
    started = ran("new", tmp_path / "hill", *START, "--station", record)
    if header.endswith("_k"):
        assert started.exit_code == 2
        assert not (tmp_path / "hill").exists()
        return
    assert started.exit_code == 0, started.output
    read = read_holding(tmp_path / "hill", date(2026, 11, 25)).record
    assert read is not None
    assert np.nanmax(read.tmin_c) == (40 if header.endswith("_c") else 4.44)


@POSIX
@pytest.mark.parametrize("kind", ODD)
def test_start_reads_no_record_that_never_ends(tmp_path: Path, kind: str) -> None:
    odd_file(tmp_path / "odd.csv", kind)
    result = ran("new", tmp_path / "hill", *START, "--station", tmp_path / "odd.csv")
    assert result.exit_code == 2
    assert ODD[kind] in result.stderr
    assert not (tmp_path / "hill").exists()


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
    assert "worklog.csv, cell A2 (date): found" in result.stderr
    assert "crew.toml" in result.stderr


def test_a_file_where_a_folder_is_wanted_is_told(site: Path, tmp_path: Path) -> None:
    (tmp_path / "afile").write_text("mine", encoding="utf-8")
    for args in (("write", site, "--to", "afile"), ("share", site, "--to", "afile"),
                 ("new", "afile", *START)):  # fmt: skip
        result = ran(*args, *AS_OF)
        assert result.exit_code == 2
        assert "that is a file, and a folder is needed" in result.stderr
    assert (tmp_path / "afile").read_text(encoding="utf-8") == "mine"


@pytest.mark.parametrize("command", ["plan", "check", "why"])
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
    freed = [line for line in result.stdout.splitlines() if "What would free it" in line]
    assert freed
    for line in freed:
        assert "name a station record or your own frost dates under [frost]" in line
        assert "nothing safe" not in line
    assert "would be begun" not in result.stdout, "only weeded, not cut"


def test_why_tells_a_warning_once(tmp_path: Path) -> None:
    site = new_site(tmp_path / "site", own_last="", own_first="")
    result = ran("why", site, "first-plot.cut-medium", *AS_OF)
    assert result.exit_code == 1
    assert result.stdout.count("WARNING: The release visit of First plot is unscheduled") == 1
    assert result.stdout.count("WARNING: ") == 1
    assert result.stderr == ""


def test_one_block_of_hire_is_one_and_costs_nothing_where_none_is_told(site: Path) -> None:
    told = ran("plan", "--full", site, *AS_OF).stdout
    assert "\n1 block of hire, crew.toml gives no cost_day." in told


END = "\x1e"
ONE_BY_ONE = """
import json, sys
from scheduler.commands.app import run
for command in json.loads(sys.argv[1]):
    sys.argv[1:] = command
    try:
        run()
    except SystemExit:
        pass
    print(END, end="", flush=True)
""".replace("END", repr(END))
_CONTROL = re.compile(r"\x1b\[[0-9;?]*[A-Za-z]")


def test_help_cuts_no_sentence_off() -> None:
    told = ran("--help").stdout
    assert "..." not in told.replace("[ARGS]...", "")


def on_a_screen(width: int, *commands: Sequence[str]) -> list[list[str]]:
    """What a terminal of that width shows of each command, all run by one process."""
    fcntl, pty, struct, termios = map(import_module, ("fcntl", "pty", "struct", "termios"))
    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 40, width, 0, 0))
    environment = {**os.environ, "TERM": "xterm", "COLUMNS": str(width)}
    with subprocess.Popen(
        [sys.executable, "-c", ONE_BY_ONE, json.dumps(commands)],
        stdout=theirs, stderr=theirs, env=environment,
    ):  # fmt: skip
        os.close(theirs)
        shown = b"".join(iter(lambda: _read(ours), b"")).decode()
    screens = shown.split(END)[:-1]
    assert len(screens) == len(commands), shown[-2000:]
    return [[_CONTROL.sub("", line) for line in screen.splitlines()] for screen in screens]


def _read(end: int) -> bytes:
    try:
        return os.read(end, 65536)
    except OSError:  # the other end has closed
        return b""


NARROW = (
    ("plan", "--full"),
    ("due",),
    ("frost",),
    ("sky", "--days", "3"),
    ("frost", "--history"),
    ("check",),
)


def on_klipskadu(command: Sequence[str]) -> tuple[str, ...]:
    name, *options = command
    return (name, str(ROOT / "sites" / "klipskadu"), *options, *AS_OF)


@NEEDS_PTY
@pytest.mark.slow
def test_a_screen_of_80_columns_cuts_nothing_off() -> None:
    """Every word that a pipe gets stands on the screen, whole or broken at a line's end."""
    commands = [on_klipskadu(command) for command in NARROW]
    for command, lines in zip(commands, on_a_screen(80, *commands), strict=True):
        assert lines, command
        assert max(map(len, lines)) <= 80, command
        assert not [line for line in lines if "…" in line]
        piped = ran(*command).stdout
        days = set(re.findall(r"\b20\d\d-\d\d-\d\d\b", piped))
        whole = set(re.findall(r"\b20\d\d-\d\d-\d\d\b", " ".join(lines)))
        assert days <= whole, f"days stay whole: {command}"


@NEEDS_PTY
@pytest.mark.slow
def test_a_wide_screen_breaks_no_id() -> None:
    args = on_klipskadu(("plan", "--full"))
    (lines,) = on_a_screen(220, args)
    shown = " ".join(lines)
    ids = set(re.findall(r"\b(?:vlei|rant)\.[a-z-]+", ran(*args).stdout))
    assert len(ids) > 10
    for task_id in ids:
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
    assert printing == ["screen.py"]


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


def test_a_name_that_is_no_text_is_refused_before_anything_is_written(tmp_path: Path) -> None:
    for name in ("caf\udce9", "two\nlines"):
        result = ran("new", tmp_path / "site", "--name", name, *START)
        assert result.exit_code == 2
        assert "--name" in result.stderr
        assert "on one line" in result.stderr
        assert not (tmp_path / "site").exists()
