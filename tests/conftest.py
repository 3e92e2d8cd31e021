"""Seasons that many tests look at, planned once."""

from dataclasses import replace

import pytest

from scheduler.holding import read_holding
from scheduler.reasons import SeasonPlan, plan_season
from tests.sites import AS_OF, ROOT


@pytest.fixture(scope="session")
def branasol() -> SeasonPlan:
    """The demo holding north of the equator, moon practice off."""
    return plan_season(read_holding(ROOT / "sites" / "branasol", AS_OF), AS_OF)


@pytest.fixture(scope="session")
def klipskadu() -> SeasonPlan:
    """The demo holding south of the equator, moon practice on."""
    return plan_season(read_holding(ROOT / "sites" / "klipskadu", AS_OF), AS_OF)


@pytest.fixture(scope="session")
def keen(branasol: SeasonPlan) -> SeasonPlan:
    """The moon practice on."""
    site = branasol.placed.holding.site
    site = replace(site, moon=replace(site.moon, practice=True))
    return plan_season(replace(branasol.placed.holding, site=site), AS_OF)


@pytest.fixture(autouse=True)
def no_progress(monkeypatch: pytest.MonkeyPatch) -> None:
    """Standard error as on a fast machine, however busy this one is."""
    monkeypatch.setattr("scheduler.commands.door.SLOW_S", 600.0)
