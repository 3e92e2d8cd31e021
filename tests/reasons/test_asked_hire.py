"""A firm's notice that keeps a published visit from its days: whom to ask, and for which days.

That a firm may come sooner when it is asked is common practice, no source.
"""

from datetime import date, timedelta
from pathlib import Path

import pytest

from scheduler.reasons import SeasonPlan
from scheduler.terms import Level, Notice, day_words
from tests.season.test_bookings import TALL, VISIT, book, dates_of
from tests.sites import AS_OF, add, edit, new_site, planned, published


@pytest.fixture
def site(tmp_path: Path) -> Path:
    """Climbers with 28 days of notice, and trees for more than one day of theirs."""
    folder = new_site(tmp_path / "site")
    edit(folder, "stock.csv", "alder,high,support,pollard,8,", "alder,high,support,pollard,14,")
    return folder


@pytest.fixture
def first(site: Path) -> SeasonPlan:
    return planned(site)


def asked(plan: SeasonPlan) -> list[Notice]:
    return [notice for notice in plan.notices if notice.code == "ask-hire"]


def test_a_notice_that_moves_a_published_visit_tells_the_days_to_ask_for(
    site: Path, first: SeasonPlan
) -> None:
    """A fortnight on nobody has called: the days that were published are too near now."""
    days = dates_of(first, TALL)
    assert len(days) > 1
    late = planned(site, days[0] - timedelta(days=14), published(first))
    now = dates_of(late, TALL)[0]
    assert now >= days[0] + timedelta(days=14)
    (told,) = asked(late)
    assert (told.level, told.about) == (Level.WARNING, VISIT)
    wanted = " and ".join(day_words(day) for day in days)
    assert told.says == (
        "The dormant visit of First plot: ask licensed climbers (put the firm's name) for "
        f"{wanted}; else it moves to {day_words(now)}."
    )
    # and the way out works: where they agree, all stays
    book(site, (days[0], days[-1]), visit="dormant")
    kept = planned(site, days[0] - timedelta(days=14), published(first))
    assert dates_of(kept, TALL) == days
    assert VISIT not in {move.visit_id for move in kept.moves}
    assert asked(kept) == []


def test_nobody_is_asked_where_no_notice_keeps_the_visit(site: Path, first: SeasonPlan) -> None:
    assert asked(first) == []
    assert asked(planned(site, AS_OF, published(first))) == []
    day = dates_of(first, TALL)[-1]
    add(site, "plan-2027.toml", f"\n[[closed]]\nfirst = 2026-12-01\nlast = {day}\n"
        'types = ["dormant"]\nwhy = "away"\n')  # fmt: skip
    moved = planned(site, AS_OF, published(first))
    assert VISIT in {move.visit_id for move in moved.moves}
    assert asked(moved) == []


def test_what_could_not_be_worked_sooner_in_any_case_asks_nobody(
    site: Path, first: SeasonPlan
) -> None:
    """The crew is away in those weeks: nothing is gained by a call."""
    days = dates_of(first, TALL)
    today = days[0] - timedelta(days=14)
    add(site, "plan-2027.toml", f"\n[[closed]]\nfirst = {today}\n"
        f'last = {today + timedelta(days=27)}\ntypes = ["dormant"]\nwhy = "away"\n')  # fmt: skip
    late = planned(site, today, published(first))
    assert dates_of(late, TALL)[0] > date(2027, 1, 1)
    assert asked(late) == []
