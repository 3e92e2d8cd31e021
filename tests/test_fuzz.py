"""Broken sites, a fixed number of them; ``python -m tests.bench.fuzz_sites`` runs for an hour."""

import random
import tempfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.files import Fault, FaultyFilesError
from scheduler.holding import read_holding
from tests.bench.fuzz_sites import attempt
from tests.mutations import broken_site
from tests.sites import AS_OF

SEEDS = st.integers(min_value=0, max_value=10**9)


def faults_in(site: Path) -> tuple[Fault, ...]:
    """The faults of a site's files; none where they can be read."""
    try:
        read_holding(site, AS_OF)
    except FaultyFilesError as error:
        return error.faults
    return ()


@settings(max_examples=20, deadline=None, derandomize=True)
@given(SEEDS)
def test_a_broken_site_is_read_or_its_faults_are_told(seed: int) -> None:
    with tempfile.TemporaryDirectory() as folder:
        site, slips = broken_site(Path(folder), random.Random(seed))  # noqa: S311  # no secret
        for fault in faults_in(site):
            assert all((fault.file, fault.found, fault.allowed)), (fault, slips)


@pytest.mark.slow
@settings(max_examples=8, deadline=None, derandomize=True)
@given(SEEDS)
def test_no_command_fails_over_a_broken_site(seed: int) -> None:
    with tempfile.TemporaryDirectory() as folder, pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        _, finding = attempt(seed, Path(folder))
    assert finding == ""
