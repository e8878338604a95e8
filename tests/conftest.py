"""What holds for every test."""

from __future__ import annotations

import os

import pytest


def pytest_xdist_auto_num_workers(config: pytest.Config) -> int:
    """Two workers a core: tests of the screens wait for a screen to come to rest far more than they compute."""
    return 2 * (os.cpu_count() or 1)
