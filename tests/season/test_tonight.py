"""The evening estimate of a site."""

from datetime import date, timedelta
from pathlib import Path

import pytest

from scheduler.holding import read_holding
from scheduler.season import NoEstimateError, Outlook, outlook_of, tonight_of
from tests.frost.test_night import T0, TD, TN
from tests.sites import AS_OF, edit, new_site


def _outlook(site: Path, as_of: date = AS_OF) -> Outlook:
    return outlook_of(read_holding(site, as_of), as_of)


@pytest.fixture
def site(tmp_path: Path) -> Path:
    """A site whose own evenings are those of the book."""
    folder = new_site(tmp_path / "site")
    rows = "".join(
        f"2026-03-{day:02d},{t0},{td},{tn}\n"
        for day, (t0, td, tn) in enumerate(zip(T0, TD, TN, strict=True), start=1)
    )
    (folder / "evenings.csv").write_text(
        "date,temperature_c,dew_point_c,tmin_c\n" + rows, encoding="utf-8"
    )
    edit(folder, "site.toml", "period_seasons", 'evenings = "evenings.csv"\nperiod_seasons')
    return folder


def test_the_example_of_the_fao_book_comes_out_of_a_sites_own_evenings(site: Path) -> None:
    """T0 10, Td 2: -0.7409219, as published software gives it (frost.md 2.1)."""
    tonight = tonight_of(_outlook(site), 10.0, 2.0)
    assert tonight.minimum_c == pytest.approx(-0.7409219, abs=5e-8)


def test_the_night_runs_from_two_hours_after_sunset_to_sunrise(site: Path) -> None:
    tonight = tonight_of(_outlook(site), 10.0, 2.0)
    assert tonight.sunrise.date() == tonight.evening + timedelta(days=1)
    reached = tonight.plots[0].reached_at
    assert reached is not None
    assert tonight.sunset + timedelta(hours=2) <= reached <= tonight.sunrise


def test_a_colder_plot_has_a_colder_night_and_is_hurt_sooner(site: Path) -> None:
    warm = tonight_of(_outlook(site), 8.0, 0.0).plots[0]
    edit(site, "plots.toml", "frost_offset_c = 0.0", "frost_offset_c = -2.0")
    cold = tonight_of(_outlook(site), 8.0, 0.0).plots[0]
    assert cold.minimum_c == pytest.approx(warm.minimum_c - 2.0)
    assert cold.chance > warm.chance
    assert warm.reached_at is not None
    assert cold.reached_at is not None
    assert cold.reached_at < warm.reached_at


@pytest.mark.parametrize(
    ("temperature_c", "dew_point_c", "beyond"),
    [(4.0, -2.0, False), (10.0, 2.0, True), (4.0, -15.0, True), (-5.0, -6.0, True)],
)
def test_an_evening_outside_those_it_was_fitted_on_is_told(
    site: Path, temperature_c: float, dew_point_c: float, *, beyond: bool
) -> None:
    """The book's evenings run from 0.2 to 5.6 C, their dew points from -8.8 to 2.6."""
    assert tonight_of(_outlook(site), temperature_c, dew_point_c).beyond is beyond


def test_too_few_evenings_are_said_so(site: Path) -> None:
    lines = (site / "evenings.csv").read_text("utf-8").splitlines()
    (site / "evenings.csv").write_text("\n".join(lines[:-1]), encoding="utf-8")
    with pytest.raises(NoEstimateError, match="9 complete nights; at least 10"):
        tonight_of(_outlook(site), 10.0, 2.0)


def test_where_the_sun_does_not_set_there_is_no_night(site: Path) -> None:
    edit(site, "site.toml", "lat_deg = 46.5", "lat_deg = 70.0")
    with pytest.raises(NoEstimateError, match="does not set"):
        tonight_of(_outlook(site, date(2027, 6, 21)), 10.0, 2.0)
