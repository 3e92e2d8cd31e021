"""What is kept for the tests that ask again is what they would have made, and of equal content."""

from datetime import timedelta
from pathlib import Path

from scheduler.holding import read_holding
from scheduler.reasons import plan_season
from scheduler.words import plain, roster_record
from tests.once import plan_once, told_once
from tests.sites import AS_OF, edit, new_site, published


def test_a_season_is_planned_once_for_equal_content_and_anew_for_any_other(tmp_path: Path) -> None:
    site, twin = new_site(tmp_path / "site"), new_site(tmp_path / "twin")
    plan = plan_once(read_holding(site, AS_OF), AS_OF)
    assert plan_once(read_holding(twin, AS_OF), AS_OF) is plan
    later = AS_OF + timedelta(days=1)
    assert plan_once(read_holding(site, later), later) is not plan
    assert plan_once(read_holding(site, AS_OF), AS_OF, published=published(plan)) is not plan
    edit(site, "crew.toml", "# spare_share = 0.15", "spare_share = 0.15")
    assert plan_once(read_holding(site, AS_OF), AS_OF) is not plan


def test_what_is_kept_is_what_the_program_makes(tmp_path: Path) -> None:
    holding = read_holding(new_site(tmp_path / "site"), AS_OF)
    plan, kept = plan_season(holding, AS_OF), plan_once(holding, AS_OF)
    assert kept is not plan
    assert kept.placed.roster == plan.placed.roster
    assert kept.notices == plan.notices
    assert told_once(kept) == plain(roster_record(plan))


def test_a_new_site_of_known_content_has_the_same_files(tmp_path: Path) -> None:
    first, second = new_site(tmp_path / "first"), new_site(tmp_path / "second")
    files = {path.name: path.read_bytes() for path in first.iterdir()}
    assert files
    assert {path.name: path.read_bytes() for path in second.iterdir()} == files
