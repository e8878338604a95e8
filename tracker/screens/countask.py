"""What cannot be as it stands, and the questions about it: whether pieces are to be received with a count, whether what is odd is
meant (so many, another payment, work not begun); and a form that says something else than what was recorded from it.
"""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from typing import TypeVar

from tracker.book.views import IdUsedError, Recorded
from tracker.errors import ConflictError, RefusedError
from tracker.screens.choice import steps
from tracker.screens.clears import by_keys
from tracker.screens.desk import Desk

T = TypeVar("T")


class NotMeantError(RefusedError):
    """The person said no: what was typed is to be looked at again."""


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
        heading, far = f"{by_keys(error.message)}. Has it come?", error.far
    lines = [
        ("receive", "yes: receive what was counted, together with the reading"),
        ("again", "no: count again; what is typed stays"),
    ]
    chosen = await desk.push_screen_wait(steps(heading, lines[::-1] if far else lines))
    return await ask(True, far) if chosen == "receive" else None


def other_now(error: IdUsedError) -> ConflictError:
    """What a form says whose save got no answer and was changed since: what is recorded, and how to record the other too."""
    return ConflictError(
        f"recorded from here already: {error.stands}; what stands here now is another: {error.sent}",
        "nothing was written now; save again to record it too, or leave",
    )


async def on_purpose(desk: Desk, ask: Callable[[bool], Awaitable[T]]) -> T:
    """Record by ``ask(False)``; where that is asked about (far more than is due, a design that fails, the same payment again),
    ask, and on a yes record by ``ask(True)``.

    Raises NotMeantError when the answer is no, and what ``ask`` raises.
    """
    from tracker.book.views import AskedError

    try:
        return await ask(False)
    except AskedError as error:
        message, question, lines = by_keys(error.message), error.question, [("again", error.no), ("yes", error.yes)]
    chosen = await desk.push_screen_wait(steps(f"{message}. {question}", lines))
    if chosen != "yes":
        raise NotMeantError(message, "nothing was recorded; what you typed stays")
    return await ask(True)
