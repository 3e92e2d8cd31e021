"""What a preference costs: against a season that never knew it."""

from dataclasses import replace

import pytest
from typer.testing import CliRunner, Result

from scheduler.commands.app import app
from scheduler.reasons import SeasonPlan, compared, known_preferences, plan_season, preference_of
from tests.sites import AS_OF, ROOT

pytestmark = pytest.mark.usefixtures("plans_once")


def test_without_the_practice_the_days_are_those_of_a_site_that_does_not_follow_it(
    branasol: SeasonPlan, keen: SeasonPlan
) -> None:
    told = compared(keen.placed, ["waning-moon"])
    assert told.followed == ("waning-moon",)
    with_it, firsts = ({v: s.first for v, s in p.placed.visits.items()} for p in (keen, branasol))
    assert told.moved
    assert set(told.moved) == {
        (v, with_it[v], firsts[v]) for v in firsts if with_it[v] != firsts[v]
    }
    late = [sum(v.last for v in plan.placed.roster.visits) for plan in (keen, branasol)]
    assert told.here.late_days - told.there.late_days == late[0] - late[1] > 0


def test_blocks_of_hire_are_a_preference_too(branasol: SeasonPlan) -> None:
    """One more coming of the climbers is worth 400 days of waiting here, not five."""
    crew = branasol.placed.holding.crew
    hire = tuple(replace(one, block_days=400.0) for one in crew.hire)
    plan = plan_season(replace(branasol.placed.holding, crew=replace(crew, hire=hire)), AS_OF)
    told = compared(plan.placed, ["hire-blocks"])
    assert told.here.hire_blocks == len(plan.placed.roster.hires) < told.there.hire_blocks
    assert told.here.late_days > told.there.late_days


def test_a_word_of_the_id_is_enough(branasol: SeasonPlan) -> None:
    assert preference_of("moon", branasol.placed.holding) == "waning-moon"
    assert preference_of("waning-moon", branasol.placed.holding) == "waning-moon"
    assert preference_of("frost-release", branasol.placed.holding) is None, (
        "a rule that closes is none"
    )


def run(*words: str) -> Result:
    return CliRunner().invoke(app, [*words, "--as-of", "2026-11-25"])


def test_the_command_tells_the_cost_and_refuses_what_is_no_preference(
    klipskadu: SeasonPlan,
) -> None:
    north, south = (str(ROOT / "sites" / name) for name in ("branasol", "klipskadu"))
    told = run("plan", "--full", north, "--without", "moon", "--without", "hire-blocks")
    assert told.exit_code == 0
    assert told.stdout.count("is not followed in this plan, so it costs nothing") == 1
    assert "grower practice, not established science" in told.stdout
    assert "Chance of frost damage" in told.stdout
    wrong = run("plan", "--full", south, "--without", "frost")
    assert wrong.exit_code == 2
    known = known_preferences(klipskadu.placed.holding)
    assert {"waning-moon", "hire-blocks"} < set(known)
    assert wrong.stderr == f"there is no preference 'frost'; there are: {', '.join(known)}\n"


def test_roster_lists_hire_and_preferences_with_their_price(klipskadu: SeasonPlan) -> None:
    told = run("plan", "--full", str(ROOT / "sites" / "klipskadu"), "--afresh").stdout
    whole = sum(hire.cost for hire in klipskadu.placed.roster.hires)
    assert f"{len(klipskadu.placed.roster.hires)} blocks of hire, {whole:g} in all" in told
    _, _, *rows = told.partition("Preferred days.")[2].splitlines()
    listed = [row.split()[0] for row in rows if row and "." in row.split()[0]]
    assert listed
    assert listed == [one.visit_id for one in klipskadu.placed.roster.preferences]
    (rule,) = (r for r in klipskadu.placed.holding.rules.rules.values() if r.id == "waning-moon")
    cuts = [
        (hours, bool(klipskadu.placed.outlook.sky.waxing[day]))
        for task_id, stint in klipskadu.placed.stints.items()
        if klipskadu.placed.tasks[task_id].type.id in rule.tasks
        for day, hours in zip(stint.days, stint.hours, strict=True)
    ]
    every = sum(hours for hours, _ in cuts)
    waning = sum(hours for hours, waxing in cuts if not waxing)
    assert f"Heavy cuts in the waning half: {waning:.0f} of {every:.0f} h" in told
    about = [line for line in told.splitlines() if "moon" in line]
    assert about
    assert all("grower practice, not established science" in line for line in about)
