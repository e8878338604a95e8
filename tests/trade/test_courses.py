"""Parts of a run longer than the stock. Worked by hand; the method is common practice."""

from __future__ import annotations

import pytest

from tracker.trade.courses import balanced, split
from tracker.trade.lengths import FOOT, INCH


@pytest.mark.parametrize(
    ("feet", "parts"),
    [
        (30, [240, 120]),  # a whole piece and half of one
        # 20 + 20 + 2 ft would end in a stub: the joists next to 14 and 28 ft stand at 160, 176 and 336 in.
        (42, [176, 160, 168]),
    ],
)
def test_a_rim_is_joined_without_a_stub(feet: int, parts: list[int]) -> None:
    joists = [16 * INCH * k for k in range(1, feet * 12 // 16 + 1)]
    found = [nm // INCH for nm in split(feet * FOOT, 20 * FOOT, joists)]
    assert sorted(found) == sorted(parts) and sum(found) == feet * 12


def test_parts_that_the_stops_do_not_allow_are_none() -> None:
    assert balanced(40, 15, [20], 2) == ()
    assert balanced(40, 20, [20], 2) == (20, 20)
    assert balanced(30, 20, [10, 14, 16, 20], 2) in ((14, 16), (16, 14))
