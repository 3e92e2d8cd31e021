"""Cover against its trigger, light at the alley, and which plot comes first."""

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.files import FaultyFilesError
from scheduler.holding import Plot, RuleBook, Stock, read_holding
from scheduler.holding.plots import Trigger
from scheduler.holding.site_files import package_rules
from scheduler.reasons import SeasonPlan
from scheduler.stand import cover_of, due_of, tasks_of
from scheduler.stand.canopy import Cover, alley_light, cuts_a_year, day_over, leafless
from scheduler.stand.warmth import Warmth
from tests.sites import AS_OF, ROOT, edit, new_site
from tests.stand.test_growth import CUT, row

BOOK = RuleBook.of(package_rules())
PLOT = Plot(id="low", name="Low", area_m2=100.0, planted=2015)
EVEN = Warmth(None)


def cover_on(stock: list[Stock], on: date, plot: Plot = PLOT) -> Cover:
    return {c.stratum: c for c in cover_of(plot, stock, BOOK, on, EVEN)}["medium"]


def many(**changes: object) -> Stock:
    """Pollarded tagasaste that covers 70.7 % of the plot when grown out."""
    return row(**({"count": 10} | changes))


def test_cover_grows_back_to_the_trigger_on_the_day_that_is_told() -> None:
    on = day_over(PLOT, cover_on([many()], CUT), [many()], BOOK, CUT, EVEN)
    assert on is not None
    assert cover_on([many()], on).share >= 0.70 > cover_on([many()], on - timedelta(1)).share


def test_a_plots_own_trigger_goes_before_the_rule_books() -> None:
    early = replace(PLOT, trigger=(Trigger(stratum="medium", share=0.25),))
    usual = day_over(PLOT, cover_on([many()], CUT), [many()], BOOK, CUT, EVEN)
    soon = day_over(early, cover_on([many()], CUT, early), [many()], BOOK, CUT, EVEN)
    assert soon is not None
    assert usual is not None
    assert soon < usual
    assert cover_on([many()], CUT, early).trigger == 0.25


def test_a_low_trigger_means_more_interventions() -> None:
    """Cut at 25 % or let it run to 80 %: the grower's choice; a support tree cut by up to 98 %
    and about twice a year is common practice, no source."""
    wide = many(crown_m=3.3)
    cuts = {
        share: cuts_a_year(PLOT, Cover("medium", 0.0, 0.5, share), [wide], BOOK)
        for share in (0.25, 0.5, 0.8)
    }
    assert cuts[0.25] is not None
    assert cuts[0.5] is not None
    assert cuts[0.8] is not None
    assert cuts[0.25] > cuts[0.5] > cuts[0.8] > 2
    # by hand: full 85.5 %, a cut leaves a fifth of it, four months to full
    by_hand = 12 / (4 * (0.8 - 0.1711) / (0.8553 - 0.1711))
    assert cuts[0.8] == pytest.approx(by_hand, rel=0.01)


def test_a_trigger_that_is_never_reached_or_never_left_is_told_apart() -> None:
    assert cuts_a_year(PLOT, Cover("medium", 0.0, 0.5, 0.8), [many()], BOOK) == 0.0
    assert cuts_a_year(PLOT, Cover("medium", 0.0, 0.5, 0.05), [many()], BOOK) is None
    assert day_over(PLOT, Cover("medium", 0.0, 0.5, 0.8), [many()], BOOK, CUT, EVEN) is None


def test_light_is_the_product_over_the_strata() -> None:
    high = row(stratum="high", plant="alder", cut_system="none", count=4, crown_m=4.0)
    medium = row(cut_system="none", count=4)
    through = (1 - 0.5027 * 0.75) * (1 - 0.2827 * 0.85)
    assert alley_light(PLOT, [high, medium], BOOK, CUT, EVEN) == pytest.approx(through, abs=1e-3)


def test_bare_crowns_let_the_winter_light_through() -> None:
    """Bare crowns 65 %: common practice, no source; evergreens stay as they are."""
    stand = [row(stratum="high", plant="alder", cut_system="none", count=4, crown_m=4.0),
             row(cut_system="none", count=4)]  # fmt: skip
    bare = (1 - 0.5027 * 0.35) * (1 - 0.2827 * 0.85)
    light = alley_light(PLOT, stand, BOOK, CUT, EVEN, {"alder"})
    assert light == pytest.approx(bare, abs=1e-3)
    assert alley_light(PLOT, stand, BOOK, CUT, EVEN, {"tagasaste"}) == alley_light(
        PLOT, stand, BOOK, CUT, EVEN
    )


@pytest.mark.parametrize(
    ("site", "bare", "leafy"),
    [("branasol", date(2027, 1, 20), date(2027, 7, 20)),
     ("klipskadu", date(2027, 7, 20), date(2027, 1, 20))],
)  # fmt: skip
def test_leafless_kinds_are_those_that_drop_their_leaves_in_the_local_winter(
    site: str, bare: date, leafy: date
) -> None:
    holding = read_holding(ROOT / "sites" / site, AS_OF)
    found = leafless(holding, bare)
    assert leafless(holding, leafy) == frozenset()
    assert found == {
        r.plant for r in holding.stock if holding.rules.plants[r.plant].habit == "deciduous"
    }


def test_the_growers_leaf_fall_goes_before_the_months_of_the_book(tmp_path: Path) -> None:
    site = new_site(tmp_path / "site")
    assert "alder" in leafless(read_holding(site, AS_OF), date(2027, 11, 20))
    with (site / "site.toml").open("a", encoding="utf-8") as file:
        file.write(
            '\n[[phenology]]\ngroups = ["deciduous-support"]\nsign = "leaf-fall"\non = "12-05"\n'
        )
    found = {day: leafless(read_holding(site, AS_OF), day) for day in
             (date(2027, 11, 20), date(2027, 12, 4), date(2027, 12, 5))}  # fmt: skip
    assert ["alder" in kinds for kinds in found.values()] == [False, False, True]
    assert "plum" in found[date(2027, 11, 20)]


def test_the_light_of_the_day_is_told_beside_that_in_leaf(branasol: SeasonPlan) -> None:
    dues = due_of(
        branasol.placed.holding, tasks_of(branasol.placed.holding), date(2027, 1, 20), {}
    )
    summer = due_of(
        branasol.placed.holding, tasks_of(branasol.placed.holding), date(2027, 7, 20), {}
    )
    assert all(due.light_now >= due.light for due in dues)
    assert any(due.light_now > due.light + 0.05 for due in dues)
    assert all(due.light_now == due.light for due in summer)


def test_an_unpruned_stand_takes_the_light_that_was_measured() -> None:
    """Gliricidia at Makoka, Malawi: unpruned over 0.9 of the radiation, pruned 0.6 to 0.7 with
    the crop (abstract): a closed tree canopy of ours takes at least 0.8, a pollarded one less."""
    closed = row(plant="leucaena", last_cut=CUT, count=20)
    assert 1 - alley_light(PLOT, [closed], BOOK, CUT + timedelta(days=900), EVEN) > 0.8
    assert 1 - alley_light(PLOT, [closed], BOOK, CUT, EVEN) < 0.6


@given(
    st.sampled_from(sorted(BOOK.plants)),
    st.sampled_from(["retained", "pollard", "coppice", "remove"]),
    st.integers(1, 30),
    st.integers(0, 900),
)
def test_a_cut_never_raises_cover_and_never_takes_light(
    plant: str, cut_system: str, count: int, days: int
) -> None:
    on = CUT + timedelta(days=days)
    uncut = row(plant=plant, cut_system=cut_system, count=count, last_cut=None)
    cut = replace(uncut, last_cut=CUT)
    assert cover_on([cut], on).share <= cover_on([uncut], on).share
    light = [alley_light(PLOT, [r], BOOK, on, EVEN) for r in (uncut, cut)]
    assert 0 <= light[0] <= light[1] + 1e-12 <= 1 + 1e-9


def test_plots_come_by_frost_release_then_by_how_overdue_they_are(branasol: SeasonPlan) -> None:
    holding, tasks = branasol.placed.holding, tasks_of(branasol.placed.holding)
    slope, hollow = date(2027, 4, 21), date(2027, 5, 24)
    released = {"fondal": hollow, "socalco": slope, "ladeira": slope, "novo": None}
    dues = due_of(holding, tasks, AS_OF, released)
    assert dues[-1].plot.id == "novo"
    assert dues[-2].plot.id == "fondal"
    first, second = dues[0].plot.id, dues[1].plot.id
    assert dues[0].overdue(AS_OF) >= dues[1].overdue(AS_OF)
    wooded = [replace(r, crown_m=4 * r.crown_m) if r.plot == second else r for r in holding.stock]
    dues = due_of(replace(holding, stock=tuple(wooded)), tasks, AS_OF, released)
    assert [due.plot.id for due in dues] == [second, first, "fondal", "novo"]
    assert any(reason.startswith("overdue: ") for reason in dues[0].reasons)
    # an early release goes before all that is overdue
    early = due_of(
        replace(holding, stock=tuple(wooded)), tasks, AS_OF, {**released, "novo": AS_OF}
    )
    assert early[0].plot.id == "novo"
    assert early[0].overdue(AS_OF) == 0


def test_the_day_of_the_trigger_lies_between_quick_and_slow_regrowth(branasol: SeasonPlan) -> None:
    dues = due_of(branasol.placed.holding, tasks_of(branasol.placed.holding), AS_OF, {})
    strata = [stratum for due in dues for stratum in due.strata if stratum.on is not None]
    assert strata
    for stratum in strata:
        assert stratum.early is not None
        assert stratum.on is not None
        assert stratum.late is not None
        assert stratum.early <= stratum.on <= stratum.late
    assert any(stratum.early < stratum.late for stratum in strata)  # type: ignore[operator]  # both are days
    for regrowth in BOOK.regrowths.values():
        assert regrowth.low <= regrowth.months <= regrowth.high
        assert regrowth.least_months <= regrowth.months


def test_a_trigger_that_cuts_too_often_for_a_kind_names_it(branasol: SeasonPlan) -> None:
    """Overcropping is the usual mistake: monthly cuts killed a quarter of the gliricidia."""
    often = (Trigger(stratum="medium", share=0.3),)
    plots = (
        replace(p, trigger=often if p.id == "socalco" else ())
        for p in branasol.placed.holding.plots
    )
    holding = replace(branasol.placed.holding, plots=tuple(plots))
    dues = due_of(holding, tasks_of(holding), AS_OF, {})
    terrace = next(due for due in dues if due.plot.id == "socalco")
    assert any("more than" in reason and "bears" in reason for reason in terrace.reasons)
    assert not any("bears" in r for due in dues if due.plot.id == "novo" for r in due.reasons)


def test_known_nests_and_shared_hire_are_reasons(tmp_path: Path) -> None:
    site = new_site(tmp_path / "site")
    edit(site, "plots.toml", "hazard = []", 'hazard = [{ kind = "nests" }]')
    holding = read_holding(site, AS_OF)
    (due,) = due_of(holding, tasks_of(holding), AS_OF, {})
    assert any("nests are known" in reason for reason in due.reasons)
    demo = read_holding(ROOT / "sites" / "branasol", AS_OF)
    dues = due_of(demo, tasks_of(demo), AS_OF, {})
    assert any("shares the climber with" in r for due in dues for r in due.reasons)


def test_an_alley_too_dark_for_its_crops_is_said(tmp_path: Path) -> None:
    site = new_site(tmp_path / "site")
    edit(site, "plots.toml", 'alley_light = ""', 'alley_light = "full"')
    edit(site, "stock.csv", "pollard,12,7,", "pollard,90,7,")
    holding = read_holding(site, AS_OF)
    (due,) = due_of(holding, tasks_of(holding), AS_OF, {})
    assert any("its crops want 70%" in reason for reason in due.reasons)


def test_a_light_class_that_is_not_there_is_refused(tmp_path: Path) -> None:
    site = new_site(tmp_path / "site")
    edit(site, "plots.toml", 'alley_light = ""', 'alley_light = "fulll"')
    with pytest.raises(FaultyFilesError, match="did you mean full"):
        read_holding(site, AS_OF)
