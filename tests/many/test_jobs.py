"""Many holdings in one run, on the cores of this machine."""

import gc
import json
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime
from html.parser import HTMLParser
from pathlib import Path

import html5lib
import pytest
from typer.testing import CliRunner, Result

from scheduler.commands.app import app
from scheduler.many import SiteJob, outcomes_here, sites_in
from scheduler.many import site_job as jobs_module
from scheduler.many.site_job import done
from scheduler.season import Placed
from tests.bench.holdings import make_holdings
from tests.many.odd_jobs import killed_once, killed_where_it_says_so, raises_where_it_says_so
from tests.sites import ROOT, edit

AS_OF = ("--as-of", "2027-02-01")
N = 4


def ran(*args: object) -> Result:
    return CliRunner().invoke(app, [str(arg) for arg in args])


@pytest.fixture(scope="module")
def sites(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder of five invented holdings, the third of which is at fault."""
    top = tmp_path_factory.mktemp("night")
    made = make_holdings(top, N, most_plots=1)
    edit(made[2], "crew.toml", "hours = ", "hour = ")
    return top / "sites"


@pytest.fixture(scope="module")
def night(sites: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[Result, Path]:
    """A night over them, and where it wrote."""
    out = tmp_path_factory.mktemp("out")
    return ran("write", sites, "--to", out, "--jobs", 2, *AS_OF), out


def job(folder: Path, out: Path, **changes: object) -> SiteJob:
    now = datetime(2027, 2, 1, tzinfo=UTC)
    plain = SiteJob("check", folder, date(2027, 2, 1), out, now, limit_s=600.0)
    return replace(plain, **changes)  # type: ignore[arg-type]  # fields by name


def test_each_site_has_a_line_and_one_bad_site_stops_none(
    night: tuple[Result, Path], sites: Path
) -> None:
    result, out = night
    assert result.exit_code == 2
    lines = [line for line in result.stdout.splitlines() if "events of work" in line]
    assert len(lines) == N - 1
    (bad,) = result.stderr.splitlines()
    assert f"{sites / 'holding-0002'}: crew.toml" in bad
    assert {path.name for path in out.iterdir() if path.is_dir()} == {
        f"holding-{number:04d}" for number in (0, 1, 3)
    }


def test_nothing_differs_from_what_the_single_run_writes(
    night: tuple[Result, Path], sites: Path, tmp_path: Path
) -> None:
    _, out = night
    name = "holding-0001"
    assert ran("write", sites / name, "--to", tmp_path / name, *AS_OF).exit_code in (0, 1)
    single = {p.relative_to(tmp_path): p.read_bytes() for p in tmp_path.rglob("*") if p.is_file()}
    many = {p.relative_to(out): p.read_bytes() for p in (out / name).rglob("*") if p.is_file()}
    assert len(single) > 20
    assert sorted(path for path in {*single, *many} if single.get(path) != many.get(path)) == []


def test_a_second_night_changes_nothing(night: tuple[Result, Path], sites: Path) -> None:
    _, out = night
    before = {path: path.read_bytes() for path in out.rglob("*") if path.is_file()}
    outcome = done(job(sites / "holding-0001", out, asked="write"))
    assert ", 0 of " in outcome.says
    assert {path: path.read_bytes() for path in out.rglob("*") if path.is_file()} == before


class Texts(HTMLParser):
    """The texts and links of a page."""

    def __init__(self, content: str) -> None:
        super().__init__()
        self.texts: list[str] = []
        self.links: list[str] = []
        self.feed(content)

    def handle_data(self, data: str) -> None:
        self.texts.append(data)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.links += [value or "" for name, value in attrs if (tag, name) == ("a", "href")]


def test_the_overview_has_every_holding_and_those_at_fault_first(
    night: tuple[Result, Path],
) -> None:
    _, out = night
    html = (out / "overview.html").read_text(encoding="utf-8")
    html5lib.HTMLParser(strict=True).parse(html)
    page = Texts(html)
    assert [link for link in page.links if not (out / link).exists()] == []
    assert len(page.links) == N - 1
    told = json.loads((out / "overview.json").read_text(encoding="utf-8"))
    assert told["n_faults"] == 1
    assert "crew.toml" in told["holdings"][0]["fault"]
    assert len(told["holdings"]) == N
    assert all(row["frost"] for row in told["holdings"][1:] if row["name"] < "Holding 0004")


def test_programs_are_told_a_line_each(sites: Path) -> None:
    result = ran("check", sites, "--json", "--jobs", 1, *AS_OF)
    rows = [json.loads(line) for line in result.stdout.splitlines()]
    assert len(rows) == N
    assert max(row["code"] for row in rows) == result.exit_code == 2
    by_site = {Path(row["site"]).name: row for row in rows}
    assert by_site["holding-0002"]["faults"]
    single = json.loads(ran("check", sites / "holding-0001", "--json", *AS_OF).stdout)
    told = by_site["holding-0001"]["record"]
    assert [notice for notice in told if notice in single] == single


def test_frost_of_many(sites: Path) -> None:
    two = (sites / "holding-0000", sites / "holding-0001")
    result = ran("frost", *two, "--jobs", 1, *AS_OF)
    assert result.exit_code in (0, 1)
    assert result.stdout.count("frost window open in Plot 1") == 2


@pytest.mark.parametrize(
    "args",
    [
        ("write", "--remove-ended"),
        ("write", "--plan", "2027"),
        ("check", "--plan", "2027"),
        ("frost", "--history"),
        ("frost", "--full"),
    ],
)
def test_options_of_one_site_are_refused(sites: Path, args: tuple[str, ...]) -> None:
    result = ran(args[0], sites, *args[1:], *AS_OF)
    assert result.exit_code == 2
    assert f"{args[1]} goes with one site alone" in result.stderr


def test_two_sites_of_one_id_are_refused_before_anything_is_written(
    sites: Path, tmp_path: Path
) -> None:
    top = tmp_path / "twins"
    for name in ("a", "b"):
        (top / name).mkdir(parents=True)
        for path in (sites / "holding-0000").iterdir():
            (top / name / path.name).write_bytes(path.read_bytes())
    result = ran("write", top, "--to", tmp_path / "out", *AS_OF)
    assert result.exit_code == 2
    assert "holding-0000: each site needs an id of its own" in result.stderr
    assert not (tmp_path / "out").exists()


def test_folders_of_sites_and_sites_are_taken_each_once(sites: Path, tmp_path: Path) -> None:
    one = sites / "holding-0001"
    assert sites_in([one, sites]) == [one, *(s for s in sites_in([sites]) if s != one)]
    assert sites_in([tmp_path / "nothing"]) == [tmp_path / "nothing"]


def test_no_plan_is_kept_once_its_site_is_done(sites: Path, tmp_path: Path) -> None:
    """Each that is kept would make every later site slower, and the worker larger."""
    gc.disable()  # nothing is let go by chance
    try:
        done(job(sites / "holding-0000", tmp_path, asked="write"))
        kept = [each.holding.site.id for each in gc.get_objects() if type(each) is Placed]
    finally:
        gc.enable()
    assert "holding-0000" not in kept


# ---- what goes wrong


def lost_in_a_callback(phase: str, _: object) -> None:
    """Be in the way of the first try, as a callback of the collector of garbage may be."""
    if phase == "start":
        time.sleep(1.0)


@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")
def test_a_try_to_stop_that_is_lost_is_made_again(
    sites: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def far_too_long(*_: object, **__: object) -> None:
        gc.callbacks.append(lost_in_a_callback)
        try:
            gc.collect()
        finally:
            gc.callbacks.remove(lost_in_a_callback)
        until = time.monotonic() + 15
        while time.monotonic() < until:
            time.sleep(0.01)
        raise AssertionError("nobody stopped it")

    monkeypatch.setattr(jobs_module, "plan_season", far_too_long)
    outcome = done(job(sites / "holding-0000", tmp_path, limit_s=0.6))
    assert "given up after 0.6 s" in outcome.says


@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")
def test_a_site_that_takes_too_long_is_stopped_and_told(
    sites: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def far_too_long(*_: object, **__: object) -> None:
        until = time.monotonic() + 15
        while time.monotonic() < until:
            time.sleep(0.01)
        raise AssertionError("nobody stopped it")

    monkeypatch.setattr(jobs_module, "plan_season", far_too_long)
    begin = time.monotonic()
    outcome = done(job(sites / "holding-0000", tmp_path, limit_s=0.3))
    assert outcome.code == 2
    assert "given up after 0.3 s" in outcome.says
    assert time.monotonic() - begin < 10
    monkeypatch.undo()
    assert done(job(sites / "holding-0000", tmp_path)).code in (0, 1)


def test_a_fault_of_ours_is_told_and_stops_no_other(
    sites: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise KeyError("x")

    monkeypatch.setattr(jobs_module, "plan_season", broken)
    outcome = done(job(sites / "holding-0000", tmp_path))
    assert outcome.code == 3
    assert "a fault of scheduler" in outcome.says


def test_a_worker_that_dies_takes_no_other_site_with_it(tmp_path: Path) -> None:
    names = [f"site-{n}" for n in range(6)]
    names[2] = "deadly"
    jobs = [job(tmp_path / name, tmp_path) for name in names]
    outcomes = list(outcomes_here(jobs, 2, killed_where_it_says_so))
    told = {Path(outcome.folder).name: outcome.code for outcome in outcomes}
    assert told == {name: 2 if name == "deadly" else 0 for name in names}
    assert len(outcomes) == len(names)


def test_a_site_whose_worker_was_killed_once_is_done_all_the_same(
    sites: Path, tmp_path: Path
) -> None:
    folder = tmp_path / "hill"
    folder.mkdir()
    for path in (sites / "holding-0000").iterdir():
        (folder / path.name).write_bytes(path.read_bytes())
    edit(folder, "site.toml", 'stations = ["../../stations/branasol-0.csv"]', "stations = []")
    (outcome,) = outcomes_here([job(folder, tmp_path)], 2, killed_once)
    assert outcome.code in (0, 1)
    assert "warnings" in outcome.says


def test_workers_end_with_the_process_that_gives_out_the_jobs(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "tests.many.odd_jobs", str(tmp_path)]
    with subprocess.Popen(command, cwd=ROOT) as night:
        begun = tmp_path / "begun"
        assert in_time(begun.exists), "the job never began"
        night.kill()
    worker = begun.read_text(encoding="utf-8")
    assert in_time(lambda: not is_running(worker)), "the worker goes on waiting"


def is_running(pid: str) -> bool:
    """Whether a process is there and no mere remainder (Linux)."""
    try:
        return ") Z " not in Path(f"/proc/{pid}/stat").read_text(encoding="utf-8")
    except OSError:
        return False


def in_time(holds: Callable[[], bool]) -> bool:
    """Whether something comes to hold within half a minute."""
    until = time.monotonic() + 30
    while not holds() and time.monotonic() < until:
        time.sleep(0.1)
    return holds()


def test_an_answer_that_cannot_travel_stops_no_other(tmp_path: Path) -> None:
    jobs = [job(tmp_path / name, tmp_path) for name in ("a", "odd", "b")]
    told = {Path(o.folder).name: o.code for o in outcomes_here(jobs, 1, raises_where_it_says_so)}
    assert told == {"a": 0, "odd": 3, "b": 0}


def test_a_link_to_a_site_is_the_site(sites: Path, tmp_path: Path) -> None:
    top = tmp_path / "linked"
    top.mkdir()
    for name in ("one", "again"):
        (top / name).symlink_to(sites / "holding-0000")
    assert len(sites_in([top])) == 1


def test_somebody_elses_overview_is_left_and_told(sites: Path, tmp_path: Path) -> None:
    (tmp_path / "overview.html").write_text("mine", encoding="utf-8")
    two = (sites / "holding-0000", sites / "holding-0003")
    result = ran("write", *two, "--to", tmp_path, "--jobs", 1, *AS_OF)
    assert result.exit_code == 2
    assert "overview.html: not a page of ours" in result.stderr
    assert (tmp_path / "overview.html").read_text(encoding="utf-8") == "mine"


def test_much_to_come_is_not_lost_in_the_night(sites: Path, tmp_path: Path) -> None:
    folder = sites / "holding-0003"
    now = {"asked": "write", "calendars": tmp_path, "pages": False}
    assert done(job(folder, tmp_path, **now)).code in (0, 1)
    before = (tmp_path / "holding-0003" / "work.ics").read_bytes()
    plan = (folder / "plan-2027.toml").read_text(encoding="utf-8")
    types = 'types = ["dormant", "release", "dry-summer", "year"]'
    assert types in plan
    try:
        edit(folder, "plan-2027.toml", types, 'types = ["dormant"]')
        outcome = done(job(folder, tmp_path, **now))
    finally:
        (folder / "plan-2027.toml").write_text(plan, encoding="utf-8")
    assert outcome.code == 2
    assert "would lose" in outcome.says
    assert (tmp_path / "holding-0003" / "work.ics").read_bytes() == before
