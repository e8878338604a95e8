"""Ready for the finish or wait: boards, rain, air and dew point of an invented job. Limits are common practice."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.trade.geometry_cases import DAY, GROUND, judged
from tests.trade.phase_jobs import job_of
from tracker.errors import InputError
from tracker.trade.answer import Answer, Verdict
from tracker.trade.checks.base import Case
from tracker.trade.checks.finishing import FINISH_READY
from tracker.trade.climate import dew_point_c
from tracker.trade.lengths import Unit
from tracker.trade.rules import Rules
from tracker.trade.spec import BoardKind, Finish


def case(unit: Unit = Unit.INCH, rules: Rules | None = None) -> Case:
    return Case(job_of(GROUND, finish=Finish.OIL, unit=unit, rules=rules), GROUND, DAY)


def ready(job: Case | None = None, /, boards: str = "13.5 12 14", **changes: str) -> Answer:
    words = {"rain": "3", "air": "70", "humidity": "55", "drop": "yes", "forecast": "48", **changes}
    rows = [f"b{n}={text}" for n, text in enumerate(boards.split(), 1)]
    return judged(FINISH_READY, [*(f"{key}={text}" for key, text in words.items()), *rows], job or case())


def passed(answer: Answer) -> bool:
    assert answer.verdict in (Verdict.PASSED, Verdict.FAILED), answer.headline
    assert answer.answer["ready"] is (answer.verdict is Verdict.PASSED)
    assert (answer.verdict is Verdict.PASSED) or all("wait" in move for move in answer.moves)
    assert "rags" in answer.caution
    return answer.verdict is Verdict.PASSED


@pytest.mark.parametrize(
    ("changes", "good"),
    [
        ({}, True),
        # Common practice: 15 % moisture at the most; 20 % from memory of Forest Products Laboratory notes stands beside.
        ({"boards": "12 13 15"}, True), ({"boards": "12 13 15.1"}, False),
        # Common practice: two dry days behind, 24 dry hours ahead, 50 to 90 °F, a drop that soaks in.
        ({"rain": "2"}, True), ({"rain": "1"}, False), ({"forecast": "24"}, True), ({"forecast": "23"}, False),
        ({"air": "50"}, True), ({"air": "49.9"}, False), ({"air": "90", "humidity": "40"}, True),
        ({"air": "90.1", "humidity": "40"}, False), ({"drop": "no"}, False),
    ],
)  # fmt: skip
def test_ready_or_wait(changes: dict[str, str], good: bool) -> None:
    boards = changes.pop("boards", "13.5 12 14")
    assert passed(ready(boards=boards, **changes)) is good


def test_it_says_until_when_to_wait_for_the_rain() -> None:
    answer = ready(rain="0")
    assert not passed(answer) and "wait until Thu 14 May" in answer.moves[0]


def test_air_too_damp_to_dry_the_boards_says_so() -> None:
    # Wood Handbook Eq. 4-5: at 70 °F and 90 % wood stands at 20.5 % (Table 4-2, from memory).
    answer = ready(boards="18 18 18", humidity="90")
    assert answer.answer["emc_pct"] == pytest.approx(20.5, abs=0.1)
    assert any("too damp to dry" in move for move in answer.moves)


def test_a_surface_near_the_dew_point_waits() -> None:
    # From memory: ISO 8502-4, 3 °C (5 °F) above the dew point. 70 °F and 55 %: dew point 53.1 °F.
    assert ready().answer["dew_point_f"] == pytest.approx(53.1, abs=0.1)
    assert passed(ready(surface="58.2"))
    near = ready(surface="58")
    assert not passed(near) and "dew point" in near.headline
    assert not passed(ready(humidity="90"))


def test_house_rules_move_the_limits_and_keep_the_default_in_sight() -> None:
    own = case(rules=Rules({"finish_moisture_most": 120}))
    answer = ready(own, boards="11 12 12.1")
    assert not passed(answer)
    limit = next(limit for limit in answer.limits if "moisture" in limit.what)
    assert limit.source == "house rule" and "15 %" in limit.published


def test_a_metric_job_reads_celsius() -> None:
    metric = ready(case(Unit.MM), air="21.1", surface="21.1")
    assert passed(metric) and metric.answer["dew_point_f"] == pytest.approx(53.1, abs=0.2)
    assert any("°C" in line for line in metric.working)


@pytest.mark.parametrize(
    ("changes", "why"),
    [({"humidity": "140"}, "humidity of 140"), ({"humidity": "0"}, "humidity of 0"), ({"air": "900"}, "outside")],
)
def test_air_that_cannot_be_is_refused(changes: dict[str, str], why: str) -> None:
    with pytest.raises(InputError, match=why):
        ready(**changes)


def test_three_boards_are_read_and_bare_boards_of_composite_are_not_asked() -> None:
    answer = ready(boards="12 13")
    assert answer.verdict is Verdict.INCOMPLETE and "3 boards" in answer.headline
    plain = replace(GROUND, decking=replace(GROUND.decking, kind=BoardKind.COMPOSITE))
    assert not FINISH_READY.applies(job_of(plain, finish=Finish.OIL), plain)
    assert not FINISH_READY.applies(job_of(GROUND), GROUND)


# -- the dew point


def saturation_pa(kelvin: float) -> float:
    """Vapour pressure over water: Hyland and Wexler 1983, as the ASHRAE Handbook prints it (from memory)."""
    return math.exp(
        -5.8002206e3 / kelvin
        + 1.3914993
        - 4.8640239e-2 * kelvin
        + 4.1764768e-5 * kelvin**2
        - 1.4452093e-8 * kelvin**3
        + 6.5459673 * math.log(kelvin)
    )


@given(st.floats(0, 50), st.floats(10, 100))
def test_the_dew_point_agrees_with_an_independent_vapour_pressure_formula(celsius: float, humidity: float) -> None:
    dew = dew_point_c(celsius, humidity)
    if dew < 0:
        return
    assert dew <= celsius + 1e-9
    # At the dew point the air is saturated: within 0.5 % of the pressure, 0.1 °C.
    wanted = saturation_pa(celsius + 273.15) * humidity / 100
    assert saturation_pa(dew + 273.15) == pytest.approx(wanted, rel=0.005)


@pytest.mark.parametrize(("celsius", "humidity", "dew"), [(20, 50, 9.3), (25, 60, 16.7), (30, 70, 23.9), (15, 100, 15)])
def test_dew_points_of_the_psychrometric_chart(celsius: float, humidity: float, dew: float) -> None:
    # From memory: psychrometric chart at sea level, to 0.1 °C.
    assert dew_point_c(celsius, humidity) == pytest.approx(dew, abs=0.1)
