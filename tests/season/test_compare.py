"""What a preference costs: against a season that never knew it."""

from typer.testing import CliRunner, Result

from scheduler.cli import app
from scheduler.season import SeasonPlan, compared, preference_of
from tests.sites import ROOT


def test_without_the_practice_the_days_are_those_of_a_site_that_does_not_follow_it(
    branasol: SeasonPlan, keen: SeasonPlan
) -> None:
    told = compared(keen, ["waning-moon"])
    assert told.followed == ("waning-moon",)
    firsts = {s.job_id: s.first for s in branasol.roster.stints}
    with_it = {s.job_id: s.first for s in keen.roster.stints}
    assert told.moved
    assert {(t, w, o) for t, w, o in told.moved} == {
        (t, with_it[t], firsts[t]) for t in firsts if with_it[t] != firsts[t]
    }
    late = [sum(s.last for s in plan.roster.stints) for plan in (keen, branasol)]
    assert told.here.late_days - told.there.late_days == late[0] - late[1] > 0


def test_blocks_of_hire_are_a_preference_too(branasol: SeasonPlan) -> None:
    told = compared(branasol, ["hire-blocks"])
    assert told.here.hire_blocks == len(branasol.roster.hires) < told.there.hire_blocks
    assert told.here.late_days > told.there.late_days


def test_a_word_of_the_id_is_enough(branasol: SeasonPlan) -> None:
    assert preference_of("moon", branasol) == "waning-moon"
    assert preference_of("waning-moon", branasol) == "waning-moon"
    assert preference_of("frost-release", branasol) is None, "a rule that closes is none"


def run(*words: str) -> Result:
    return CliRunner().invoke(app, [*words, "--as-of", "2026-11-25"])


def test_the_command_tells_the_cost_and_refuses_what_is_no_preference() -> None:
    north, south = (str(ROOT / "sites" / name) for name in ("branasol", "klipskadu"))
    told = run("roster", north, "--without", "moon", "--without", "hire-blocks")
    assert told.exit_code == 0
    assert told.stdout.count("is not followed in this plan, so it costs nothing") == 1
    assert "grower practice, not established science" in told.stdout
    assert "Chance of frost damage" in run("roster", south, "--without", "moon").stdout
    wrong = run("roster", south, "--without", "frost")
    assert wrong.exit_code == 2
    assert wrong.stderr == "there is no preference 'frost'; there are: waning-moon, hire-blocks\n"


def test_roster_lists_hire_and_preferences_with_their_price(klipskadu: SeasonPlan) -> None:
    told = run("roster", str(ROOT / "sites" / "klipskadu"), "--afresh").stdout
    whole = sum(hire.cost for hire in klipskadu.roster.hires)
    assert f"{len(klipskadu.roster.hires)} blocks of hire, {whole:g} in all" in told
    met = sum(one.met for one in klipskadu.roster.preferences)
    assert f"{met} of {len(klipskadu.roster.preferences)} met" in told
    assert met < len(klipskadu.roster.preferences)
    assert told.count("nearest: ") == len(klipskadu.roster.preferences) - met
    for line in told.splitlines():
        assert "moon" not in line or "grower practice, not established science" in line
