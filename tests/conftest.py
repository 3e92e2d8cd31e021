"""Seasons that many tests look at, planned once."""

from collections.abc import Iterator
from dataclasses import replace

import pytest

from scheduler.reasons import SeasonPlan
from tests.once import plan_once, record_once
from tests.sites import AS_OF, ROOT, planned

LONG = ("ways_out", "weather", "words")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Rooms whose tests take long come first: last, one process would wait for the other."""
    items.sort(key=lambda item: item.path.parent.name not in LONG)


@pytest.fixture(scope="session")
def branasol() -> SeasonPlan:
    """The demo holding north of the equator, moon practice off."""
    return planned(ROOT / "sites" / "branasol")


@pytest.fixture(scope="session")
def klipskadu() -> SeasonPlan:
    """The demo holding south of the equator, moon practice on."""
    return planned(ROOT / "sites" / "klipskadu")


@pytest.fixture(scope="session")
def keen(branasol: SeasonPlan) -> SeasonPlan:
    """The moon practice on."""
    site = branasol.placed.holding.site
    site = replace(site, moon=replace(site.moon, practice=True))
    return plan_once(replace(branasol.placed.holding, site=site), AS_OF)


@pytest.fixture(autouse=True)
def no_progress(monkeypatch: pytest.MonkeyPatch) -> None:
    """Standard error as on a fast machine, however busy this one is."""
    monkeypatch.setattr("scheduler.commands.door.SLOW_S", 600.0)


@pytest.fixture(scope="session", autouse=True)
def records_once() -> Iterator[None]:
    """The thirty years of a demo's station are read once, however many copies of it there are."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("scheduler.holding.site_files.read_record", record_once)
        yield


@pytest.fixture
def plans_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Commands that look at one site are given one plan of it; for tests of what they print."""
    monkeypatch.setattr("scheduler.reasons.plan_season", plan_once)
