"""What weather stops: said for outdoor work and for wet concrete, by the rules in force."""

from __future__ import annotations

import pytest

from tracker.trade.lengths import Unit
from tracker.trade.phases import PHASES, Phase
from tracker.trade.rules import Rules
from tracker.trade.weather import weather_stops


@pytest.mark.parametrize("phase", PHASES, ids=lambda phase: phase.key)
def test_all_outdoor_work_has_a_word_and_desk_work_has_none(phase: Phase) -> None:
    said = weather_stops(phase, Rules(), Unit.INCH)
    assert bool(said) == (phase.outdoors or phase.key == "cure")
    assert not (phase.office and said)


def test_the_finish_is_told_by_the_rules_in_force() -> None:
    finish = next(phase for phase in PHASES if phase.key == "finish")
    assert (
        weather_stops(finish, Rules(), Unit.INCH)
        == "2 dry days before it and 24 dry hours after it; air 50 °F to 90 °F"
    )
    own = Rules({"finish_rain_days": 3, "finish_coldest": 45})
    assert weather_stops(finish, own, Unit.INCH).startswith("3 dry days") and "45 °F to 90 °F" in weather_stops(
        finish, own, Unit.INCH
    )
