"""What readers see never vanishes, changes its holding or goes back in time without a word."""

import os
import shutil
from datetime import date, datetime
from pathlib import Path

import icalendar
import pytest

from scheduler.ways_out import LossError, Manner, write_feeds
from tests.calendars.test_ics import THEN, event, feed
from tests.sites import ROOT, demo, new_site
from tests.test_strange_input import ran

AS_OF = ("--as-of", "2026-11-25")
KLIPSKADU = ROOT / "sites" / "klipskadu"


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder in which the calendars of both demo sites are written."""
    monkeypatch.chdir(tmp_path)
    shutil.copytree(ROOT / "calendars", tmp_path / "calendars")
    return tmp_path


def bytes_of(folder: Path) -> dict[str, bytes]:
    there = {path.name: path.read_bytes() for path in folder.glob("*.ics")}
    assert there
    return there


def stamps(path: Path) -> dict[str, tuple[int, datetime]]:
    """SEQUENCE and DTSTAMP by UID, as an independent reading of the feed gives them."""
    events = icalendar.Calendar.from_ical(path.read_bytes()).walk("VEVENT")
    return {str(e["uid"]): (int(str(e["sequence"])), e.decoded("dtstamp")) for e in events}


def test_a_calendar_of_another_holding_is_never_written_over(home: Path) -> None:
    before = bytes_of(home / "calendars" / "branasol")
    result = ran("write", KLIPSKADU, "--to", "calendars/branasol", *AS_OF)
    assert result.exit_code == 2
    assert "the calendar of another holding" in result.stderr
    assert bytes_of(home / "calendars" / "branasol") == before


def test_two_folders_of_one_name_have_calendars_of_their_own(home: Path) -> None:
    elsewhere = home / "elsewhere"
    twin = demo(elsewhere, "klipskadu").rename(elsewhere / "branasol")
    before = bytes_of(home / "calendars" / "branasol")
    assert ran("write", twin, *AS_OF).exit_code in (0, 1)
    assert bytes_of(home / "calendars" / "branasol") == before
    assert bytes_of(home / "calendars" / "klipskadu") == bytes_of(ROOT / "calendars" / "klipskadu")


def test_a_write_that_drops_much_of_what_is_to_come_wants_a_yes(home: Path) -> None:
    site = demo(home, "klipskadu")
    rows = (site / "stock.csv").read_text(encoding="utf-8").splitlines(keepends=True)
    (site / "stock.csv").write_text("".join(rows[:4]), encoding="utf-8")
    before = bytes_of(home / "calendars" / "klipskadu")
    result = ran("write", site, *AS_OF)
    assert result.exit_code == 2
    assert "work.ics would lose" in result.stderr
    assert "--yes writes it all the same" in result.stderr
    assert bytes_of(home / "calendars" / "klipskadu") == before
    assert ran("write", site, "--yes", *AS_OF).exit_code in (0, 1)
    assert bytes_of(home / "calendars" / "klipskadu") != before


def test_a_later_plan_drops_the_rest_of_this_one_only_with_a_yes(home: Path) -> None:
    site = new_site(home / "site")
    text = (site / "plan-2027.toml").read_text(encoding="utf-8")
    (site / "plan-2028.toml").write_text(
        text.replace("2028-", "2029-").replace("2027-", "2028-").replace("2026-", "2027-"),
        encoding="utf-8",
    )
    # late in the plan: what is left of it is less than a third of the feed
    late = ("--as-of", "2027-11-20")
    ran("write", site, "--yes", *late)
    result = ran("write", site, "--plan", "2028", *late)
    assert result.exit_code == 2
    assert "before this plan begins" in result.stderr


@pytest.mark.parametrize(("plan_first", "lost"), [(date(2027, 3, 1), 1), (date.min, 0)])
def test_a_few_entries_go_unasked_but_none_of_another_plan(
    tmp_path: Path, plan_first: date, lost: int
) -> None:
    old, other = event(first=date(2027, 2, 1), last=date(2027, 2, 1)), event("2028/x/1")
    write_feeds([feed(old, other)], tmp_path, Manner(THEN))
    before = bytes_of(tmp_path)
    manner = Manner(THEN, plan_first=plan_first)
    if not lost:
        write_feeds([feed(other)], tmp_path, manner)
        assert bytes_of(tmp_path) != before
        return
    with pytest.raises(LossError) as error:
        write_feeds([feed(other)], tmp_path, manner)
    assert "1 of them before this plan begins" in error.value.args[0]
    assert bytes_of(tmp_path) == before


def test_a_day_set_back_sets_no_stamp_back(home: Path) -> None:
    site = new_site(home / "site")
    ran("write", site, "--as-of", "2027-04-01", "--yes")
    feed = home / "calendars" / "test-hill" / "work.ics"
    before = stamps(feed)
    ran("write", site, *AS_OF, "--yes")
    after = stamps(feed)
    both = before.keys() & after.keys()
    assert both
    for uid in both:
        assert after[uid] >= before[uid]


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="there are no pipes of a name here")
@pytest.mark.parametrize("name", ["work.ics", "person-gone.ics"])
def test_a_pipe_in_the_place_of_a_calendar_is_not_waited_for(home: Path, name: str) -> None:
    feed = home / "calendars" / "klipskadu" / name
    feed.unlink(missing_ok=True)
    os.mkfifo(feed)
    result = ran("write", KLIPSKADU, *AS_OF)
    assert result.exit_code == 2
    assert f"{name}: found a pipe or device; allowed: a file" in result.stderr
