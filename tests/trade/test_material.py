"""Items as they are typed, and as the take-off names them."""

from __future__ import annotations

import pytest

from tracker.trade.material import item_name, stock_size


@pytest.mark.parametrize(
    ("typed", "item"),
    [
        ("2X8X12", "2x8x12"), ("2 x 8 x 12", "2x8x12"), ("2×8×12'", "2x8x12"), (" 2x8x12 ft ", "2x8x12"),
        ("5/4X6X16", "5/4x6x16"), ("45 X 195 X 3600", "45x195x3600"), ("45x195x3600mm", "45x195x3600"),
        ("Composite 5/4x6x16", "composite 5/4x6x16"), ("2x8x12", "2x8x12"),
        ("nails 16d", "nails 16d"), ("post base 6x6", "post base 6x6"), ("Box X", "Box X"), ("2x7x12", "2x7x12"),
    ],
)  # fmt: skip
def test_an_item_is_named_as_the_take_off_names_it(typed: str, item: str) -> None:
    assert item_name(typed) == item
    assert item_name(item) == item
    assert stock_size(item) is not None or item == typed.strip()
