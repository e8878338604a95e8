"""Tab goes from one place to the next, and at each of them one sees where one is, without a color."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import pytest
from textual.containers import VerticalScroll
from textual.widgets import DataTable, Input, OptionList

from tests.screens.conftest import Hands, at_the_keys, put_prices

SCREENS: dict[str, tuple[tuple[str, ...], str]] = {
    "jobs": ((), "OPEN JOBS"),
    "job": (("enter",), "planned "),
    "phase without checks": (("enter", "right", "right", "right", "right"), "planned "),
    "reading": (("enter", "enter"), "esc"),
    "material": (("enter", "m"), "lot"),
    "history": (("enter", "y"), "entr"),
    "hours": (("enter", "t"), "hours"),
    "buy": (("b",), "to buy"),
    "cuts": (("enter", "m", "c"), "cut list"),
    "new job": (("n",), "1 of"),
    "plan": (("enter", "p"), "Plan"),
}


@pytest.mark.parametrize("name", SCREENS)
async def test_every_stop_of_tab_shows_where_one_is(path: Path, name: str) -> None:
    put_prices(path)
    keys, until = SCREENS[name]
    async with at_the_keys(path, size=(120, 40)) as hands:
        await hands.press(*keys, until=until)
        await hands.pilot.pause()
        for _ in range(6):
            await hands.press("tab")
            await hands.until(lambda: marked(hands))


def marked(hands: Hands) -> bool:
    """Whether the place in hand is marked: a field by its cursor, a list by its sign, a pane by a bar at its side."""
    widget = hands.app.screen.focused
    if widget is None or isinstance(widget, Input):
        return True
    lines = rows_of(hands, widget.region.y, widget.region.bottom)
    left = widget.region.x
    if isinstance(widget, OptionList | DataTable):
        return any("›" in line[left : left + 2] for line in lines)
    only = len(hands.app.screen.focus_chain) == 1
    return only or not isinstance(widget, VerticalScroll) or any(line[left : left + 1] == "█" for line in lines)


def rows_of(hands: Hands, top: int, bottom: int) -> Sequence[str]:
    return hands.shown.splitlines()[top:bottom]
