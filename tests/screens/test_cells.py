"""A count come back to is counted again: typing takes the place of what stood there."""

from __future__ import annotations

from textual.app import App, ComposeResult

from tracker.screens.cells import Cell
from tracker.trade.readings import Field, Kind


class TwoCells(App[None]):
    """A count and a length, both typed before."""

    def compose(self) -> ComposeResult:
        """The two fields."""
        yield Cell(Field("count", "pieces counted", Kind.COUNT), "L1.count", "L1", (0, 0), "19", "")
        yield Cell(Field("width", "width", Kind.LENGTH), "width", "", (1, 0), "12'", "")


async def test_a_count_come_back_to_gives_way_and_a_length_is_gone_on_with() -> None:
    app = TwoCells()
    async with app.run_test() as pilot:
        count, length = app.query(Cell)
        length.focus()
        await pilot.pause()
        await pilot.press("end", "space", "3")
        count.focus()
        await pilot.pause()
        await pilot.press("1", "7")
        assert (count.value, length.value) == ("17", "12' 3")
