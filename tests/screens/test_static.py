"""Words that come while the screen is laid out for something else get the room they take."""

from __future__ import annotations

import asyncio

from textual.app import App, ComposeResult

from tracker.screens.static import Static


class TwoTexts(App[None]):
    """Words over other words."""

    CSS = "Static { height: auto; }"

    def compose(self) -> ComposeResult:
        yield Static("", id="late")
        yield Static("", id="below")


async def test_a_text_that_comes_while_the_widget_is_behind_is_not_cut_to_the_room_of_the_one_before() -> None:
    app = TwoTexts()
    async with app.run_test() as pilot:
        late, below = app.query_one("#late", Static), app.query_one("#below", Static)
        await pilot.pause()
        busy, free = asyncio.Event(), asyncio.Event()

        async def at_work() -> None:
            busy.set()
            await free.wait()

        late.call_next(at_work)
        await busy.wait()  # its own messages wait from here
        late.update("one line")
        below.update("two\nlines")
        while below.size.height != 2:  # the screen is laid out for the other
            await asyncio.sleep(0.01)
        late.update("one line\nand another")
        free.set()
        for _ in range(5):
            await pilot.pause()
        assert late.size.height == 2
