"""What a phase used is booked with its sign-off: the take-off is suggested, what is on hand and fit is the most."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.book.conftest import DAY
from tests.book.test_inspection import bought, lot_of
from tracker.book.gates import sign_off
from tracker.book.hand import Hand
from tracker.book.history import history
from tracker.book.jobs import job_view
from tracker.book.lots import needs, order, receive, use
from tracker.book.opening import Book
from tracker.book.readings import record, waive
from tracker.book.receiving import inspect
from tracker.book.undoing import undo
from tracker.book.uses import UsesAskedError
from tracker.book.views import FarMoreError, NeedView, PhaseState
from tracker.errors import InputError, RefusedError
from tracker.trade.answer import Verdict

Take = Callable[..., str]


def signed_up_to(book: Book, hand: Hand, code: str, last: str) -> None:
    """Every phase before ``last`` signed off, its checks waived; those of ``last`` waived too."""
    for phase in job_view(book, code, DAY).phases:
        for check in phase.checks:
            if not check.settled:
                waive(book, hand, code, check.key, "not measured in this test")
        if phase.key == last:
            return
        sign_off(book, hand, code, phase.key)


def need_of(book: Book, code: str, item: str) -> NeedView:
    return next(need for need in needs(book, DAY, [code]) if need.item == item)


def phase_of(book: Book, code: str, key: str) -> PhaseState:
    return job_view(book, code, DAY).phase(key).state


def test_a_sign_off_books_what_the_take_off_says_and_tells(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    need = need_of(book, code, "block")
    bought(book, hand, code, "block", need.need + 2, "B1")
    signed_up_to(book, hand, code, need.phase)
    use(book, hand, code, "B1", 3)
    done = sign_off(book, hand, code, need.phase)
    assert f"booked as used: {need.need - 3} pieces of block" in done.notices
    lot = lot_of(book, code, "B1")
    assert (lot.used, lot.on_hand) == (need.need, 2)


def test_all_laid_with_seventeen_of_them_here_is_asked_about_not_stored(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    need = need_of(book, code, "block")
    bought(book, hand, code, "block", need.need, "B1", came=5)
    signed_up_to(book, hand, code, need.phase)
    with pytest.raises(UsesAskedError) as asked:
        sign_off(book, hand, code, need.phase)
    assert (
        f"takes {need.need} pieces of block, and 5 are on hand fit to use, {need.need - 5} to come"
        in asked.value.message
    )
    assert "deckjobs receive 26-101 LOT COUNT" in asked.value.hint and "--used block=5" in asked.value.hint
    assert phase_of(book, code, need.phase) is not PhaseState.SIGNED_OFF and lot_of(book, code, "B1").used == 0
    with pytest.raises(RefusedError, match=f"block: 5 on hand fit to use, not {need.need}"):
        sign_off(book, hand, code, need.phase, used={"block": need.need})
    sign_off(book, hand, code, need.phase, used={"block": 5})
    assert phase_of(book, code, need.phase) is PhaseState.SIGNED_OFF and lot_of(book, code, "B1").used == 5


def test_what_is_left_of_a_signed_phase_is_there_for_the_next(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    need = need_of(book, code, "block")
    bought(book, hand, code, "block", need.need, "B1")
    signed_up_to(book, hand, code, need.phase)
    sign_off(book, hand, code, need.phase, used={"block": need.need - 4}, anyway=True)
    assert lot_of(book, code, "B1").on_hand == 4
    assert not [left for left in needs(book, DAY, [code]) if left.item == "block"]


def test_culls_are_not_signed_off_as_used(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    need = need_of(book, code, "block")
    bought(book, hand, code, "block", need.need, "B1")
    signed_up_to(book, hand, code, need.phase)
    inspect(book, hand, code, "B1", [f"count={need.need}", "culls=2"])
    waive(book, hand, code, "delivery", "two blocks chipped, replaced on Thursday")
    if phase_of(book, code, "delivery") is not PhaseState.SIGNED_OFF:
        sign_off(book, hand, code, "delivery")
    with pytest.raises(UsesAskedError, match=f"{need.need - 2} are on hand fit to use"):
        sign_off(book, hand, code, need.phase)


def test_items_nobody_keeps_lots_of_are_not_asked_about(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    need = need_of(book, code, "block")
    signed_up_to(book, hand, code, need.phase)
    with pytest.raises(InputError, match="26-101 has no lot of block"):
        sign_off(book, hand, code, need.phase, used={"block": 1})
    assert sign_off(book, hand, code, need.phase).notices == ()


def test_a_sign_off_taken_back_gives_its_pieces_back(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    need = need_of(book, code, "block")
    bought(book, hand, code, "block", need.need, "B1")
    signed_up_to(book, hand, code, need.phase)
    done = sign_off(book, hand, code, need.phase)
    assert lot_of(book, code, "B1").used == need.need
    undo(book, hand, code, done.id, "signed on the wrong job")
    assert lot_of(book, code, "B1").used == 0 and need_of(book, code, "block").used == 0
    taken_back = [line.corrects for line in history(book, code).lines if line.takes_back]
    assert len(taken_back) == len(set(taken_back))  # each entry once
    sign_off(book, hand, code, need.phase)
    assert lot_of(book, code, "B1").used == need.need


def test_a_screen_asks_before_it_books(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    need = need_of(book, code, "block")
    order(book, hand, code, "block", need.need, lot="B1", anyway=True)
    receive(book, hand, code, "B1", need.need)
    signed_up_to(book, hand, code, need.phase)
    with pytest.raises(UsesAskedError) as asked:
        sign_off(book, hand, code, need.phase, asks=True)
    assert [(one.item, one.suggested, one.there) for one in asked.value.uses] == [("block", need.need, True)]
    sign_off(book, hand, code, need.phase, asks=True, used={"block": need.need})


def test_a_count_that_the_check_just_read_contradicts_is_booked_on_purpose_only(
    book: Book, hand: Hand, take: Take
) -> None:
    code = take()
    need = next(one for one in needs(book, DAY, [code]) if one.phase == "boards" and one.unit == "board")
    bought(book, hand, code, need.item, need.need, "D1")
    signed_up_to(book, hand, code, "boards")
    # 13' of boards 5-1/2 in wide laid touching: 156 / 5.5 = 28.4, so 29; 31 with 5 % spare, up.
    laid = 29
    assert need.need == 31
    reading = record(book, hand, code, "board-layout", [f"laid={laid}", "left=0", "right=0"])
    assert reading.answer is not None and reading.answer.verdict is Verdict.PASSED
    for wrong in (12, 30, need.need):
        with pytest.raises(
            FarMoreError, match=f"{wrong} of {need.item} used where {laid} were counted in place"
        ) as asked:
            sign_off(book, hand, code, "boards", used={need.item: wrong})
        assert "--anyway" in asked.value.hint
    assert lot_of(book, code, "D1").used == 0
    sign_off(book, hand, code, "boards")
    assert (lot_of(book, code, "D1").used, lot_of(book, code, "D1").on_hand) == (laid, need.need - laid)


def test_a_count_far_from_the_take_off_is_booked_on_purpose_only(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    need = need_of(book, code, "block")
    bought(book, hand, code, "block", need.need + 9, "B1")
    signed_up_to(book, hand, code, need.phase)
    for wrong in (need.need - 4, need.need + 4):
        with pytest.raises(FarMoreError, match=f"{wrong} of block used where the take-off says {need.need}"):
            sign_off(book, hand, code, need.phase, used={"block": wrong})
    sign_off(book, hand, code, need.phase, used={"block": need.need - 4}, anyway=True)
    assert lot_of(book, code, "B1").used == need.need - 4
