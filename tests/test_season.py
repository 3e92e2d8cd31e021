"""The whole walk: gates, warnings, the moon, and the same answer every time."""

from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest

from scheduler.files import FaultyFilesError
from scheduler.holding import LogEntry, read_holding
from scheduler.reasons import SeasonPlan, plan_season
from scheduler.roster.check import faults_in
from scheduler.sky import Sky, sky_of
from scheduler.terms import Level, Place, Season
from tests.sites import AS_OF, DEMOS, ROOT, append_to_log, edit, new_site, own_date, planned

Days = dict[str, tuple[int, ...]]


def days_of(plan: SeasonPlan) -> Days:
    return {task_id: stint.days for task_id, stint in plan.placed.stints.items()}


def codes(plan: SeasonPlan) -> list[str]:
    return [notice.code for notice in plan.notices if notice.level is Level.WARNING]


def log(site: Path, task: str, day: date = date(2026, 12, 2), percent: int = 100) -> None:
    append_to_log(site, [LogEntry(date=day, plan="2027", task=task, percent=percent)])


@pytest.fixture
def site(tmp_path: Path) -> Path:
    return new_site(tmp_path / "site")


def test_the_demo_seasons_are_whole_proven_and_without_fault(
    branasol: SeasonPlan, klipskadu: SeasonPlan
) -> None:
    for plan in (branasol, klipskadu):
        assert faults_in(plan.placed.problem, plan.placed.roster) == ()
        assert plan.placed.roster.proof == "proven"
        assert plan.placed.roster.left_out == ()
        assert codes(plan) == []
        assert set(plan.placed.stints) == set(plan.placed.tasks)


def test_no_day_of_work_is_closed_by_any_rule(branasol: SeasonPlan, klipskadu: SeasonPlan) -> None:
    for plan in (branasol, klipskadu):
        worked = [(task_id, day) for task_id, s in plan.placed.stints.items() for day in s.days]
        assert worked
        assert [one for one in worked if plan.placed.windows[one[0]].closing(one[1])] == []


def test_exposing_work_waits_for_its_own_plots_frost_gate(branasol: SeasonPlan) -> None:
    """The hollow is released weeks after the slope, and its heavy visit stands after that."""
    placed = branasol.placed
    first = {
        plot: min(
            placed.stints[task.id].first
            for task in placed.tasks.values()
            if task.id.startswith(f"{plot}.cut-") and task.type.visit == "release"
        )
        for plot in ("fondal", "ladeira")
    }
    for plot, day in first.items():
        assert not branasol.placed.outlook.frost[plot].open[day]
    assert first["fondal"] - first["ladeira"] >= 14


def test_new_growth_has_weeks_to_harden_before_the_next_frost(branasol: SeasonPlan) -> None:
    """8 weeks: common practice, no source."""
    tender = [
        t for t in branasol.placed.stints if "new-growth" in branasol.placed.tasks[t].type.exposes
    ]
    assert tender
    for task_id in tender:
        day = branasol.placed.season.date_of(branasol.placed.stints[task_id].last)
        opens = branasol.placed.outlook.frost[branasol.placed.tasks[task_id].plot_id].opens_on(day)
        assert opens is not None
        assert (opens - day).days > 8 * 7


def test_tender_stock_is_covered_before_frost_is_likely(klipskadu: SeasonPlan) -> None:
    """In the two weeks before: common practice, no source."""
    covers = [task_id for task_id in klipskadu.placed.stints if task_id.endswith(".cover-tender")]
    assert covers
    for task_id in covers:
        day = klipskadu.placed.season.date_of(klipskadu.placed.stints[task_id].last)
        plot = klipskadu.placed.tasks[task_id].plot_id
        opens = klipskadu.placed.outlook.frost[plot].opens_on(day)
        assert opens is not None
        assert 1 <= (opens - day).days <= 14


def test_stone_fruit_stands_in_the_dry_summer_on_both_sides_of_the_equator(
    branasol: SeasonPlan, klipskadu: SeasonPlan
) -> None:
    """UC Master Gardeners: mid-spring to mid-September, north; half a year later, south."""
    north = branasol.placed.season.date_of(
        branasol.placed.stints["ladeira.cut-stone-fruit:plum"].first
    )
    south = klipskadu.placed.season.date_of(
        klipskadu.placed.stints["rant.cut-stone-fruit:almond"].first
    )
    assert date(2027, 5, 30) <= north <= date(2027, 8, 31)
    assert date(2026, 12, 1) <= south <= date(2027, 2, 28)


def moon_later(days: int) -> Callable[[Place, Season], Sky]:
    """A sky whose Moon is some days ahead, all else as it is."""

    def moved(place: Place, season: Season) -> Sky:
        later = sky_of(place, Season(season.first + timedelta(days=days), season.n_days))
        return replace(
            sky_of(place, season),
            elongation_deg=later.elongation_deg,
            lit_fraction=later.lit_fraction,
            events=(),
        )

    return moved


def test_without_the_practice_the_moon_changes_no_work_day(
    branasol: SeasonPlan, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("scheduler.season.outlook.sky_of", moon_later(7))
    moved = plan_season(branasol.placed.holding, AS_OF)
    assert not np.array_equal(moved.placed.outlook.sky.waxing, branasol.placed.outlook.sky.waxing)
    assert days_of(moved) == days_of(branasol)


def test_with_the_practice_the_moon_only_prefers(
    klipskadu: SeasonPlan, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Moving the phases moves days but loses no task and opens no closed day."""
    monkeypatch.setattr("scheduler.season.outlook.sky_of", moon_later(15))
    moved = plan_season(klipskadu.placed.holding, AS_OF)
    assert days_of(moved) != days_of(klipskadu)
    assert moved.placed.roster.left_out == ()
    assert moved.placed.windows.keys() == klipskadu.placed.windows.keys() != set()
    for task_id, window in moved.placed.windows.items():
        assert np.array_equal(window.open, klipskadu.placed.windows[task_id].open)


def test_the_same_files_give_the_same_season(klipskadu: SeasonPlan) -> None:
    again = plan_season(read_holding(ROOT / "sites" / "klipskadu", AS_OF), AS_OF)
    assert again is not klipskadu
    assert again.placed.roster == klipskadu.placed.roster


def test_work_that_the_grower_sets_into_an_open_window_is_warned_of(site: Path) -> None:
    day = date(2027, 4, 29)
    own_date(site, "first-plot.cut-medium", on=day)
    plan = planned(site)
    stint = plan.placed.stints["first-plot.cut-medium"]
    assert plan.placed.season.date_of(stint.first) == day
    assert "frost-window-open" in codes(plan)
    words = next(n.says for n in plan.notices if n.code == "frost-window-open")
    assert "10 May 2027" in words


def test_without_any_frost_date_exposing_work_is_held_back_and_said_so(tmp_path: Path) -> None:
    plan = planned(new_site(tmp_path / "site", own_last="", own_first=""))
    assert "frost-unknown" in codes(plan)
    exposing = {task_id for task_id, task in plan.placed.tasks.items() if task.type.exposes}
    assert exposing
    assert exposing <= {*plan.placed.left_out}
    assert any("no own date" in n.says for n in plan.notices if n.code == "no-open-day")


def test_a_spare_share_leaves_that_much_of_everybodys_hours_free(site: Path) -> None:
    whole = planned(site)
    edit(site, "crew.toml", "# spare_share = 0.15", "spare_share = 0.25")
    spared = planned(site)
    assert whole.placed.problem.workers
    for before, after in zip(
        whole.placed.problem.workers, spared.placed.problem.workers, strict=True
    ):
        assert before.hours.max() > 0
        np.testing.assert_allclose(after.hours, 0.75 * before.hours)
    assert faults_in(spared.placed.problem, spared.placed.roster) == ()


NO_SKILLS = ("crew.toml", '["ground-saw", "pole-saw", "chipper-hand"]', "[]")


@pytest.mark.parametrize(
    ("edits", "code", "word"),
    [
        # an impossible window: the rules that close it are named
        ([("plan-2027.toml", "last = 2027-11-30", "last = 2027-04-30")], "no-open-day", "frost"),
        # a crew that cannot do it, and what waits for that work
        ([NO_SKILLS], "nobody-can", "ground-saw"),
        ([NO_SKILLS], "waits-for-left-out", "unscheduled too"),
    ],
)
def test_what_cannot_fit_is_left_out_and_said(
    site: Path, edits: list[tuple[str, str, str]], code: str, word: str
) -> None:
    for file, old, new in edits:
        edit(site, file, old, new)
    plan = planned(site)
    assert plan.placed.roster.left_out != ()
    assert any(n.code == code and word in n.says for n in plan.notices), plan.notices
    assert faults_in(plan.placed.problem, plan.placed.roster) == ()


def test_without_anybody_to_climb_the_tall_trees_are_left_out_and_it_is_said(site: Path) -> None:
    text = (site / "crew.toml").read_text(encoding="utf-8")
    before, _, rest = text.partition('[[hire]]\nid = "climber"')
    (site / "crew.toml").write_text(before + rest[rest.index("[[hire]]") :], encoding="utf-8")
    plan = planned(site)
    says = [n.says for n in plan.notices if n.code == "nobody-can"]
    assert len(says) == 1
    assert "climber" in says[0]


def test_a_day_on_which_nobody_works_is_named(site: Path) -> None:
    own_date(site, "first-plot.weed-lines", on=date(2027, 5, 16))
    says = [n.says for n in planned(site).notices if n.code == "nobody-works"]
    assert len(says) == 1
    assert "16 May 2027" in says[0]


def test_a_day_of_ones_own_that_has_gone_by_is_named(site: Path) -> None:
    own_date(site, "first-plot.cut-medium", on=date(2027, 5, 12))
    plan = planned(site, date(2027, 6, 1))
    assert any("12 May 2027, has gone by" in n.says for n in plan.notices)


def test_a_plan_that_is_over_says_so_once(site: Path) -> None:
    plan = planned(site, date(2028, 3, 1))
    assert codes(plan) == ["plan-over"]


def test_own_dates_are_not_believed_for_a_colder_plot(site: Path) -> None:
    edit(site, "plots.toml", "frost_offset_c = 0.0", "frost_offset_c = -3.0")
    assert "own-dates-too-warm" in codes(planned(site))
    edit(site, "plots.toml", "hazard = []", 'own_last = "05-25"\nown_first = "09-28"\nhazard = []')
    plan = planned(site)
    assert codes(plan) == []
    assert plan.placed.outlook.frost["first-plot"].is_open(date(2027, 5, 24))


@pytest.mark.parametrize(
    ("file", "old", "new", "code"),
    [
        ("site.toml", "lon_deg = 14.2", "lon_deg = -84.9", "zone-far-away"),
        ("plots.toml", "area_m2 = 600.0", "area_m2 = 6.0", "cover-too-large"),
        ("plots.toml", "planted = 2018", "planted = 2041", "planted-later"),
        ("stock.csv", "plum,medium,fruit,retained", "plum,medium,fruit,coppice", "never-cut"),
        ("worklog.csv", "e,book_h", "e,book_h\n2026-11-20,2027,x.chp,,,", "log-unknown-task"),
        ("plots.toml", "hazard = []", 'hazard = [{ kind = "power-line" }]', "power-line-near"),
    ],
)  # fmt: skip
def test_what_is_hardly_meant_is_warned_of(
    site: Path, file: str, old: str, new: str, code: str
) -> None:
    edit(site, file, old, new)
    assert code in codes(planned(site))


def test_a_stem_too_thick_and_a_cut_to_come_are_slips_of_stock(site: Path) -> None:
    """A stem of a quarter of the height: common practice, no source."""
    path = site / "stock.csv"
    path.write_text(
        "plot,plant,stratum,role,cut_system,count,stem_cm,height_m,crown_m,last_cut\n"
        "first-plot,plum,medium,fruit,retained,6,280,6,4,2026-11-25\n"
        "first-plot,apple,medium,fruit,retained,2,28,6,4,2026-11-26\n",
        encoding="utf-8",
    )
    told = {n.code: n.says for n in planned(site).notices}
    assert "plum in first-plot: stems of 280 cm on trees of 6 m" in told["stem-too-thick"]
    assert "2 apple in first-plot: last_cut" in told["last-cut-to-come"]
    assert "26 Nov 2026, a day to come" in told["last-cut-to-come"]
    sound = path.read_text("utf-8").replace(",280,", ",150,").replace("11-26", "11-25")
    path.write_text(sound, encoding="utf-8")
    assert not {"stem-too-thick", "last-cut-to-come"} & set(codes(planned(site)))


@pytest.mark.parametrize(
    ("task", "ends"),
    [
        ("first-plot.weed-line", "of this plan; did you mean first-plot.weed-lines?"),
        ("first-plot.cut-boundary", "which is no task of this plan."),  # a task of another plan
        ("nowhere.x", "which is no task of this plan."),
    ],
)
def test_a_mistyped_task_of_the_log_names_the_one_that_was_meant(
    site: Path, task: str, ends: str
) -> None:
    edit(site, "worklog.csv", "e,book_h", f"e,book_h\n2026-11-20,2027,{task},,,")
    (told,) = [n.says for n in planned(site).notices if n.code == "log-unknown-task"]
    assert told.endswith(ends)


def test_the_utility_is_called_about_trees_near_a_line(site: Path) -> None:
    edit(site, "plots.toml", "hazard = []", 'hazard = [{ kind = "power-line", distance_m = 9 }]')
    plan = planned(site)
    assert "first-plot.cut-dormant-tall" not in plan.placed.tasks
    assert [e.id for e in plan.errands if "utility" in e.id] == ["first-plot.call-utility"]


def test_a_booking_that_was_made_is_not_asked_for_again(site: Path) -> None:
    booking = "holding.book-climber-dormant"
    assert booking in [errand.id for errand in planned(site).errands]
    log(site, booking, AS_OF)
    plan = planned(site)
    assert booking not in [errand.id for errand in plan.errands]
    assert codes(plan) == ["booking-without-days"]


def test_finished_work_leaves_the_roster_and_what_waits_for_it_goes_on(site: Path) -> None:
    log(site, "first-plot.weed-lines")
    plan = planned(site, date(2026, 12, 3))
    assert "first-plot.weed-lines" in plan.placed.done
    assert "first-plot.weed-lines" not in plan.placed.stints
    assert "first-plot.cut-medium" in plan.placed.stints


def test_work_half_done_needs_half_the_hours(site: Path) -> None:
    task = "first-plot.cut-dormant-tall"
    whole = planned(site).placed.problem.by_id[task].work_h
    log(site, task, percent=50)
    assert planned(site).placed.problem.by_id[task].work_h == pytest.approx(whole / 2, abs=0.25)


def test_nothing_is_planned_before_today(site: Path) -> None:
    today = date(2027, 6, 15)
    plan = planned(site, today)
    assert plan.placed.stints
    assert all(plan.placed.season.date_of(s.first) >= today for s in plan.placed.stints.values())


def test_bookings_are_made_in_time_or_called_late(site: Path) -> None:
    edit(site, "crew.toml", "lead_days = 28", "lead_days = 30")
    plan = planned(site)
    errands = {errand.id: errand for errand in plan.errands}
    booked = errands["holding.book-climber-dormant"]
    assert booked.needed is not None
    assert booked.needed - booked.on >= timedelta(days=30) or booked.on == AS_OF
    assert not booked.late


def test_a_later_gate_never_gives_an_earlier_day(tmp_path: Path) -> None:
    early = planned(new_site(tmp_path / "early", own_last="04-20"))
    late = planned(new_site(tmp_path / "late", own_last="05-20"))
    gated = [
        task_id for task_id, task in early.placed.tasks.items() if "canopy" in task.type.exposes
    ]
    assert gated
    assert all(late.placed.stints[t].first >= early.placed.stints[t].first for t in gated)


@pytest.mark.parametrize("demo", DEMOS)
def test_a_mirrored_year_gives_the_same_order_of_visits(
    demo: str, request: pytest.FixtureRequest
) -> None:
    plan: SeasonPlan = request.getfixturevalue(demo)
    # months after the local winter solstice, so that one table serves both hemispheres
    months = plan.placed.outlook.sky.winter_months
    spans = {"dormant": (10.5, 3.0), "release": (2.3, 8.0), "dry-summer": (5.3, 8.3)}
    assert spans.keys() <= {
        plan.placed.tasks[task_id].type.visit for task_id in plan.placed.stints
    }
    for task_id, stint in plan.placed.stints.items():
        first, last = spans.get(plan.placed.tasks[task_id].type.visit, (0.0, 12.0))
        at = months[stint.first]
        inside = first <= at <= last if first < last else at >= first or at <= last
        assert inside, (task_id, at)


def test_faulty_files_stop_the_walk(site: Path) -> None:
    edit(site, "site.toml", "lat_deg = 46.5", "lat_deg = 91")
    with pytest.raises(FaultyFilesError):
        planned(site)
