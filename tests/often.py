"""How many examples a property test looks at: few before every change, many by night."""

from __future__ import annotations

from hypothesis import settings


def examples(quick: int, nightly: int) -> int:
    """``nightly`` under the profile of that name (``TESTS_PROFILE=nightly``), else ``quick``."""
    return nightly if settings.get_current_profile_name() == "nightly" else quick
