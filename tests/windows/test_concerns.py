"""Rules that pull apart are shown with the days, and the choice is the grower's."""

from datetime import date
from pathlib import Path

import pytest

from scheduler.reasons import SeasonPlan
from scheduler.windows import Concern, concerns_of
from scheduler.words.work_words import concern_words
from tests.sites import add, new_site, planned

TASK = "first-plot.cut-evergreen-fruit:mandarin"


@pytest.fixture
def site(tmp_path: Path) -> Path:
    folder = new_site(tmp_path / "site", own_last="03-20")
    add(folder, "stock.csv", "first-plot,B,mandarin,low,fruit,retained,9,7,2.5,2.3,,\n")
    return folder


def switch(site: Path, name: str, state: str) -> None:
    told = f'[[switch]]\nid = "{name}"\nstate = "{state}"\nsource = "own choice"\n'
    add(site, "rules.toml", told)


def borer(plan: SeasonPlan) -> list[Concern]:
    found = concerns_of(plan.placed.windows[TASK], plan.placed.outlook.facts)
    return [concern for concern in found if concern.rule_id == "borer-flight"]


def test_citrus_after_frost_and_outside_borer_flight_is_left_to_the_grower(site: Path) -> None:
    """After frost m 3.0 to 5.3, the borer flies m 2.4 to 4.4: a retailer's garden advice."""
    plan = planned(site)
    (concern,) = borer(plan)
    assert not concern.conflict
    assert concern.spans[0].first == date(2027, 3, 21)  # noon after the equinox, m 3.0
    assert date(2027, 5, 1) <= concern.free[0].first <= date(2027, 5, 6)
    # nothing is closed behind the grower's back
    assert plan.placed.windows[TASK].open[plan.placed.season.day_of(date(2027, 4, 1))]


def test_a_grower_who_has_the_borer_closes_those_days(site: Path) -> None:
    switch(site, "borer-season", "on")
    plan = planned(site)
    assert borer(plan) == []
    assert not plan.placed.windows[TASK].open[plan.placed.season.day_of(date(2027, 4, 1))]
    closing = plan.placed.windows[TASK].closing(plan.placed.season.day_of(date(2027, 4, 1)))
    assert [ruling.rule_id for ruling in closing] == ["borer-flight"]


def test_a_grower_without_it_hears_no_more_of_it(site: Path) -> None:
    switch(site, "borer-season", "off")
    assert borer(planned(site)) == []


def test_months_to_avoid_without_a_switch_are_simply_closed(site: Path) -> None:
    (site / "rules.toml").write_text(
        '[[rule]]\nid = "ours"\nkind = "avoid-months"\ngroups = ["citrus"]\ncuts_only = true\n'
        'spans = [{ first = 3.0, last = 4.0 }]\nwords = "w"\nbasis = "published"\nsource = "s"\n',
        encoding="utf-8",
    )
    plan = planned(site)
    assert not plan.placed.windows[TASK].open[plan.placed.season.day_of(date(2027, 4, 1))]
    assert "ours" not in [
        c.rule_id for c in concerns_of(plan.placed.windows[TASK], plan.placed.outlook.facts)
    ]


def test_rules_that_leave_no_common_day_are_called_a_conflict(site: Path) -> None:
    rules = site / "rules.toml"
    rules.write_text(
        '[[rule]]\nid = "borer-flight"\nkind = "avoid-months"\nswitch = "borer-season"\n'
        'groups = ["citrus"]\ncuts_only = true\nspans = [{ first = 2.0, last = 6.0 }]\n'
        'words = "it flies"\nbasis = "published"\nsource = "local pest calendar"\n',
        encoding="utf-8",
    )
    plan = planned(site)
    (concern,) = borer(plan)
    assert concern.conflict
    assert concern_words(concern).startswith("CONFLICT, you choose: ")
    assert TASK in plan.placed.stints


def test_months_that_want_care_are_closed_until_the_grower_opens_them(site: Path) -> None:
    late = date(2027, 6, 20)  # m 5.95: citrus with care until 6.3
    plan = planned(site)
    assert not plan.placed.windows[TASK].open[plan.placed.season.day_of(late)]
    switch(site, "care-months", "on")
    plan = planned(site)
    assert plan.placed.windows[TASK].open[plan.placed.season.day_of(late)]
    found = concerns_of(plan.placed.windows[TASK], plan.placed.outlook.facts)
    care = next(c for c in found if "whitewash" in c.words)
    assert late in care.spans[0]


def test_a_standing_check_is_no_conflict_though_it_covers_every_open_day(site: Path) -> None:
    """Birds nest m 2.3 to 8.3: the look before each cut is always due, no rule to choose by."""
    plan = planned(site)
    found = concerns_of(plan.placed.windows[TASK], plan.placed.outlook.facts)
    nests = next(c for c in found if c.rule_id == "nesting-season")
    assert nests.free == ()
    assert not nests.conflict
    assert concern_words(nests).startswith("Birds nest in these months: look first")
