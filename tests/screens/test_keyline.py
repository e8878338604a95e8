"""The key line is not only to be read: what it shows can be clicked, or tapped on a tablet."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.screens.conftest import Hands, at_the_keys


async def click_key(hands: Hands, text: str) -> None:
    """Click a part of the key line."""
    rows = hands.shown.splitlines()
    row = next(number for number, shown in enumerate(rows) if text in shown)
    await hands.pilot.click(offset=(rows[row].index(text) + 1, row))


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 40)])
async def test_a_click_on_the_key_line_does_what_its_key_does(path: Path, size: tuple[int, int]) -> None:
    async with at_the_keys(path, size=size) as hands:
        await hands.press("enter", until="Site visit  ahead")
        await click_key(hands, "s start  o sign off")
        await hands.until("Site visit  under way")
        await click_key(hands, "? help")
        await hands.until("Keys")
        await click_key(hands, "esc back  ? help")
        await hands.until("Site visit  under way")
