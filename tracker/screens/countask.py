"""A count that the lots contradict: the question whether the pieces are to be received with it."""

from __future__ import annotations

from collections.abc import Awaitable, Callable

from tracker.book.views import Recorded
from tracker.screens.choice import steps
from tracker.screens.desk import Desk


async def with_receipt(desk: Desk, ask: Callable[[bool], Awaitable[Recorded]]) -> Recorded | None:
    """Record by ``ask(False)``; where more was counted than has come, ask, and on a yes record by ``ask(True)``.

    None when the count is to be looked at again. Raises what ``ask`` raises.
    """
    from tracker.book.counted import CountsApartError

    try:
        return await ask(False)
    except CountsApartError as error:
        if not error.more:
            raise
        heading = f"{error.message}. Has it come?"
    lines = [
        ("receive", "yes: receive what was counted, together with the reading"),
        ("again", "no: count again; what is typed stays"),
    ]
    chosen = await desk.push_screen_wait(steps(heading, lines))
    return await ask(True) if chosen == "receive" else None
