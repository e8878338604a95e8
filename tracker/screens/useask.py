"""What a phase used, asked when it is signed off: each item with the take-off's number in its field."""

from __future__ import annotations

from collections.abc import Callable, Coroutine, Mapping, Sequence
from functools import partial
from typing import TYPE_CHECKING, Any

from tracker.book.views import Recorded
from tracker.errors import InputError
from tracker.screens.asking import Blank, Blanks
from tracker.screens.countask import on_purpose
from tracker.text import clean, count
from tracker.trade.readings import parse_count

if TYPE_CHECKING:
    from tracker.book.uses import PhaseUse
    from tracker.screens.desk import Desk


def use_words(use: PhaseUse, text: str) -> str:
    """How a count of pieces used is understood; raises InputError for more than is fit to use."""
    number = parse_count(text, "a count")
    if number > use.usable:
        raise InputError(f"{use.usable} fit to use here")
    return f"= {count(number, use.unit)}"


def uses_question(
    heading: str,
    uses: Sequence[PhaseUse],
    act: Callable[[Mapping[str, int], str], Coroutine[Any, Any, Recorded]],
) -> Blanks[Recorded]:
    """Ask what was used of each item, then do ``act`` with the counts; a field left empty is none."""

    async def counted(texts: Mapping[str, str], entry: str) -> Recorded:
        given = {item: parse_count(text, "a count") for item, text in texts.items() if text.strip()}
        return await act({use.item: given.get(use.item, 0) for use in uses}, entry)

    blanks = [
        Blank(use.item, f"{clean(use.item)}, {use.usable} here", value=str(min(use.suggested, use.usable)),
              hint="none", read=partial(use_words, use))
        for use in uses
    ]  # fmt: skip
    short = [use for use in uses if not use.there]
    said = "As the take-off says, less what was booked before; type what was really built in."
    if short:
        said = "; ".join(f"the take-off says {use.suggested} {clean(use.item)}, {use.usable} here" for use in short)
        said += ". Escape and receive what has come, or type what was built in."
    return Blanks(heading, blanks, counted, help_text=said)


async def with_uses(
    desk: Desk,
    heading: str,
    sign: Callable[[Mapping[str, int] | None, str | None, bool], Coroutine[Any, Any, Recorded]],
) -> Recorded | None:
    """Sign off by ``sign(None, None, False)``; where the book asks what was used, ask and sign off with the answer.

    A count that the checks contradict is asked about, the question standing on no.

    None when the question was left. Raises what ``sign`` raises.
    """
    from tracker.book.uses import UsesAskedError

    try:
        return await sign(None, None, False)
    except UsesAskedError as error:
        uses = error.uses

    async def act(used: Mapping[str, int], entry: str) -> Recorded:
        return await on_purpose(desk, lambda anyway: sign(used, entry, anyway))

    return await desk.push_screen_wait(uses_question(heading, uses, act))
