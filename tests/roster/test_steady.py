"""Published days are kept unless a rule forces a move, and each move says why."""

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from scheduler.commands.app import app
from scheduler.holding import Holding, LogEntry
from scheduler.holding.crew import SomeDays
from scheduler.reasons import SeasonPlan, plan_season
from scheduler.roster.check import faults_in
from scheduler.terms import DaySpan
from tests.sites import AS_OF, DEMOS, append_to_log, edit, new_site, planned, published

pytestmark = pytest.mark.usefixtures("plans_once")


def away(holding: Holding, first: date, last: date, *names: str) -> Holding:
    """The same holding, some people (or all) off for some days."""
    people = tuple(
        replace(p, off=(*p.off, SomeDays(first=first, last=last)))
        if not names or p.name in names
        else p
        for p in holding.crew.person
    )
    return replace(holding, crew=replace(holding.crew, person=people))


@pytest.fixture(params=DEMOS)
def plan(request: pytest.FixtureRequest) -> SeasonPlan:
    planned: SeasonPlan = request.getfixturevalue(request.param)
    return planned


def test_planning_again_without_a_change_moves_nothing(plan: SeasonPlan) -> None:
    again = plan_season(plan.placed.holding, AS_OF, published=published(plan))
    assert again.placed.roster.stints == plan.placed.roster.stints
    assert again.moves == ()
    assert again.placed.roster.proof == "proven"


def test_days_that_were_published_otherwise_are_kept_too(plan: SeasonPlan) -> None:
    """A plan that is not the best one stays, as long as no rule speaks against it."""
    orders = {order.before for order in plan.placed.problem.orders}
    asked = {
        t: s for t, s in plan.placed.stints.items() if t.endswith(("walk-plots", "order-plants"))
    }
    task_id, day = next(
        (t, s.first + shift)
        for t, s in asked.items()
        for shift in range(1, 15)
        if t not in orders
        and plan.placed.windows[t].open[s.first + shift]
        and not any(s.first + shift in other.days for other in plan.placed.stints.values())
        and any(worker.hours[s.first + shift] > 3 for worker in plan.placed.problem.workers)
    )
    later = plan.placed.season.date_of(day)
    told = published(plan) | {task_id: (DaySpan(later, later),)}
    again = plan_season(plan.placed.holding, AS_OF, published=told)
    assert again.placed.season.date_of(again.placed.stints[task_id].first) == later
    assert again.moves == ()


def test_a_rain_day_moves_little_and_says_why(plan: SeasonPlan) -> None:
    count = [
        sum(d in s.days for s in plan.placed.stints.values())
        for d in range(plan.placed.season.n_days)
    ]
    busiest = max(
        (v.first for v in plan.placed.visits.values()), key=lambda day: (count[day], -day)
    )
    rain = plan.placed.season.date_of(busiest)
    holding = away(plan.placed.holding, rain, rain)
    steady = plan_season(holding, AS_OF, published=published(plan))
    assert steady.placed.roster.left_out == ()
    moved = {move.visit_id for move in steady.moves}
    begin_there = {visit_id for visit_id, v in plan.placed.visits.items() if v.first == busiest}
    assert set() < begin_there <= moved, "what began on that day has to move"
    assert faults_in(steady.placed.problem, steady.placed.roster) == ()
    anew = plan_season(holding, AS_OF)
    changed = {
        v for v, there in plan.placed.visits.items() if anew.placed.visits[v].first != there.first
    }
    assert len(moved) <= len(changed)
    assert steady.placed.roster.stage("moved").value == len(moved)
    assert steady.placed.roster.proof == "proven", "no plan moves fewer, nor nearer"
    assert any("nobody of the crew works" in move.because for move in steady.moves)
    for move in steady.moves:
        assert move.now is not None
        assert abs((move.now - move.was).days) <= 14


def test_an_ill_person_moves_only_what_is_near(branasol: SeasonPlan) -> None:
    first = branasol.placed.season.date_of(branasol.placed.visits["fondal.release"].first)
    assert "Uxía" in branasol.placed.stints["fondal.weed-lines"].people[0]
    ill = away(branasol.placed.holding, first, first + timedelta(days=6), "Uxía")
    steady = plan_season(ill, AS_OF, published=published(branasol))
    assert {move.visit_id.partition(".")[0] for move in steady.moves} == {"fondal"}
    assert steady.placed.roster.proof == "proven", "so many must move, and no plan moves fewer"
    assert faults_in(steady.placed.problem, steady.placed.roster) == ()


def test_a_visit_begun_goes_on_on_its_remaining_days(branasol: SeasonPlan) -> None:
    """All that was planned before a day is logged, and four fifths of what goes on then."""
    task_id, stint = next(
        (t, s)
        for t, s in branasol.placed.stints.items()
        if t.endswith(".lay-coarse") and len(s.days) > 1
    )
    visit, day = branasol.placed.visits[branasol.placed.visit_of[task_id]], stint.days[1]
    today = branasol.placed.season.date_of(day)
    done = tuple(
        LogEntry(date=on, plan="2027", task=t, percent=80 if s.last >= day else 100)
        for t, s in branasol.placed.stints.items()
        if s.first < day
        for on in (branasol.placed.season.date_of(min(s.last, day - 1)),)
    )
    booked = tuple(LogEntry(date=today, plan="2027", task=e.id) for e in branasol.errands)
    holding = replace(branasol.placed.holding, log=(*branasol.placed.holding.log, *done, *booked))
    steady = plan_season(holding, today, published=published(branasol))
    assert steady.moves == ()
    now = steady.placed.visits[visit.visit_id]
    assert (now.first, now.last, now.span_days) == (day, visit.last, visit.span_days)


def test_work_nobody_logged_moves_to_the_next_days_and_says_so(branasol: SeasonPlan) -> None:
    today = branasol.placed.season.date_of(
        min(s.last for s in branasol.placed.stints.values()) + 1
    )
    steady = plan_season(branasol.placed.holding, today, published=published(branasol))
    overdue = [move for move in steady.moves if move.was < today]
    assert overdue
    assert all("work log" in move.because for move in overdue)


# From the command line: the written feed is the memory.


@pytest.fixture
def site(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return new_site(tmp_path / "site")


def run(*command: str) -> Result:
    return CliRunner().invoke(app, [*command, "--as-of", "2026-11-25"])


LAST_FROST = 'own_last = "05-10"'
WARMER, COLDER = 'own_last = "04-20"', 'own_last = "05-20"'


def test_write_keeps_what_it_wrote_and_afresh_does_not(site: Path) -> None:
    assert run("write", str(site)).exit_code == 0
    folder = Path("calendars/test-hill")
    before = {path.name: path.read_bytes() for path in folder.glob("*.ics")}
    assert run("write", str(site)).exit_code == 0
    assert {path.name: path.read_bytes() for path in folder.glob("*.ics")} == before
    edit(site, "site.toml", LAST_FROST, WARMER)
    kept = run("write", str(site))
    assert kept.exit_code == 0
    assert "moved: first-plot.release" not in kept.stderr, "an earlier gate forces nothing"
    assert "decide-release" in kept.stderr, "the day to decide goes with the gate"
    assert "moved:" not in run("plan", "--full", str(site)).stdout, (
        "what was written now is published"
    )
    assert run("write", str(site), "--afresh").exit_code == 0
    told = (folder / "work.ics").read_bytes()
    assert told.count(b"SEQUENCE:1") > 3, "planned anew, the work comes earlier"


def test_roster_why_and_check_use_the_same_memory(site: Path) -> None:
    run("write", str(site), "--to", "elsewhere")
    edit(site, "site.toml", LAST_FROST, WARMER)
    Path("none").mkdir()
    for command in (["plan", "--full", str(site)], ["why", str(site), "first-plot.release"]):
        kept, anew = (
            run(*command, "--published", where).stdout for where in ("elsewhere", "none")
        )
        assert kept != anew
        assert anew == run(*command, "--published", "elsewhere", "--afresh").stdout
    assert run("check", str(site), "--published", "elsewhere").exit_code == 0


def test_a_colder_frost_outlook_moves_what_it_closes_and_names_the_rule(site: Path) -> None:
    run("write", str(site))
    told = published(planned(site))
    edit(site, "site.toml", LAST_FROST, COLDER)
    steady = planned(site, published=told)
    forced = [m for m in steady.moves if "frost" in m.because]
    assert "first-plot.release" in {move.visit_id for move in forced}
    assert all(move.now is not None and move.now > move.was for move in forced)
    told_words = run("write", str(site)).stderr
    assert "moved: first-plot.release" in told_words
    assert "is closed to 'Cut the medium stratum': waits until your own date" in told_words


def test_publish_keeps_the_days_of_its_own_folder(site: Path) -> None:
    command = ("share", str(site), "--to", "www")
    assert run(*command).exit_code == 0
    edit(site, "site.toml", LAST_FROST, WARMER)
    assert run(*command).exit_code == 0
    work = next(Path("www").glob("*/*-work.ics"))
    n_kept = work.read_bytes().count(b"SEQUENCE:1")
    assert run(*command, "--afresh").exit_code == 0
    told = work.read_bytes()
    assert told.count(b"SEQUENCE:1") + told.count(b"SEQUENCE:2") > n_kept


@pytest.mark.parametrize(
    "damage", [b"BEGIN:VCALENDAR\r\nno feed", b"BEGIN:VCALENDAR\r\nEND:VCALENDAR\r\n", b"\xff\x00"]
)
def test_a_damaged_memory_is_told_in_one_line(site: Path, damage: bytes) -> None:
    Path("calendars/test-hill").mkdir(parents=True)
    Path("calendars/test-hill/work.ics").write_bytes(damage)
    result = run("plan", "--full", str(site))
    assert result.exit_code == 2
    assert "does not tell what was published" in result.stderr
    assert "--afresh" in result.stderr
    assert len(result.stderr.splitlines()) == 1
    assert run("plan", "--full", str(site), "--afresh").exit_code == 0


def test_another_sites_feed_is_no_memory(site: Path, tmp_path: Path) -> None:
    other = new_site(tmp_path / "other", id="other-hill", own_last="05-28")
    run("write", str(other), "--to", "elsewhere")
    asked = ("plan", "--full", str(site), "--published", "elsewhere")
    assert run(*asked).stdout == run(*asked, "--afresh").stdout


TALL = "first-plot.cut-dormant-tall"


def left_h(site: Path) -> float:
    return planned(site).placed.problem.by_id[TALL].work_h


def test_hours_left_are_planned_as_they_are_told(site: Path) -> None:
    assert run("log", str(site), TALL, "--hours-left", "3").exit_code == 0
    assert left_h(site) == 3.0
    header, row = (site / "worklog.csv").read_text(encoding="utf-8").splitlines()[-2:]
    assert header.endswith(",hours_left")
    assert row.endswith(",3.0")
    result = run("log", str(site), TALL, "--hours-left", "3", "--percent", "50")
    assert result.exit_code == 2
    assert "give one of them" in result.stderr
    assert "100 % done" in run("log", str(site), TALL, "--hours-left", "0").stdout


def test_a_log_kept_with_semicolons_stays_one(site: Path) -> None:
    path = site / "worklog.csv"
    path.write_text("date;plan;task;percent;hours;note\n", encoding="utf-8")
    assert run("log", str(site), TALL, "--hours-left", "3", "--note", "rain").exit_code == 0
    assert left_h(site) == 3.0
    assert path.read_text(encoding="utf-8").splitlines()[1].count(";") == 6


def test_a_slow_pace_leaves_more_to_do(site: Path) -> None:
    plan = planned(site)
    usual = plan.placed.tasks[TALL].hours.usual
    half = LogEntry(date=AS_OF, plan="2027", task=TALL, percent=50, hours=usual)
    append_to_log(site, (half,))
    assert left_h(site) == pytest.approx(0.5 * (0.5 * usual + usual), abs=0.25)


def test_a_booking_that_is_logged_holds_its_climber(site: Path) -> None:
    """Else each day that goes by would push the climber's day ahead by one."""
    plan = planned(site)
    later = AS_OF + timedelta(days=6)
    told = published(plan)
    pushed = planned(site, later, told)
    assert any("notice" in move.because for move in pushed.moves)
    called = LogEntry(date=AS_OF, plan="2027", task="holding.book-climber-dormant")
    append_to_log(site, (called,))
    kept = planned(site, later, told)
    assert not any("notice" in move.because for move in kept.moves)
    assert kept.placed.stints[TALL].first == plan.placed.stints[TALL].first
