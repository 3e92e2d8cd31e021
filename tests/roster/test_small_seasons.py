"""Small seasons by hand: what a grower would say beforehand, and what the checker sees."""

from dataclasses import replace

import numpy as np
import pytest

from scheduler.roster import Kit, Obstacle, Order, Problem, Standing, Stint, Visit, solve
from scheduler.roster.check import faults_in
from scheduler.roster.result import Wait
from tests.roster.small import CREW, SEASON, N, days, mask, one, step, worker


def test_a_chain_of_small_work_fits_into_one_day_in_order() -> None:
    steps = (step("a", 4.0), step("b", 4.0), step("c", 4.0))
    orders = (Order("a", "b"), Order("b", "c"))
    for visits in ((Visit("v", steps),), tuple(Visit(each.id, (each,)) for each in steps)):
        found = days(solve(Problem(SEASON, visits, orders, CREW)))
        assert found == {"a": (0,), "b": (0,), "c": (0,)}


def test_work_that_fills_the_day_sends_what_follows_to_the_next() -> None:
    steps = (step("a", 12.0), step("b", 2.0))
    for visits in ((Visit("v", steps),), tuple(Visit(each.id, (each,)) for each in steps)):
        found = days(solve(Problem(SEASON, visits, (Order("a", "b"),), CREW)))
        assert found == {"a": (0,), "b": (1,)}


def test_a_step_begins_in_what_the_one_before_leaves_of_the_day() -> None:
    """Four hours by two people, then two more hours each of the same day, and the rest."""
    visit = Visit("v", (step("a", 8.0), step("b", 7.0)))
    roster = solve(Problem(SEASON, (visit,), (Order("a", "b"),), CREW))
    assert days(roster) == {"a": (0,), "b": (0, 1)}
    assert [stint.hours for stint in roster.stints] == [(8.0,), (4.0, 3.0)]


def test_a_stretch_too_short_to_be_worth_beginning_is_left() -> None:
    """Twenty minutes are left of the first day; by hand."""
    visit = Visit("v", (step("a", 34 / 3), step("b", 4.0)))
    roster = solve(Problem(SEASON, (visit,), (Order("a", "b"),), CREW))
    assert days(roster) == {"a": (0,), "b": (1,)}
    shorter = replace(visit, steps=(visit.steps[0], step("b", 0.5)))
    roster = solve(Problem(SEASON, (shorter,), (Order("a", "b"),), CREW))
    assert days(roster) == {"a": (0,), "b": (0,)}, "unless it ends the step"


def test_work_bridges_days_off_and_closed_days_and_says_what_it_waits_for() -> None:
    crew = (worker("Ana", hours=[6, 0, 0, 6, 6, 6, 6, 6]),)
    visit = one("a", 15.0, open=~mask(3))
    roster = solve(Problem(SEASON, (visit,), (), crew))
    assert days(roster) == {"a": (0, 4, 5)}
    assert roster.stints[0].hours == (6.0, 6.0, 3.0)
    (told,) = roster.visits
    assert (told.span_days, told.least_span_days) == (6, 3)
    assert told.waits == (Wait(1, "a", "nobody"), Wait(2, "a", "nobody"), Wait(3, "a", "closed"))
    for most, found in ((4, (0, 4, 5)), (3, (4, 5, 6))):
        short = replace(visit, pause_days=most)
        assert days(solve(Problem(SEASON, (short,), (), crew))) == {"a": found}


def test_a_visit_lies_open_for_few_days_before_it_ends_early() -> None:
    """Ana alone has the skill, from the fifth day on; by hand.

    Bo alone has the first step done by then, after three days; both begin and end it a day later
    in two.
    """
    steps = (step("a", 9.0), step("b", 6.0, team={"ground-saw": 1}, team_max=1))
    crew = (worker("Ana", "ground-saw", hours=[0, 0, 0, 0, 6, 6, 6, 6]), worker("Bo"))
    visit = Visit("v", steps)
    for lies_open, found in ((False, {"a": (2, 3), "b": (4,)}), (True, {"a": (4,), "b": (4, 5)})):
        visits = (replace(visit, lies_open=lies_open),)
        assert days(solve(Problem(SEASON, visits, (Order("a", "b"),), crew))) == found


def test_days_since_the_log_has_it_begun_count() -> None:
    visit = one("a", 6.0, open=mask(2), lies_open=True, begun=-3)
    roster = solve(Problem(SEASON, (visit,), (), CREW))
    assert roster.visits[0].span_days == 6
    assert roster.stage("open_days").value == 6


def test_a_skill_is_only_asked_of_those_who_have_it() -> None:
    saw = {"ground-saw": 1}
    visits = tuple(one(name, team=saw, team_max=1, plot=name) for name in "ab")
    roster = solve(Problem(SEASON, visits, (), CREW))
    assert sorted(stint.first for stint in roster.stints) == [0, 1]
    assert {stint.people for stint in roster.stints} == {(("Ana",),)}


def test_kit_goes_from_step_to_step_within_a_day_but_is_in_one_place_at_a_time() -> None:
    kit = (Kit("climber", np.ones(N, dtype=np.int64)),)
    four = tuple(worker(name) for name in ("Ana", "Bo", "Cy", "Di"))
    for work_h, firsts in ((4.0, [0, 0]), (8.0, [0, 1])):
        visits = tuple(one(name, work_h, plot=name, uses={"climber": 1}) for name in "ab")
        roster = solve(Problem(SEASON, visits, (), four, kit))
        assert sorted(stint.first for stint in roster.stints) == firsts


def test_the_growers_own_day_stands_whatever_the_window_says() -> None:
    problem = Problem(SEASON, (one("a", open=mask(5, 6), fixed_first=2),), (), CREW)
    assert days(solve(problem)) == {"a": (2,)}


def test_shortest_and_longest_gaps_are_kept() -> None:
    steps = (step("a", 2.0, open=mask(0, 1, 2, 3, 4)), step("b", 2.0, open=mask(6, 7)))
    orders = (Order("a", "b", min_days=2, within_days=3),)
    apart = tuple(Visit(each.id, (each,)) for each in steps)
    assert days(solve(Problem(SEASON, apart, orders, CREW))) == {"a": (3,), "b": (6,)}
    in_one = (Visit("v", steps),)
    roster = solve(Problem(SEASON, in_one, orders, CREW))
    assert days(roster) == {"a": (4,), "b": (6,)}, "of equal ends the shorter span"


def test_what_does_not_fit_is_left_out_by_importance_with_what_waits_for_it() -> None:
    visits = (
        one("dear", 12.0, open=mask(3), importance=9),
        one("cheap", 12.0, open=mask(3), importance=1),
        one("after", 1.0),
    )
    roster = solve(Problem(SEASON, visits, (Order("cheap", "after"),), CREW))
    assert roster.left_out == ("after", "cheap")
    assert days(roster) == {"dear": (3,)}


def test_a_circle_in_the_order_is_reported_and_its_visits_are_left_out() -> None:
    visits = (Visit("v", (step("a"), step("d"))), one("b"), one("c"))
    roster = solve(Problem(SEASON, visits, (Order("a", "b"), Order("b", "a")), CREW))
    assert roster.circles == (("a", "b"),)
    assert set(days(roster)) == {"c"}
    assert roster.left_out == ("b", "v")


def test_a_preferred_day_comes_before_an_early_finish() -> None:
    points = np.where(mask(6), 0.5, 0.0)
    assert days(solve(Problem(SEASON, (one("a", points=points),), (), CREW))) == {"a": (6,)}


def test_preferred_days_are_weighed_to_the_end_where_work_is_left_out_too() -> None:
    """One visit cannot stand so soon after the first; waiting may still fall below none."""
    visits = (
        one("a", 1.0, open=mask(3, 7), points=np.where(mask(3), 2.0, 0.0)),
        one("b", 1.0, open=mask(6)),
        one("c", 1.0, open=mask(5, 6)),
        one("d", 1.0, open=mask(6)),
    )
    orders = (Order("a", "b"), Order("a", "d", 0, 2), Order("c", "d"))
    roster = solve(Problem(SEASON, visits, orders, (worker("Ana", "ground-saw"),)))
    assert roster.left_out == ("d",)
    assert roster.proof == "proven"
    assert days(roster) == {"a": (3,), "b": (6,), "c": (5,)}


def test_a_chance_of_frost_outweighs_any_preference() -> None:
    risk, points = np.where(mask(6), 0.0, 0.3), np.where(mask(0), 9.0, 0.0)
    roster = solve(Problem(SEASON, (one("a", points=points, risk=risk),), (), CREW))
    assert days(roster) == {"a": (6,)}


def test_every_preference_is_listed_with_what_became_of_it() -> None:
    """Six hours on a day of three and a half points."""
    wanting = one("a", points=np.where(mask(3), 3.5, 0.0))
    (met,) = solve(Problem(SEASON, (wanting,), (), CREW)).preferences
    assert (met.visit_id, met.points, met.met) == ("a", 21.0, True)
    problem = Problem(SEASON, (wanting, one("b", 12.0, plot="y", open=mask(3))), (), CREW)
    roster = solve(problem)
    (missed,) = roster.preferences
    assert (missed.met, missed.points_best) == (False, 21.0)
    told = Standing(problem, roster).preferred("a")
    assert told == (3, Obstacle("crew", "hands", 3, beside=("b",)))


def test_a_closed_day_is_told_before_all_else() -> None:
    problem = Problem(SEASON, (one("a", open=mask(3)),), (), CREW)
    told = Standing(problem, solve(problem)).asked("a", 1)
    assert told == Obstacle("closed", "", 1, "a")


def broken(stint: Stint, **changes: object) -> Stint:
    return replace(stint, **changes)  # type: ignore[arg-type]  # fields by name


@pytest.mark.parametrize(
    ("changes", "rule"),
    [
        ({"days": (1,)}, "window"),
        ({"days": (N,)}, "season"),
        ({"hours": (3.0,)}, "work"),
        ({"elapsed_h": (2.0,)}, "team-size"),
        ({"elapsed_h": (9.0,)}, "ground"),
        ({"each_h": ((7.0,),), "hours": (7.0,)}, "team-time"),
        ({"people": (("Nobody",),)}, "person-absent"),
        ({"people": (("Bo",),)}, "team-skill"),
    ],
)
def test_the_checker_sees_each_fault(changes: dict[str, object], rule: str) -> None:
    saw = one("a", team={"ground-saw": 1}, team_max=1, open=mask(0))
    problem = Problem(SEASON, (saw,), (), CREW)
    roster = solve(problem)
    assert faults_in(problem, roster) == ()
    wrong = replace(roster, stints=(broken(roster.stints[0], **changes),))
    assert rule in {fault.rule for fault in faults_in(problem, wrong)}


def test_the_checker_sees_order_kit_ground_and_missing_work() -> None:
    kit = (Kit("saw", np.ones(N, dtype=np.int64)),)
    visits = (one("a", 10.0, uses={"saw": 1}), one("b", 10.0, uses={"saw": 1}, fixed_first=2))
    problem = Problem(SEASON, visits, (Order("a", "b", 1, 2),), CREW, kit)
    roster = solve(problem)
    a, b = roster.stints

    def rules(*stints: Stint) -> set[str]:
        return {fault.rule for fault in faults_in(problem, replace(roster, stints=stints))}

    assert rules(a, b) == set()
    assert {"kit", "ground", "order-least", "person-hours"} <= rules(a, broken(b, days=a.days))
    assert {"order-most", "fixed-day"} <= rules(a, broken(b, days=(6,)))
    assert rules(a) == {"missing"}
    assert rules(b) == {"missing", "order-missing"}
    assert rules(a, b, broken(b, step_id="c")) == {"unknown-step"}
    assert "twice" in rules(a, b, b)


def test_the_checker_sees_half_a_visit() -> None:
    problem = Problem(SEASON, (Visit("v", (step("a"), step("b"))),), (), CREW)
    roster = solve(problem)
    half = replace(roster, stints=roster.stints[:1])
    assert [(f.rule, f.about) for f in faults_in(problem, half)] == [("half-visit", "v")]
