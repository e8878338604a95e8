"""What a phase took of the lots: the take-off is the suggestion, what is on hand and fit the limit, the sign-off books it."""

from __future__ import annotations

import shlex
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from sqlmodel import Session

from tracker.book.entries import Draft, append
from tracker.book.hand import Hand
from tracker.book.state import JobState
from tracker.book.stock import Share, shares_of, units_of
from tracker.book.views import CheckState, FarMoreError
from tracker.errors import InputError, RefusedError
from tracker.text import clean, count, listing, near
from tracker.trade.checks.boards import BOARD_LAYOUT
from tracker.trade.takeoff import DECK_BOARD

MOST = 100_000


@dataclass(frozen=True, slots=True)
class PhaseUse:
    """An item a phase takes of the job's lots: ``need`` by the take-off, ``booked`` as used for it already.

    ``usable`` pieces are on hand and fit, ``on_order`` still to come. ``spare`` of the need are for culls; ``counted`` are the
    pieces a check of the phase counted in place, None where none did.
    """

    item: str
    unit: str
    need: int
    booked: int
    usable: int
    on_order: int
    spare: int = 0
    counted: int | None = None

    @property
    def suggested(self) -> int:
        """The pieces still to be booked: as a check counted them, else as the take-off says."""
        return max((self.need if self.counted is None else self.counted) - self.booked, 0)

    def contradicted(self, given: int) -> str:
        """What speaks against ``given`` more pieces of it, in words; empty when nothing does.

        Where a check counted them that is any other number; else more or fewer than the take-off says by over its spares.
        All that is on hand may be less: the rest never came by the lots.
        """
        total, item = self.booked + given, clean(self.item)
        if self.counted is not None:
            return f"{total} of {item} used where {self.counted} were counted in place" if total != self.counted else ""
        few = total < self.need - self.spare and given < self.usable
        if self.unit not in ("board", "piece") or not (few or total > self.need + self.spare):
            return ""
        return f"{total} of {item} used where the take-off says {self.need}"

    @property
    def there(self) -> bool:
        """Whether that many are on hand and fit."""
        return self.suggested <= self.usable


class UsesAskedError(RefusedError):
    """A sign-off needs to be told what the phase used: ``uses`` are the items with what the take-off suggests. Exit 1."""

    def __init__(self, state: JobState, phase: str, uses: Sequence[PhaseUse]) -> None:
        self.uses = tuple(uses)
        code, title = state.facts.code, state.phase_by_key[phase].title
        apart = [use for use in uses if not use.there]
        wants = [
            f"{count(use.suggested, use.unit)} of {clean(use.item)}, and {use.usable} {'is' if use.usable == 1 else 'are'}"
            f" on hand fit to use{f', {use.on_order} to come' if use.on_order else ''}"
            for use in apart or uses
        ]
        said = " ".join(f"--used {shlex.quote(f'{clean(use.item)}={use.usable}')}" for use in apart)
        super().__init__(
            f"{title} of {code} takes {'; '.join(wants)}",
            f"receive what has come (deckjobs receive {code} LOT COUNT), or say what was used: deckjobs signoff {code}"
            f" {phase} {said}",
        )


def uses_of(state: JobState, phase: str) -> tuple[PhaseUse, ...]:
    """The items a phase takes of which the job has lots; those nobody ordered or brought are not counted in lots at all."""
    found: list[PhaseUse] = []
    for share in shares_of(state):
        lots = [lot for lot in state.lots if lot.item == share.item]
        if share.phase == phase and lots:
            usable = sum(lot.fold.usable for lot in lots if not lot.unfit)
            on_order = sum(lot.fold.on_order for lot in lots)
            spare, counted = _spare(state, share), _counted(state, share)
            found.append(PhaseUse(share.item, share.unit, share.need, share.used, usable, on_order, spare, counted))
    return tuple(found)


def _spare(state: JobState, share: Share) -> int:
    """How many of the pieces needed are spares: the house's share of them, up; goods that are no boards have none."""
    if share.unit != "board":
        return 0
    rule = "waste_boards" if share.phase == "boards" else "culls_framing"
    return -(-share.need * state.file.spec.rules.figure(rule) // 1000)


def _counted(state: JobState, share: Share) -> int | None:
    """The deck boards counted in place by the check that read the run home; None where boards are not counted one by one."""
    checks = [check for check in state.checks if check.phase == share.phase and check.check.key == BOARD_LAYOUT.key]
    pieces = [piece for line in share.lines for piece in line.pieces]
    cut = sum(piece.quantity for piece in pieces)
    if len(checks) != 1 or cut != share.need or len({piece.length_nm for piece in pieces}) != 1:
        return None
    fold = state.check_folds[checks[0].key]
    if state.check_states[checks[0].key] is not CheckState.PASSED or fold.last is None:
        return None
    told = fold.last.answer.answer
    laid, planned = told.get("laid"), sum(piece.quantity for piece in pieces if piece.what == DECK_BOARD)
    one_each = isinstance(laid, int) and abs(laid - planned) <= share.need - planned
    return laid if isinstance(laid, int) and one_each and told.get("boards_to_go") == 0 else None


def settle_uses(
    state: JobState,
    phase: str,
    used: Mapping[str, int] | None,
    *,
    asks: bool = False,
    as_there: bool = False,
    anyway: bool = False,
) -> Mapping[str, int]:
    """How many pieces of each item a sign-off books as used now: those ``used`` names, the take-off's for the rest.

    With ``asks`` the suggestion is not taken unasked; ``as_there`` takes what is there where that is less. Raises
    UsesAskedError when the person has to say, FarMoreError for a number that the checks or the take-off contradict, unless it
    is meant ``anyway``, InputError for an item without lots, RefusedError for more than is fit to use.
    """
    uses = {use.item: use for use in uses_of(state, phase)}
    given = dict(used or {})
    usable: dict[str, int] = {}
    for lot in state.lots:
        usable[lot.item] = usable.get(lot.item, 0) + (0 if lot.unfit else lot.fold.usable)
    for item, number in given.items():
        if item not in usable:
            hint = f"its lots are of {listing(sorted(usable), 'and')}" if usable else "it has no lots: leave --used out"
            raise InputError(f"{state.facts.code} has no lot of {clean(item)}{near(item, list(usable))}", hint)
        if not 0 <= number <= MOST:
            raise InputError(f"{number} is not a number of pieces", f"give a whole number from 0 to {MOST}")
        if number > usable[item]:
            raise RefusedError(
                f"{clean(item)}: {usable[item]} on hand fit to use, not {number}",
                f"receive what has come first: deckjobs receive {state.facts.code} LOT COUNT",
            )
    against = [told for item, number in given.items() if item in uses and (told := uses[item].contradicted(number))]
    if against and not anyway:
        raise FarMoreError("; ".join(against), "look at the count again; if it is right, say so with --anyway")
    open_uses = [use for use in uses.values() if use.item not in given and use.suggested]
    if asks and used is None and open_uses:
        raise UsesAskedError(state, phase, open_uses)
    if not as_there and any(not use.there for use in open_uses):
        raise UsesAskedError(state, phase, open_uses)
    taken = given | {use.item: min(use.suggested, use.usable) for use in open_uses}
    return {item: number for item, number in taken.items() if number}


def book_uses(
    session: Session, hand: Hand, state: JobState, phase: str, taken: Mapping[str, int], signed_by: str
) -> tuple[str, ...]:
    """Write the uses of a sign-off (the entry ``signed_by``), oldest lots first; gives back what to tell."""
    units = units_of(state)
    for item, number in taken.items():
        left = number
        for lot in state.lots:
            part = 0 if lot.item != item or lot.unfit else min(left, lot.fold.usable)
            if part:
                body = {"move": "used", "phase": phase, "with": signed_by}
                append(session, hand, Draft("movement", body, job_id=state.facts.id, lot_id=lot.id, qty=part))
                left -= part
        assert left == 0, "settle_uses allows no more than there is"
    said = [f"{count(number, units.get(item, 'piece'))} of {clean(item)}" for item, number in taken.items()]
    return (f"booked as used: {listing(said, 'and')}",) if said else ()
