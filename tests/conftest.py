"""Seasons that many tests look at, planned once."""

from dataclasses import replace

import pytest

from scheduler.holding import read_holding
from scheduler.holding.dayrules import MoonRule
from scheduler.season import SeasonPlan, plan_season
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
    """The moon practice on, and worth 20 days of waiting."""
    holding, rules = branasol.holding, branasol.holding.rules
    moon = rules.rules["waning-moon"]
    assert isinstance(moon, MoonRule)
    rules = replace(rules, rules={**rules.rules, "waning-moon": replace(moon, points=20.0)})
    site = replace(holding.site, moon=replace(holding.site.moon, practice=True))
    return plan_season(replace(holding, site=site, rules=rules), AS_OF)
