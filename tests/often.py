"""How long the tests look: a little before every change, long by night (``TESTS_PROFILE=nightly``)."""

from __future__ import annotations

import pytest
from _pytest.mark import ParameterSet
from hypothesis import settings


def nightly() -> bool:
    """Whether the tests look long."""
    return settings.get_current_profile_name() == "nightly"


def examples(quick: int, long: int) -> int:
    """How many examples a property test looks at: ``long`` by night, else ``quick``."""
    return long if nightly() else quick


def by_night(*values: object, name: str) -> ParameterSet:
    """A case of ``pytest.mark.parametrize`` that is tried by night alone, and skipped before."""
    return pytest.param(*values, id=name, marks=pytest.mark.skipif(not nightly(), reason="TESTS_PROFILE=nightly"))
