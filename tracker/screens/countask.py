"""A count that cannot be as it stands: the questions whether the pieces are to be received with it, or are so many."""

from __future__ import annotations

from collections.abc import Awaitable, Callable

from tracker.book.views import Recorded
from tracker.errors import RefusedError
from tracker.screens.choice import steps
from tracker.screens.desk import Desk


async def with_receipt(desk: Desk, ask: Callable[[bool, bool], Awaitable[Recorded]]) -> Recorded | None:
    """Record by ``ask(False, False)``; where more was counted than has come, ask, and on a yes receive it by ``ask(True, far)``.

    ``far`` says that far more were counted than are due: the question then stands on no. None when the count is to be looked at again. Raises what ``ask`` raises.
    """
    from tracker.book.counted import CountsApartError

    try:
        return await ask(False, False)
    except CountsApartError as error:
        if not error.more:
            raise
        heading, far = f"{error.message}. Has it come?", error.far
    lines = [
        ("receive", "yes: receive what was counted, together with the reading"),
        ("again", "no: count again; what is typed stays"),
    ]
    chosen = await desk.push_screen_wait(steps(heading, lines[::-1] if far else lines))
    return await ask(True, far) if chosen == "receive" else None


async def so_many(desk: Desk, ask: Callable[[bool], Awaitable[Recorded]]) -> Recorded:
    """Record by ``ask(False)``; where that is far more than is due or needed, ask, and on a yes record by ``ask(True)``.

    Raises RefusedError when the count is to be looked at again, and what ``ask`` raises.
    """
    from tracker.book.views import FarMoreError

    try:
        return await ask(False)
    except FarMoreError as error:
        message = error.message
    lines = [("again", "no: look at the count again; what is typed stays"), ("yes", "yes: that many, on purpose")]
    chosen = await desk.push_screen_wait(steps(f"{message}. Is the count right?", lines))
    if chosen != "yes":
        raise RefusedError(message, "nothing was recorded; what you typed stays")
    return await ask(True)
