"""What holds for every test."""

from __future__ import annotations

import gc
import os

import pytest
from hypothesis import Phase, settings

from tests import rest

rest.install()
PHASES = [phase for phase in Phase if phase is not Phase.explain]
"""What a failure comes from is told by its example; trying every part of it once more takes many times the test."""
settings.register_profile(
    "tests", max_examples=40, deadline=None, derandomize="CI" in os.environ, print_blob=True, phases=PHASES
)
settings.register_profile("nightly", settings.get_profile("tests"), max_examples=1000, derandomize=False)
settings.load_profile(os.environ.get("TESTS_PROFILE", "tests"))
"""Where a test names no number of its own; the same examples again and again where nobody looks at a first failure.
``TESTS_PROFILE=nightly`` looks long, at other examples each time; tests with numbers of their own ask ``tests.often``."""
gc.set_threshold(100_000, 50, 50)
"""Screens make and drop objects by the hundred thousand; looking for cycles among them ten times as seldom saves a tenth."""


LONG = {"test_whole_job", "test_monkey", "test_snapshots"}


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """The longest first, so that none is left for one worker at the end."""
    items.sort(key=lambda item: item.path.stem not in LONG)


def pytest_xdist_auto_num_workers(config: pytest.Config) -> int:
    """A worker more than there are cores: some test always waits for a screen to come to rest."""
    return 1 + (os.cpu_count() or 1)
