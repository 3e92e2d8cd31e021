"""Feeds that have lost their last event, or their person or plot: told, left, emptied, removed."""

import json
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from typer.testing import CliRunner

from scheduler.calendars import Feed
from scheduler.commands.app import app
from scheduler.ways_out import Manner, left_lines, share_feeds, write_feeds, written_lines
from scheduler.ways_out.folder import State
from scheduler.ways_out.page_files import standing
from tests.calendars.lint import faults_of
from tests.sites import edit, new_site
from tests.ways_out.test_disk import feed

pytestmark = pytest.mark.usefixtures("plans_once")

NOW = datetime(2026, 11, 25, tzinfo=UTC)
PLAIN = Manner(NOW)
WORK, ANA, LOW = feed("x"), feed("x", "person-ana"), feed("x", "plot-low")
IDLE = replace(ANA, events=())


def states(folder: Path, feeds: list[Feed], manner: Manner = PLAIN) -> dict[str, State]:
    return {w.path.stem: w.state for w in write_feeds(feeds, folder, manner)}


def test_one_feed_that_is_empty_does_not_keep_the_others_from_being_written(
    tmp_path: Path,
) -> None:
    states(tmp_path, [WORK, ANA])
    before = (tmp_path / "person-ana.ics").read_bytes()
    told = states(tmp_path, [feed("other words"), IDLE])
    assert told == {"work": State.WRITTEN, "person-ana": State.LEFT}
    assert b"other words" in (tmp_path / "work.ics").read_bytes()
    assert (tmp_path / "person-ana.ics").read_bytes() == before


def test_someone_who_never_had_work_gets_no_feed(tmp_path: Path) -> None:
    for manner in (PLAIN, Manner(NOW, allow_empty=True)):
        assert states(tmp_path, [WORK, IDLE], manner).keys() == {"work"}
    assert [path.name for path in tmp_path.iterdir()] == ["work.ics"]


@pytest.mark.parametrize("feeds", [[WORK], [WORK, IDLE]], ids=["gone", "idle"])
def test_an_ended_feed_is_emptied_or_taken_away_as_asked(
    tmp_path: Path, feeds: list[Feed]
) -> None:
    states(tmp_path, [WORK, ANA])
    path = tmp_path / "person-ana.ics"
    assert states(tmp_path, feeds)["person-ana"] is State.LEFT
    assert states(tmp_path, feeds, Manner(NOW, allow_empty=True))["person-ana"] is State.WRITTEN
    assert b"VEVENT" not in path.read_bytes()
    assert b"NAME:Hill\r\n" in path.read_bytes(), "the head is kept"
    later = Manner(NOW + timedelta(days=1))
    assert states(tmp_path, feeds, later)["person-ana"] is State.UNCHANGED
    both = Manner(NOW, allow_empty=True, remove_ended=True)
    assert states(tmp_path, feeds, both)["person-ana"] is State.REMOVED
    assert not path.exists()
    assert "person-ana" not in states(tmp_path, feeds)


def test_only_feeds_of_people_and_plots_come_to_an_end(tmp_path: Path) -> None:
    states(tmp_path, [WORK, feed("x", "frost")])
    told = states(tmp_path, [replace(WORK, events=())], Manner(NOW, remove_ended=True))
    assert told == {"work": State.LEFT}
    assert (tmp_path / "frost.ics").exists()


def test_what_another_program_wrote_is_never_taken_away(tmp_path: Path) -> None:
    states(tmp_path, [WORK, ANA])
    ours = (tmp_path / "person-ana.ics").read_bytes()
    foreign = ours.replace(b"//scheduler//", b"//elsewhere//")
    (tmp_path / "person-bo.ics").write_bytes(foreign)
    (tmp_path / "plot-notes.ics").write_bytes(b"my own notes")
    told = states(tmp_path, [WORK], Manner(NOW, remove_ended=True, allow_empty=True))
    assert told == {"work": State.UNCHANGED, "person-ana": State.REMOVED}
    assert (tmp_path / "person-bo.ics").read_bytes() == foreign
    assert (tmp_path / "plot-notes.ics").read_bytes() == b"my own notes"


def test_work_lately_past_stays_though_nothing_is_planned(tmp_path: Path) -> None:
    """Two events were planned; when the person leaves, one is past and not yet logged."""
    past, coming = (
        replace(ANA.events[0], key=key, first=day, last=day)
        for key, day in (("past", date(2026, 11, 20)), ("coming", date(2026, 12, 20)))
    )
    states(tmp_path, [WORK, replace(ANA, events=(past, coming))])
    assert states(tmp_path, [WORK])["person-ana"] is State.WRITTEN
    kept = (tmp_path / "person-ana.ics").read_bytes()
    assert kept.count(b"BEGIN:VEVENT") == 1
    assert b"DTSTART;VALUE=DATE:20261120" in kept


def test_cancelled_work_of_somebody_gone_stays_if_asked(tmp_path: Path) -> None:
    states(tmp_path, [WORK, ANA])
    told = states(tmp_path, [WORK], Manner(NOW, keep_cancelled=True))
    assert told["person-ana"] is State.WRITTEN
    content = (tmp_path / "person-ana.ics").read_bytes()
    assert b"STATUS:CANCELLED" in content
    assert faults_of(content) == []


def test_the_words_name_the_file_and_both_ways_out(tmp_path: Path) -> None:
    states(tmp_path, [WORK, ANA, LOW])
    written = write_feeds([replace(WORK, events=()), LOW], tmp_path, PLAIN)
    told = dict(zip(("work", "ana"), left_lines(written), strict=True))
    assert "work.ics is left as it is: nothing is planned" in told["work"]
    assert "1 event; --allow-empty empties it" in told["work"]
    assert "--remove-ended" not in told["work"]
    assert "person-ana.ics is left as it is" in told["ana"]
    assert told["ana"].endswith("--allow-empty empties it, --remove-ended takes it away")
    assert list(written_lines(written)) == [f"{tmp_path / 'plot-low.ics'}: 1 event, unchanged"]


def shared_names(folder: Path) -> set[str]:
    return {path.name for path in folder.glob("*/*")}


def test_a_secret_address_of_somebody_gone_is_told_and_taken_away(tmp_path: Path) -> None:
    share_feeds([WORK, ANA], tmp_path, PLAIN)
    left = share_feeds([WORK], tmp_path, PLAIN, address="https://example.org")
    assert [w.state for w in left.feeds] == [State.UNCHANGED, State.LEFT]
    assert any("person-ana" in address for address in left.address_of.values()), "it still works"
    manner = Manner(NOW, remove_ended=True)
    gone = share_feeds([WORK], tmp_path, manner, address="https://example.org")
    assert shared_names(tmp_path) == {"hill-work.ics", "hill-pages"}
    assert len(list(tmp_path.iterdir())) == 2, "no empty folder is left behind"
    assert [feed.title for feed in standing(gone.feeds)] == [WORK.title]


def test_a_site_takes_nothing_from_another_whose_name_begins_alike(tmp_path: Path) -> None:
    other = [replace(each, site_id="hill-plot-b") for each in (WORK, ANA)]
    share_feeds(other, tmp_path, PLAIN)
    share_feeds([WORK, LOW], tmp_path, PLAIN)
    gone = share_feeds([WORK], tmp_path, Manner(NOW, remove_ended=True))
    assert [w.path.name for w in gone.feeds if w.state is State.REMOVED] == ["hill-plot-low.ics"]
    assert {"hill-plot-b-work.ics", "hill-plot-b-person-ana.ics"} <= shared_names(tmp_path)


AS_OF = ("--as-of", "2026-11-25")


@pytest.mark.parametrize("command", ["write", "share"])
def test_the_commands_say_it_and_take_it_away_when_asked(tmp_path: Path, command: str) -> None:
    site, to = new_site(tmp_path / "site"), tmp_path / "feeds"
    run = (command, str(site), "--to", str(to), *AS_OF)
    assert CliRunner().invoke(app, run).exit_code == 0
    assert len(list(to.rglob("*person-helper.ics"))) == 1
    edit(site, "crew.toml", 'name = "Helper"', 'name = "Somebody"')
    told = CliRunner().invoke(app, run)
    assert told.exit_code == 1
    assert "person-helper.ics is left as it is" in told.stderr
    assert len(list(to.rglob("*person-somebody.ics"))) == 1, "the others are written"
    taken = CliRunner().invoke(app, (*run, "--remove-ended", "--json"))
    assert taken.exit_code == 0, taken.output
    by_state = {Path(row["path"]).name: row["state"] for row in json.loads(taken.stdout)}
    (name,) = (name for name, state in by_state.items() if state == "removed")
    assert name.endswith("person-helper.ics")
    assert not list(to.rglob("*person-helper.ics"))
