"""What is booked stays: days agreed with a firm, what the log tells of them, what they cost.

What the trade does here (a firm keeps the day it agreed to, a day that is booked is paid) is
common practice, no source; the tests hold the tool to its own words.
"""

import re
import tomllib
from datetime import date, timedelta
from pathlib import Path

import pytest
from typer.testing import CliRunner

from scheduler.commands.app import app
from scheduler.holding import LogEntry, read_holding
from scheduler.reasons import SeasonPlan, plan_season
from scheduler.roster.check import faults_in
from scheduler.season.errands import logged_words
from scheduler.terms import Level
from tests.sites import AS_OF, append_to_log, asks_for, edit, new_site, planned, published

pytestmark = pytest.mark.usefixtures("plans_once")

TALL, VISIT = "first-plot.cut-dormant-tall", "first-plot.dormant"
BOOKING = "holding.book-climber-dormant"
LEAD = "lead_days = 28           # days of notice they need"


@pytest.fixture
def site(tmp_path: Path) -> Path:
    return new_site(tmp_path / "site")


def log_booking(site: Path, booking: str = BOOKING) -> None:
    append_to_log(site, [LogEntry(date=AS_OF, plan="2027", task=booking)])


def book(site: Path, *spans: tuple[date, date], visit: str = "") -> None:
    """Write the climber's booked days into crew.toml."""
    tag = f', visit = "{visit}"' if visit else ""
    told = ", ".join(f"{{ first = {first}, last = {last}{tag} }}" for first, last in spans)
    edit(site, "crew.toml", LEAD, f"{LEAD}\nbooked = [{told}]")


def dates_of(plan: SeasonPlan, task_id: str) -> list[date]:
    return [plan.placed.season.date_of(day) for day in plan.placed.stints[task_id].days]


def says(plan: SeasonPlan, code: str) -> list[str]:
    return [n.says for n in plan.notices if n.code == code and n.level is Level.WARNING]


def errands(plan: SeasonPlan) -> list[str]:
    return [errand.id for errand in plan.errands if "climber" in errand.id]


def test_a_booked_day_needs_no_notice(site: Path) -> None:
    """28 days of notice close December; a day in it that is booked is open all the same."""
    assert dates_of(planned(site), TALL)[0] >= AS_OF + timedelta(days=28)
    day = date(2026, 12, 10)
    book(site, (day, day))
    plan = planned(site)
    assert dates_of(plan, TALL) == [day]
    assert faults_in(plan.placed.problem, plan.placed.roster) == ()
    assert BOOKING not in errands(plan)
    assert says(plan, "booked-unused") == []


def test_a_day_beside_the_booked_ones_still_needs_notice(site: Path) -> None:
    day = date(2026, 12, 10)
    book(site, (day, day))
    log_booking(site)  # what is booked are these days, not any day
    window = planned(site).placed.windows[TALL]
    season = planned(site).placed.season
    shut = {r.rule_id for r in window.closing(season.day_of(day + timedelta(days=1)))}
    assert "hire-notice" in shut
    assert "hire-notice" not in {r.rule_id for r in window.closing(season.day_of(day))}
    later = season.day_of(AS_OF + timedelta(days=28))
    assert "hire-notice" not in {r.rule_id for r in window.closing(later)}


def test_booked_days_stay_though_earlier_ones_are_free(site: Path) -> None:
    """Without the booking the work would stand as early as it can."""
    early = dates_of(planned(site), TALL)[0]
    day = date(2027, 1, 21)
    assert early < day
    book(site, (day, day))
    assert dates_of(planned(site), TALL) == [day]


def test_a_booked_day_may_be_one_of_the_week_on_which_they_do_not_come(site: Path) -> None:
    edit(site, "crew.toml", 'days = ["thu", "fri"]', 'days = ["thu", "fri", "sat"]')
    edit(site, "crew.toml", "skills = []\n", 'skills = ["ground-saw"]\n')
    saturday = date(2027, 1, 16)
    edit(site, "crew.toml", "off = []", f"extra = [{{ first = {saturday}, last = {saturday} }}]")
    book(site, (saturday, saturday))
    assert dates_of(planned(site), TALL) == [saturday]


def test_days_booked_for_one_visit_draw_no_other_work(site: Path) -> None:
    day = date(2027, 1, 21)
    book(site, (day, day), visit="release")
    plan = planned(site)
    assert "hire-booked" not in {ruling.rule_id for ruling in plan.placed.windows[TALL].rulings}
    assert dates_of(plan, TALL)[0] < day


def test_booked_days_without_work_are_told_with_what_they_cost(site: Path) -> None:
    edit(site, "crew.toml", "cost_day = 0             #", "cost_day = 280           #")
    book(site, (date(2027, 1, 21), date(2027, 1, 21)), (date(2027, 7, 12), date(2027, 7, 13)))
    (told,) = says(planned(site), "booked-unused")
    assert "12 Jul 2027 to 13 Jul 2027" in told
    assert "21 Jan" not in told
    assert "(560 in all)" in told


def test_booked_days_that_have_gone_by_or_were_worked_are_not_told_as_idle(site: Path) -> None:
    asks_for(site, "cut-dormant-tall")
    day = date(2027, 1, 21)
    book(site, (day, day))
    append_to_log(site, [LogEntry(date=day, plan="2027", task=TALL)])
    assert says(planned(site, day), "booked-unused") == []
    later = date(2027, 7, 12)
    edit(site, "crew.toml", "booked = [", f"booked = [{{ first = {later}, last = {later} }}, ")
    assert len(says(planned(site, later), "booked-unused")) == 1
    assert says(planned(site, later + timedelta(days=1)), "booked-unused") == []


def test_a_logged_booking_without_days_is_told_with_the_line_that_mends_it(site: Path) -> None:
    log_booking(site)
    plan = planned(site)
    assert BOOKING not in errands(plan)
    (told,) = says(plan, "booking-without-days")
    assert '[[hire]] id = "climber"' in told
    line = told[told.index("booked = [") :]
    edit(site, "crew.toml", LEAD, f"{LEAD}\n{line}")
    mended = planned(site)
    assert says(mended, "booking-without-days") == []
    assert says(mended, "booked-unused") == []
    assert dates_of(mended, TALL) == dates_of(plan, TALL)
    assert BOOKING not in errands(mended)


def test_what_was_booked_stays_when_the_notice_has_run_short(site: Path) -> None:
    """A week later the same day is too near for a new booking; it is no new booking."""
    plan = planned(site)
    log_booking(site)
    days = dates_of(plan, TALL)
    book(site, (days[0], days[-1]), visit="dormant")
    late = days[0] - timedelta(days=3)
    assert dates_of(planned(site, late), TALL) == days


def test_more_days_than_were_booked_are_a_new_booking(site: Path) -> None:
    """Trees for more than one day; one day is booked, and logged: the others are asked for."""
    edit(site, "stock.csv", "alder,high,support,pollard,8,", "alder,high,support,pollard,14,")
    plan = planned(site)
    days = dates_of(plan, TALL)
    assert len(days) > 1
    book(site, (days[0], days[0]), visit="dormant")
    log_booking(site)
    again = planned(site)
    assert BOOKING in errands(again)
    (errand,) = [one for one in again.errands if one.id == BOOKING]
    assert errand.needed == dates_of(again, TALL)[1]
    assert "is not booked for" in errand.because
    # and the line for it keeps the day that stands there
    words = logged_words(BOOKING, again.placed)
    spans = tomllib.loads(words[words.index("booked = [") :])["booked"]
    told = {s["first"] + timedelta(days=n) for s in spans for n in
            range((s["last"] - s["first"]).days + 1)}  # fmt: skip
    assert told == set(dates_of(again, TALL))


def test_the_line_holds_all_that_the_log_tells_without_days(site: Path) -> None:
    edit(site, "crew.toml", "lead_days = 14\n", "lead_days = 14\nbooked = []\n")
    plan = planned(site)
    visits = {
        plan.placed.tasks[t].type.visit
        for t in plan.placed.stints
        if "climber" in plan.placed.tasks[t].hired
    }
    for visit in sorted(visits):
        log_booking(site, f"holding.book-climber-{visit}")
    (told,) = says(planned(site), "booking-without-days")
    assert set(re.findall(r'visit = "([a-z-]+)"', told)) == visits


def test_logged_words_where_nothing_is_left_to_write(site: Path) -> None:
    plan = planned(site)
    assert "no days to write down" in logged_words("holding.book-climber-dry-summer", plan.placed)
    days = dates_of(plan, TALL)
    book(site, (days[0], days[-1]))
    assert "among those booked" in logged_words(BOOKING, planned(site).placed)


def test_published_days_are_those_that_the_line_tells(site: Path) -> None:
    """The call was made for the days in the calendar, though a new plan could have others."""
    first = planned(site)
    days = dates_of(first, TALL)
    log_booking(site)
    late = days[0] - timedelta(days=3)
    words = logged_words(BOOKING, planned(site, late, {VISIT: published(first)[VISIT]}).placed)
    assert f"first = {days[0]}, last = {days[-1]}" in words


def test_what_it_costs_to_keep_booked_days_is_told_without_a_word_of_the_moon(site: Path) -> None:
    day = date(2027, 1, 21)
    book(site, (day, day))
    asked = ("plan", "--full", str(site), "--as-of", AS_OF.isoformat())
    whole = CliRunner().invoke(app, [*asked, "--afresh"]).stdout
    assert "prefers the days for which licensed climbers (put the firm's name) is booked" in whole
    without = CliRunner().invoke(app, [*asked, "--without", "hire-booked"]).stdout
    assert VISIT in without
    assert "21 Jan 2027" in without
    assert "practice" not in without


def test_days_booked_in_an_earlier_season_do_not_answer_for_this_one(site: Path) -> None:
    """Last winter's line still stands; this winter's call is logged without days."""
    plan = (site / "plan-2027.toml").read_text(encoding="utf-8")
    earlier = plan.replace("2026-", "2025-").replace("2027-", "2026-")
    (site / "plan-2026.toml").write_text(earlier, encoding="utf-8")
    book(site, (date(2026, 1, 15), date(2026, 1, 15)), visit="dormant")
    log_booking(site)
    plan_2027 = plan_season(read_holding(site, AS_OF, "2027"), AS_OF)
    assert BOOKING not in errands(plan_2027)
    assert len(says(plan_2027, "booking-without-days")) == 1
    shut = plan_2027.placed.windows[TALL].closing(
        plan_2027.placed.season.day_of(date(2026, 12, 3))
    )
    assert "hire-notice" not in {ruling.rule_id for ruling in shut}


def test_a_logged_booking_wants_no_line_where_the_firm_comes_that_day_anyway(site: Path) -> None:
    """The day is booked for another visit: a line with nothing new in it would mend nothing."""
    log_booking(site)
    day = dates_of(planned(site), TALL)[0]
    book(site, (day, day), visit="release")
    plan = planned(site)
    assert dates_of(plan, TALL) == [day]
    assert says(plan, "booking-without-days") == []
    assert BOOKING not in errands(plan)


def test_booked_days_win_over_published_ones_and_the_visit_moves_along(site: Path) -> None:
    """The firm has another day than the one in the calendar: it would come for nothing."""
    first = planned(site)
    day = date(2027, 1, 28)
    assert dates_of(first, TALL) < [day]
    book(site, (day, day), visit="dormant")
    log_booking(site)
    plan = planned(site, published=published(first))
    assert dates_of(plan, TALL) == [day]
    assert says(plan, "booked-unused") == []
    assert BOOKING not in errands(plan)
    (move,) = [one for one in plan.moves if one.visit_id == VISIT]
    assert move.because.endswith("is booked for 28 Jan 2027")
    moved = {one.visit_id for one in plan.moves}
    assert moved == {
        VISIT,
        "first-plot.cut-dormant-fruit:apple",
    }  # it waits; all else keeps its days


def test_published_days_that_are_booked_stay_beside_more_booked_days(site: Path) -> None:
    first = planned(site)
    days = dates_of(first, TALL)
    spare = date(2027, 1, 28)
    book(site, (days[0], days[-1]), (spare, spare), visit="dormant")
    plan = planned(site, published=published(first))
    assert dates_of(plan, TALL) == days
    assert plan.moves == ()
    assert "28 Jan 2027" in says(plan, "booked-unused")[0]


def test_short_notice_is_freed_by_a_booking_that_the_firm_agrees_to(site: Path) -> None:
    """Only the firm can let go of its notice; no rule of the trade is set aside."""
    edit(site, "crew.toml", LEAD, "lead_days = 380")
    (told,) = (n.says for n in planned(site).notices if n.about == VISIT)
    assert "needs 380 days of notice" in told
    freed = told.partition("What would free it: ")[2]
    assert "if they agree to come sooner: booked under [[hire]], from" in freed
    assert "set hire-notice aside" not in freed


def test_a_booking_logged_for_a_day_to_come_is_told(site: Path) -> None:
    """It lifts the notice as if the firm had been called; the year may be mistyped."""
    append_to_log(site, [LogEntry(date=date(2027, 3, 1), plan="2027", task=BOOKING)])
    (told,) = says(planned(site), "log-day-to-come")
    assert BOOKING in told
    assert says(planned(site, date(2027, 3, 1)), "log-day-to-come") == []
