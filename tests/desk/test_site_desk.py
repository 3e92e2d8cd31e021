"""The desk without its pages: a change tried writes nothing; kept, it is as a hand writes it."""

import sys
from concurrent.futures import ThreadPoolExecutor
from datetime import date, timedelta
from pathlib import Path
from threading import Thread

import pytest

from scheduler.desk import SiteDesk, WriteOptions
from scheduler.desk.forms import UnclearError
from scheduler.desk.site_desk import ChangedMeanwhileError
from scheduler.desk.stock_edits import stock_table
from scheduler.files import FaultyFilesError
from scheduler.holding import locked_site, read_holding
from tests.sites import AS_OF, add, edit, new_site

RAIN_DAY = date(2027, 5, 12)  # the release visit begins on it
RAIN = {"kind": ["rain"], "first": ["2027-05-12"], "last": ["2027-05-13"]}


def desk_of(site: Path, day: date = AS_OF) -> SiteDesk:
    return SiteDesk(site, site.parent / "calendars", None, lambda: day)


@pytest.fixture
def site(tmp_path: Path) -> Path:
    return new_site(tmp_path / "site")


@pytest.fixture
def desk(site: Path) -> SiteDesk:
    made = desk_of(site)
    made.calendars.mkdir()
    return made


def state(folder: Path) -> dict[str, bytes]:
    return {str(p.relative_to(folder)): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def kept(desk: SiteDesk, **form: str) -> str:
    told = {name.replace("_", "-"): [value] for name, value in form.items()}
    return desk.keep(told, desk.tried(told).seen).words


def test_rain_tells_what_would_move_and_why_before_anything_is_written(
    desk: SiteDesk, site: Path, tmp_path: Path
) -> None:
    desk.write_again()
    wet = desk_of(site, RAIN_DAY)
    before = state(tmp_path)
    answer = wet.tried(RAIN)
    assert state(tmp_path) == before
    assert answer.words == "No work on 12 May 2027 to 13 May 2027: rain."
    (shift,) = (shift for shift in answer.shifts if shift.title == "First plot: release visit")
    assert shift.was.startswith("Wed 12 May 2027")
    assert "closed by the grower: rain" in shift.because
    assert wet.keep(RAIN, answer.seen).shifts == answer.shifts
    assert not wet.unwritten
    plan = (site / "plan-2027.toml").read_text(encoding="utf-8")
    assert plan == before["site/plan-2027.toml"].decode() + (
        '\n[[closed]]\nfirst = 2027-05-12\nlast = 2027-05-13\nwhy = "rain"\n'
    )
    days = {move.visit_id: move.now for move in wet.plan().moves}
    now = days["first-plot.release"]
    assert now is not None, "the pages go on showing what has moved"
    assert now > date(2027, 5, 13)
    feed = (tmp_path / "calendars" / "work.ics").read_bytes().decode().replace("\r\n ", "")
    events = [event for event in feed.split("BEGIN:VEVENT") if "release visit\\, day 1" in event]
    assert [event.split("DTSTART;VALUE=DATE:")[1][:8] for event in events] == [f"{now:%Y%m%d}"]
    assert (tmp_path / "calendars" / "pages" / f"day-{now}.html").exists()
    with pytest.raises(UnclearError, match="closed already"):
        wet.tried(RAIN)


def test_each_change_is_what_a_hand_would_write(desk: SiteDesk, site: Path) -> None:
    crew = (site / "crew.toml").read_text(encoding="utf-8")
    kept(desk, kind="away", person="Ilka", first="2027-03-01", last="2027-03-05")
    off = "off = [{first = 2027-03-01, last = 2027-03-05}]"
    now = (site / "crew.toml").read_text(encoding="utf-8")
    assert now.replace(off, "off = []") == crew, "the comment behind it stays"
    (person,) = (p for p in read_holding(site, AS_OF).crew.person if p.name == "Ilka")
    assert person.hours_on(date(2027, 3, 4)) == 0.0

    visit, plan = "first-plot.release", (site / "plan-2027.toml").read_text(encoding="utf-8")
    kept(desk, kind="own-day", visit=visit, how="not_before", day="2027-06-01", why="guests")
    kept(desk, kind="own-day", visit=visit, how="on", day="2027-06-03", why="guests")
    (own,) = read_holding(site, AS_OF).plan.says.own_date
    assert (own.task, own.on, own.not_before) == (visit, date(2027, 6, 3), None)
    kept(desk, kind="own-day", visit=visit, how="none")
    assert (site / "plan-2027.toml").read_text(encoding="utf-8").rstrip() == plan.rstrip()

    words = kept(
        desk, kind="forecast", issued="2026-11-25", nights="2026-11-26 -3\n2026-11-27;1,5"
    )
    assert words == "Forecast: 2 nights, the coldest -3 °C at the station."
    nights = read_holding(site, AS_OF).frost.forecast
    assert [(n.date, n.tmin_c) for n in nights] == [
        (date(2026, 11, 26), -3.0),
        (date(2026, 11, 27), 1.5),
    ]
    kept(desk, kind="forecast", issued="2026-11-25", nights="2026-11-26 -4")
    assert [n.tmin_c for n in read_holding(site, AS_OF).frost.forecast] == [-4.0, 1.5], "anew"

    row = stock_table((site / "stock.csv").read_bytes()).rows[0]
    form = {"kind": ["stock"], f"stock.{row.mark}.count": ["99"]}
    desk.keep(form, desk.tried(form).seen)
    assert read_holding(site, AS_OF).stock[0].count == 99


def test_work_is_logged_as_the_command_logs_it(tmp_path: Path) -> None:
    day = date(2027, 5, 20)
    desk = desk_of(new_site(tmp_path / "site"), day)
    desk.calendars.mkdir()
    words = kept(desk, kind="done", what="first-plot.weed-lines", on="2027-05-19", hours="2,5")
    assert words.startswith("Done on 19 May 2027, 2.5 person-hours: first-plot.weed-lines 100 %")
    (entry,) = read_holding(desk.folder, day).log
    assert (entry.task, entry.date, entry.hours) == (
        "first-plot.weed-lines",
        date(2027, 5, 19),
        2.5,
    )
    with pytest.raises(UnclearError, match="so it is done"):
        desk.tried({"kind": ["done"], "what": ["first-plot.weed-lines"]})
    with pytest.raises(UnclearError, match="still to come"):
        desk.tried({"kind": ["done"], "what": ["first-plot.cut-medium"], "on": ["2027-05-21"]})


@pytest.mark.parametrize(
    ("form", "says"),
    [
        ({}, "names nothing"),
        ({"kind": "party"}, "names nothing"),
        ({"kind": "rain", "first": "2027-02-30"}, "is no day"),
        ({"kind": "rain", "first": "2027-05-02", "last": "2027-05-01"}, "comes before"),
        ({"kind": "rain", "first": "2028-05-02"}, "not within the plan in force"),
        ({"kind": "rain", "first": "0001-01-01"}, "beyond any plan"),
        ({"kind": "done", "what": "2026-13-01"}, "Choose the visit"),
        ({"kind": "done", "what": "9abc"}, "Choose the visit"),
        ({"kind": "away", "person": "Nobody"}, "Nobody of the crew"),
        ({"kind": "own-day", "visit": "nowhere.release"}, "Choose the visit"),
        ({"kind": "own-day", "visit": "first-plot.release", "how": "maybe"}, "Say whether"),
        ({"kind": "own-day", "visit": "first-plot.release", "how": "none"}, "No day of your own"),
        ({"kind": "done"}, "Choose the visit"),
        ({"kind": "done", "what": "first-plot.release", "steps": "ticked"}, "Tick the steps"),
        ({"kind": "done", "what": "first-plot.release", "hours": "many"}, "no number"),
        ({"kind": "done", "what": "first-plot.relase"}, "Choose the visit"),
        ({"kind": "stock"}, "Nothing in the table is changed"),
        ({"kind": "forecast", "nights": "cold\n"}, "a night is written as"),
        ({"kind": "forecast"}, "Write a night a line"),
        ({"kind": "forecast", "nights": "2027-04-28 -1"}, "more than 16 days after 2026-11-25"),
        ({"kind": "booked", "hire": "crane", "first": "2027-05-01"}, "Choose who or what"),
        ({"kind": "booked", "hire": "climber"}, "is no day"),
    ],
)
def test_what_is_unclear_is_said_and_nothing_is_written(
    desk: SiteDesk, site: Path, form: dict[str, str], says: str
) -> None:
    before = state(site)
    with pytest.raises(UnclearError) as unclear:
        desk.tried({name: [value] for name, value in form.items()})
    assert says in " ".join(unclear.value.args)
    assert state(site) == before


def test_a_change_meets_the_same_checks_as_a_file(desk: SiteDesk, site: Path) -> None:
    row = stock_table((site / "stock.csv").read_bytes()).rows[0]
    before = state(site)
    form = {
        "kind": ["stock"],
        f"stock.{row.mark}.plant": ["aple"],
        f"stock.{row.mark}.count": ["0"],
    }
    with pytest.raises(FaultyFilesError) as refused:
        desk.tried(form)
    told = "\n".join(map(str, refused.value.faults))
    assert "stock.csv" in told
    assert "did you mean 'apple'" in told
    assert "count" in told
    assert state(site) == before


def test_two_people_at_once_lose_nothing(desk: SiteDesk, site: Path) -> None:
    first = {"kind": ["rain"], "first": ["2027-03-02"]}
    second = {
        "kind": ["away"],
        "person": ["Ilka"],
        "first": ["2027-03-08"],
        "last": ["2027-03-09"],
    }
    seen, other = desk.tried(first).seen, desk.tried(second).seen
    desk.keep(first, seen)
    with pytest.raises(ChangedMeanwhileError):
        desk.keep(second, other)
    desk.keep(second, desk.tried(second).seen)
    holding = read_holding(site, AS_OF)
    assert [closed.first for closed in holding.plan.says.closed] == [date(2027, 3, 2)]
    assert any(off.first == date(2027, 3, 8) for p in holding.crew.person for off in p.off)


def test_of_many_who_keep_at_the_same_moment_each_is_kept_or_told(
    desk: SiteDesk, site: Path
) -> None:
    forms = [{"kind": ["rain"], "first": [f"2027-03-{day:02}"]} for day in range(1, 5)]

    def keep(form: dict[str, list[str]]) -> int:
        for told in range(10):
            try:
                desk.keep(form, desk.tried(form).seen)
            except ChangedMeanwhileError:
                continue
            return told
        raise AssertionError("never kept")

    with ThreadPoolExecutor(4) as people:
        told = list(people.map(keep, forms))
    assert sum(told) > 0, "nobody met anybody: the test would prove nothing"
    closed = [c.first.day for c in read_holding(site, AS_OF).plan.says.closed]
    assert sorted(closed) == [1, 2, 3, 4]


def test_it_waits_for_whoever_is_writing_the_site(desk: SiteDesk, site: Path) -> None:
    seen = desk.tried(RAIN).seen
    writer = Thread(target=desk.keep, args=(RAIN, seen))
    with locked_site(site):
        writer.start()
        writer.join(0.5)
        assert writer.is_alive(), "the log command holds the same lock"
        assert "rain" not in (site / "plan-2027.toml").read_text(encoding="utf-8")
    writer.join()
    assert "rain" in (site / "plan-2027.toml").read_text(encoding="utf-8")


def test_a_file_that_a_hand_changes_is_seen_at_once(desk: SiteDesk, site: Path) -> None:
    first = desk.plan()
    assert desk.plan() is first, "nothing is planned twice"
    add(site, "plan-2027.toml", '\n[[closed]]\nfirst = 2027-03-02\nwhy = "x"\n')
    assert desk.plan() is not first
    edit(site, "site.toml", 'id = "test-hill"', 'id = "Test Hill"')
    with pytest.raises(FaultyFilesError):
        desk.plan()


MUCH = {"kind": ["rain"], "first": ["2027-05-01"], "last": ["2027-11-30"]}  # most of the season


def test_calendars_that_would_lose_much_wait_for_a_word(desk: SiteDesk, site: Path) -> None:
    desk.write_again()
    before = (desk.calendars / "work.ics").read_bytes()
    desk.keep(MUCH, desk.tried(MUCH).seen)
    assert any("would lose" in line for line in desk.unwritten)
    assert (desk.calendars / "work.ics").read_bytes() == before
    assert "rain" in (site / "plan-2027.toml").read_text(encoding="utf-8"), "the files are kept"
    desk.write_again()
    assert (desk.calendars / "work.ics").read_bytes() != before
    assert desk.unwritten == ()


def test_what_waits_for_another_reason_gets_no_leave_to_lose(desk: SiteDesk, site: Path) -> None:
    """A folder stands in the way: that is tried again, and the loss is asked about then."""
    desk.write_again()
    before = (desk.calendars / "work.ics").read_bytes()
    seen = desk.tried(MUCH).seen
    (desk.calendars / "sky.ics").unlink()
    (desk.calendars / "sky.ics").mkdir()
    desk.keep(MUCH, seen)
    assert desk.unwritten
    assert "rain" in (site / "plan-2027.toml").read_text(encoding="utf-8")
    (desk.calendars / "sky.ics").rmdir()
    desk.write_again()
    assert any("would lose" in line for line in desk.unwritten)
    assert (desk.calendars / "work.ics").read_bytes() == before


def test_calendars_older_than_the_plan_are_told_and_written_as_they_were(tmp_path: Path) -> None:
    site = new_site(tmp_path / "site")
    options = WriteOptions(alarms=True, relations=True)
    desk = SiteDesk(site, tmp_path / "calendars", None, lambda: AS_OF, options)
    (tmp_path / "calendars").mkdir()
    desk.plan()
    desk.write_again()
    first = (tmp_path / "calendars" / "work.ics").read_bytes()
    assert first.count(b"BEGIN:VALARM") > 10
    assert b"RELATED-TO" in first
    assert desk.waiting() == ()
    visit = desk.plan().placed.visits["first-plot.release"]
    closed = desk.plan().placed.season.date_of(visit.first)
    add(site, "plan-2027.toml", f'\n[[closed]]\nfirst = {closed}\nwhy = "x"\n')
    (waits,) = desk.waiting()
    assert "on other days than in the calendars" in waits
    assert (tmp_path / "calendars" / "work.ics").read_bytes() == first, "looking writes nothing"
    desk.write_again()
    assert desk.waiting() == ()
    then = (tmp_path / "calendars" / "work.ics").read_bytes()
    assert then != first
    assert then.count(b"BEGIN:VALARM") > 10


def test_a_cell_that_is_emptied_is_empty_whoever_tries_something_between(
    desk: SiteDesk, site: Path
) -> None:
    row = stock_table((site / "stock.csv").read_bytes()).rows[0]
    assert row.cells[-1], "it has a note"
    cells = dict(
        zip(stock_table((site / "stock.csv").read_bytes()).columns, row.cells, strict=True)
    )
    told = {f"stock.{row.mark}.{name}": [cell] for name, cell in (cells | {"note": ""}).items()}
    form = {"kind": ["stock"], f"stock.{row.mark}.was": ["\t".join(row.cells)], **told}
    answer = desk.tried(form)
    assert answer.form == {"kind": ["stock"], f"stock.{row.mark}.note": [""]}
    desk.tried(RAIN)
    desk.keep(answer.form, answer.seen)
    assert read_holding(site, AS_OF).stock[0].note == ""


def test_a_note_of_several_lines_is_left_as_it_is(desk: SiteDesk, site: Path) -> None:
    """A browser gives it back in one line."""
    edit(site, "stock.csv", "EXAMPLE rows; put your own in their place", '"line one\nline two"')
    row = stock_table((site / "stock.csv").read_bytes()).rows[0]
    note = f"stock.{row.mark}.note"
    was = {f"stock.{row.mark}.was": ["\t".join(row.cells)]}
    with pytest.raises(UnclearError, match="Nothing in the table"):
        desk.tried({"kind": ["stock"], note: ["line oneline two"], **was})


def test_a_hand_that_saves_while_it_is_planned_loses_nothing(
    desk: SiteDesk, site: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    seen = desk.tried(RAIN).seen
    desk.tried({"kind": ["rain"], "first": ["2027-03-09"]})  # another trial: it plans anew
    plan = desk._plan

    def planned_meanwhile(*args: object) -> object:
        add(site, "plan-2027.toml", '\n[[closed]]\nfirst = 2027-03-02\nwhy = "by hand"\n')
        return plan(*args)  # type: ignore[arg-type]

    monkeypatch.setattr(desk, "_plan", planned_meanwhile)
    with pytest.raises(ChangedMeanwhileError):
        desk.keep(RAIN, seen)
    assert "by hand" in (site / "plan-2027.toml").read_text(encoding="utf-8")
    assert "rain" not in (site / "plan-2027.toml").read_text(encoding="utf-8")


def test_what_a_hand_saves_while_it_is_planned_is_seen_at_the_next_look(
    desk: SiteDesk, site: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    plan = desk._plan

    def planned_meanwhile(*args: object) -> object:
        add(site, "plan-2027.toml", '\n[[closed]]\nfirst = 2027-03-02\nwhy = "by hand"\n')
        monkeypatch.setattr(desk, "_plan", plan)
        return plan(*args)  # type: ignore[arg-type]

    monkeypatch.setattr(desk, "_plan", planned_meanwhile)
    assert not desk.plan().placed.holding.plan.says.closed
    assert desk.plan().placed.holding.plan.says.closed


@pytest.mark.skipif(sys.platform == "win32", reason="modes of POSIX")
def test_where_one_file_is_read_only_none_is_written(desk: SiteDesk, site: Path) -> None:
    form = {"kind": ["forecast"], "nights": ["2026-11-26 -3"]}
    seen = desk.tried(form).seen
    (site / "site.toml").chmod(0o444)
    with pytest.raises(ChangedMeanwhileError if desk._state() != seen else PermissionError):
        desk.keep(form, desk.tried(form).seen)
    assert not (site / "forecast.csv").exists()


def test_a_forecast_elsewhere_is_seen_to_change_and_photos_are_not(
    desk: SiteDesk, site: Path, tmp_path: Path
) -> None:
    there = tmp_path / "forecast.csv"
    there.write_text("issued,date,tmin_c\n2026-11-25,2026-11-26,-3\n", encoding="utf-8")
    edit(site, "site.toml", '# forecast = "forecast.csv"', f'forecast = "{there}"')
    first = desk.plan()
    (site / "photo.jpg").write_bytes(b"a tree")
    assert desk.plan() is first
    there.write_text("issued,date,tmin_c\n2026-11-25,2026-11-26,9\n", encoding="utf-8")
    (night,) = desk.plan().placed.holding.frost.forecast
    assert night.tmin_c == 9


def test_steps_of_a_page_that_was_open_past_midnight_are_logged(tmp_path: Path) -> None:
    site = new_site(tmp_path / "site")
    desk = desk_of(site, date(2027, 4, 1))
    desk.calendars.mkdir()
    desk.write_again()
    placed = desk.plan().placed
    visit, step = "first-plot.release", "first-plot.weed-lines"
    day = placed.season.date_of(placed.stints[step].first)
    late = desk_of(site, day + timedelta(days=1))
    form = {"kind": ["done"], "what": [visit], "on": [str(day)], "steps": ["x"], "step": [step]}
    assert f"{step} 100 %" in late.tried(form).words
    with pytest.raises(UnclearError, match="does not have that"):
        late.tried({**form, "step": [step, "first-plot.plant-alleys"]})


def test_reasons_of_the_desk_are_true(desk: SiteDesk) -> None:
    """Put off and let go again, a visit is back on its published day, and says so."""
    visit = "first-plot.release"
    kept(desk, kind="own-day", visit=visit, how="not_before", day="2027-06-14", why="guests")
    form = {"kind": ["own-day"], "visit": [visit], "how": ["none"]}
    answer = desk.tried(form)
    (shift,) = (shift for shift in answer.shifts if "release visit" in shift.title)
    assert shift.because == "the dry-summer visit of First plot would begin before it is done"
    desk.calendars.joinpath("work.ics").unlink()
    gone = {"kind": ["own-day"], "visit": [visit], "how": ["on"], "day": ["2027-01-05"]}
    answer = desk.tried(gone)
    (shift,) = (shift for shift in answer.shifts if "release visit" in shift.title)
    assert shift.now == "unscheduled" or "you set 5 Jan 2027" in shift.because


def test_what_was_kept_is_told_after_a_restart_and_can_be_taken_back(
    desk: SiteDesk, site: Path
) -> None:
    plan, crew = ((site / name).read_bytes() for name in ("plan-2027.toml", "crew.toml"))
    kept(desk, kind="rain", first="2027-05-10", last="2027-05-11")
    kept(desk, kind="away", person="Ilka", first="2027-03-01", last="2027-03-05")
    again = desk_of(site)
    assert [effect.words for effect in again.kept] == [effect.words for effect in desk.kept]
    assert [effect.shifts for effect in again.kept] == [effect.shifts for effect in desk.kept]
    assert again.kept[0].at is not None
    kept(again, kind="back", person="", first="2027-05-10")
    kept(again, kind="back", person="Ilka", first="2027-03-01")
    assert (site / "plan-2027.toml").read_bytes().rstrip() == plan.rstrip()
    assert (site / "crew.toml").read_bytes() == crew
    for form in ({"first": ["2027-05-10"]}, {"person": ["Ilka"], "first": ["2027-03-01"]}):
        with pytest.raises(UnclearError, match=r"Nothing is closed|is not away"):
            again.tried({"kind": ["back"], **form})
    (desk.calendars / ".desk-kept.json").write_bytes(b'[{"words": 1}]')
    assert not desk_of(site).kept, "what is none of ours is passed over"


def test_a_firm_that_has_agreed_is_written_down(desk: SiteDesk, site: Path) -> None:
    kept(desk, kind="booked", hire="climber", first="2027-11-25", last="2027-11-26")
    (climber,) = (hire for hire in read_holding(site, AS_OF).crew.hire if hire.id == "climber")
    assert [(b.first, b.last) for b in climber.booked] == [
        (date(2027, 11, 25), date(2027, 11, 26))
    ]


def test_a_changed_row_is_named(desk: SiteDesk, site: Path) -> None:
    table = stock_table((site / "stock.csv").read_bytes())
    row = table.rows[0]
    answer = desk.tried({"kind": ["stock"], f"stock.{row.mark}.count": ["9"]})
    assert answer.words == "Stock: alder, first-plot, A: count 8 to 9."


def test_taking_back_a_day_leaves_what_is_closed_for_some_work_only(
    desk: SiteDesk, site: Path
) -> None:
    some = '\n[[closed]]\nfirst = 2027-05-10\ntypes = ["release"]\nwhy = "a feast"\n'
    add(site, "plan-2027.toml", some)
    kept(desk, kind="rain", first="2027-05-10")
    kept(desk, kind="back", person="", first="2027-05-10")
    (closed,) = read_holding(site, AS_OF).plan.says.closed
    assert closed.why == "a feast"
    with pytest.raises(UnclearError, match="Nothing is closed"):
        desk.tried({"kind": ["back"], "first": ["2027-05-10"]})
