"""What a delivery check counts against what the lots say has come: the two are asked about, and then recorded as one."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from sqlmodel import Session

from tracker.book.entries import Draft, append
from tracker.book.hand import Hand
from tracker.book.lots import far_more, no_more_than_due
from tracker.book.state import JobState, LotState
from tracker.errors import RefusedError
from tracker.text import clean, listing
from tracker.trade.readings import Readings


@dataclass(frozen=True, slots=True)
class Apart:
    """A lot of which another number was counted than the book says has come."""

    lot: LotState
    counted: int

    @property
    def received(self) -> int:
        """The pieces that came, by the book."""
        return self.lot.fold.received

    @property
    def due(self) -> int:
        """The pieces still to come, by the book."""
        return self.lot.fold.on_order

    @property
    def says(self) -> str:
        """Both numbers in words, and how many are due where that is far fewer."""
        far = f", {self.due} still to come" if far_more(self.due, self.counted - self.received) else ""
        return f"lot {clean(self.lot.code)}: {self.counted} counted, {self.received} received{far}"


class CountsApartError(RefusedError):
    """Pieces were counted that nobody received, or fewer than were. Exit 1.

    ``more`` says that all differences are pieces to be received: recording again with ``book_in`` settles them; ``far`` that
    far more were counted than are due of one of them.
    """

    def __init__(self, code: str, apart: Sequence[Apart]) -> None:
        self.apart = tuple(apart)
        self.more = all(one.counted > one.received for one in apart)
        self.far = any(far_more(one.due, one.counted - one.received) for one in self.apart)
        hints: list[str] = []
        if to_come := [one for one in apart if one.counted > one.received]:
            each = " ".join(f"{clean(one.lot.code)} {one.counted - one.received}" for one in to_come)
            hints.append(
                "count again; if that many did come: the same again with --receive --anyway"
                if self.far
                else f"book in what was counted: the same again with --receive, or deckjobs receive {code} {each} first"
            )
        if gone := [clean(one.lot.code) for one in apart if one.counted < one.received]:
            hints.append(
                f"count {listing(gone, 'and')} again, culls and all; if fewer came than were received, put the receipt right:"
                f" deckjobs history {code} has its number, deckjobs correct {code} NUMBER COUNT --reason TEXT"
            )
        super().__init__("; ".join(one.says for one in apart), "; ".join(hints))


def counts_apart(state: JobState, readings: Readings, only: Collection[str] | None = None) -> tuple[Apart, ...]:
    """The lots (``only`` those, when given) whose count is not what the book says has come."""
    found: list[Apart] = []
    for lot in state.lots:
        counted = readings.rows.get(lot.code, {}).get("count")
        if isinstance(counted, int) and counted != lot.fold.received and (only is None or lot.code in only):
            found.append(Apart(lot, counted))
    return tuple(found)


def book_in(
    session: Session, hand: Hand, state: JobState, apart: Sequence[Apart], *, anyway: bool = False
) -> tuple[str, ...]:
    """Receive what was counted beyond what had come, in the caller's transaction; gives back what to tell.

    Raises CountsApartError when fewer pieces were counted than were received: no receipt can say that; FarMoreError for
    far more than are due, unless they are received ``anyway``.
    """
    if any(one.counted < one.received for one in apart):
        raise CountsApartError(state.facts.code, [one for one in apart if one.counted < one.received])
    if not anyway:
        for one in apart:
            no_more_than_due(one.lot, one.counted - one.received)
    said: list[str] = []
    for one in apart:
        more = one.counted - one.received
        draft = Draft("movement", {"move": "received"}, job_id=state.facts.id, lot_id=one.lot.id, qty=more)
        append(session, hand, draft)
        said.append(f"lot {clean(one.lot.code)}: {more} booked in with the count")
        if one.counted > one.lot.fold.ordered:
            said.append(f"lot {clean(one.lot.code)}: that is {one.counted - one.lot.fold.ordered} more than ordered")
    return tuple(said)
