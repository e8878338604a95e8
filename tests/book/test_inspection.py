"""Lots by their inspection: culls are nobody's boards until they went back, and one lot's fault is that lot's alone."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.book.conftest import DAY
from tracker.book.counted import CountsApartError
from tracker.book.gates import sign_off, start
from tracker.book.hand import Hand
from tracker.book.jobs import job_view
from tracker.book.lots import cancel, give_back, lots, needs, order, receive, scrap, use
from tracker.book.morning import morning
from tracker.book.offcuts import transfer
from tracker.book.opening import Book
from tracker.book.readings import record, waive
from tracker.book.receiving import inspect
from tracker.book.undoing import correct, undo
from tracker.book.views import CheckState, FarMoreError, LotView, PhaseState
from tracker.errors import InputError, RefusedError
from tracker.trade.answer import Verdict

Take = Callable[..., str]
GOOD = ["stamp=yes", "tag=UC4A"]


def lot_of(book: Book, code: str, lot: str) -> LotView:
    return next(found for found in lots(book, code, DAY) if found.code == lot)


def bought(book: Book, hand: Hand, code: str, item: str, number: int, lot: str, came: int | None = None) -> None:
    order(book, hand, code, item, number, lot=lot, anyway=True)
    receive(book, hand, code, lot, number if came is None else came)


def to_buy(book: Book, code: str, item: str) -> int:
    return sum(need.to_buy for need in needs(book, DAY, [code]) if need.item == item)


def test_three_culls_of_nine_leave_six_until_they_went_back_and_three_are_to_get(
    book: Book, hand: Hand, take: Take
) -> None:
    code = take()
    # Nine bays 16 in apart: the whole order is needed, whatever else the job has.
    bought(book, hand, code, "2x6x14", 9, "J1")
    before = to_buy(book, code, "2x6x14")
    done = inspect(book, hand, code, "J1", ["count=9", *GOOD, "culls=3"])
    assert done.answer is not None and done.answer.verdict is Verdict.FAILED
    assert done.answer.headline == "J1 2x6x14: 3 short"
    lot = lot_of(book, code, "J1")
    assert (lot.on_hand, lot.culls, lot.usable) == (9, 3, 6)
    assert to_buy(book, code, "2x6x14") == before + 3
    assert f"send 3 back, 6 fit to use; get {before + 3} more of 2x6x14" in done.notices
    with pytest.raises(RefusedError, match="lot J1 has 6 fit to use, not 7: 3 culls to send back"):
        use(book, hand, code, "J1", 7)
    use(book, hand, code, "J1", 6)
    with pytest.raises(RefusedError, match="0 fit to use, not 1"):
        use(book, hand, code, "J1", 1)
    give_back(book, hand, code, "J1", 2)
    assert (lot_of(book, code, "J1").on_hand, lot_of(book, code, "J1").culls) == (1, 1)
    scrap(book, hand, code, "J1", 1)
    assert lot_of(book, code, "J1").culls == 0
    assert to_buy(book, code, "2x6x14") == before + 3


def test_culls_are_no_stock_of_another_job(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    other = take(code="26-102", title="Second Plover platform")
    bought(book, hand, code, "2x6x14", 9, "J1")
    inspect(book, hand, code, "J1", ["count=9", *GOOD, "culls=3"])
    with pytest.raises(RefusedError, match="6 fit to use, not 7"):
        transfer(book, hand, code, "J1", 7, other)
    transfer(book, hand, code, "J1", 6, other)


def test_culls_replaced_on_the_same_lot_are_whole_again(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    bought(book, hand, code, "2x6x14", 9, "J1")
    inspect(book, hand, code, "J1", ["count=9", *GOOD, "culls=3"])
    give_back(book, hand, code, "J1", 3)
    order(book, hand, code, "2x6x14", 3, lot="J1", anyway=True)
    receive(book, hand, code, "J1", 3)
    done = inspect(book, hand, code, "J1", ["count=12"])
    assert done.answer is not None and done.answer.verdict is Verdict.PASSED, done.text
    assert (lot_of(book, code, "J1").usable, lot_of(book, code, "J1").culls) == (9, 0)


def test_a_lot_of_the_wrong_treatment_is_bought_anew_until_that_is_waived(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    bought(book, hand, code, "2x6x14", 9, "J1")
    before = to_buy(book, code, "2x6x14")
    inspect(book, hand, code, "J1", ["count=9", "stamp=yes", "tag=UC3B"])
    assert (lot_of(book, code, "J1").usable, to_buy(book, code, "2x6x14")) == (0, before + 9)
    waive(book, hand, code, "delivery", "only for the blocking, under cover")
    assert (lot_of(book, code, "J1").usable, to_buy(book, code, "2x6x14")) == (9, before)


def short_and_waived(book: Book, hand: Hand, code: str) -> None:
    """A delivery a block short, which was let pass and signed off."""
    bought(book, hand, code, "block", 20, "B1", came=19)
    record(book, hand, code, "delivery", ["B1.count=19"])
    waive(book, hand, code, "delivery", "one block to spare")
    for phase in ("visit", "design", "quote", "delivery"):
        for check in job_view(book, code, DAY).phase(phase).checks:
            if not check.settled:
                waive(book, hand, code, check.key, "not in this test")
        sign_off(book, hand, code, phase)


def delivery(book: Book, code: str) -> tuple[CheckState, PhaseState]:
    view = job_view(book, code, DAY)
    return view.check("delivery").state, view.phase("delivery").state


def test_a_late_lot_looked_at_does_not_undo_a_waived_and_signed_delivery(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    short_and_waived(book, hand, code)
    bought(book, hand, code, "2x6x14", 9, "J1")
    assert delivery(book, code) == (CheckState.WAIVED, PhaseState.SIGNED_OFF)
    good = inspect(book, hand, code, "J1", ["count=9", *GOOD])
    assert good.answer is not None and good.answer.verdict is Verdict.PASSED
    assert not any("undoes" in notice for notice in good.notices)
    assert delivery(book, code) == (CheckState.WAIVED, PhaseState.SIGNED_OFF)


def test_a_late_lot_that_fails_is_not_used_and_fails_alone(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    short_and_waived(book, hand, code)
    bought(book, hand, code, "2x6x14", 9, "J1")
    bad = inspect(book, hand, code, "J1", ["count=9", "stamp=no", "tag=UC4A"])
    assert bad.answer is not None and bad.answer.verdict is Verdict.FAILED
    assert bad.answer.headline == "J1: no grade stamp"  # not the block that was let pass
    assert not any("undoes" in notice for notice in bad.notices)
    assert delivery(book, code) == (CheckState.WAIVED, PhaseState.SIGNED_OFF)
    with pytest.raises(RefusedError, match="lot J1 failed its delivery check"):
        use(book, hand, code, "J1", 1)
    use(book, hand, code, "B1", 19)
    waive(book, hand, code, "delivery", "graded by the yard's inspector since")
    use(book, hand, code, "J1", 9)


def test_a_lot_of_the_signed_delivery_that_fails_later_undoes_it(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    short_and_waived(book, hand, code)
    done = inspect(book, hand, code, "B1", ["count=19", "culls=2"])  # 3 short by now, 1 was let pass
    assert any("undoes the sign-off" in notice for notice in done.notices)
    assert delivery(book, code) == (CheckState.FAILED, PhaseState.UNDER_WAY)


def test_a_fault_that_was_mended_and_came_back_needs_a_waiver_of_its_own(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    start(book, hand, code, "visit")
    bought(book, hand, code, "2x6x14", 9, "J1")
    inspect(book, hand, code, "J1", ["count=9", "stamp=no", "tag=UC4A"])
    waive(book, hand, code, "delivery", "stamp seen on the bundle's tag")
    inspect(book, hand, code, "J1", ["stamp=yes"])
    inspect(book, hand, code, "J1", ["stamp=no"])
    assert job_view(book, code, DAY).check("delivery").state is CheckState.FAILED


def test_pieces_counted_that_nobody_received_are_asked_about_and_then_received_with_the_count(
    book: Book, hand: Hand, take: Take
) -> None:
    code = take()
    order(book, hand, code, "block", 13, lot="B1", anyway=True)
    with pytest.raises(CountsApartError, match="lot B1: 13 counted, 0 received") as asked:
        record(book, hand, code, "delivery", ["B1.count=13"])
    assert "--receive" in asked.value.hint and "deckjobs receive 26-101 B1 13" in asked.value.hint
    assert lot_of(book, code, "B1").received == 0 and not job_view(book, code, DAY).check("delivery").readings
    identity = "0190a000-0000-7000-8000-000000000002"
    for already in (False, True):
        done = record(book, hand, code, "delivery", ["B1.count=13"], entry_id=identity, receive=True)
        assert done.already is already
        assert (lot_of(book, code, "B1").received, lot_of(book, code, "B1").on_hand) == (13, 13)
    view = job_view(book, code, DAY)
    assert view.check("delivery").state is CheckState.PASSED


def test_a_count_far_beyond_what_is_due_is_booked_in_on_purpose_only(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    order(book, hand, code, "block", 19, lot="B1", anyway=True)
    with pytest.raises(CountsApartError, match="1719 counted, 0 received, 19 still to come") as asked:
        record(book, hand, code, "delivery", ["B1.count=1719"])
    assert asked.value.far and "--receive --anyway" in asked.value.hint
    with pytest.raises(FarMoreError, match="lot B1 has 19 still to come, not 1719 block"):
        record(book, hand, code, "delivery", ["B1.count=1719"], receive=True)
    with pytest.raises(FarMoreError):
        inspect(book, hand, code, "B1", ["count=1719"], receive=True)
    assert lot_of(book, code, "B1").received == 0 and not job_view(book, code, DAY).check("delivery").readings
    with pytest.raises(CountsApartError) as near:
        record(book, hand, code, "delivery", ["B1.count=20"])
    assert not near.value.far
    record(book, hand, code, "delivery", ["B1.count=20"], receive=True)
    record(book, hand, code, "delivery", ["B1.count=57"], receive=True, anyway=True)
    assert lot_of(book, code, "B1").received == 57


def test_fewer_counted_than_received_is_asked_about_and_never_stored(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    bought(book, hand, code, "block", 13, "B1")
    for receive_too in (False, True):
        with pytest.raises(CountsApartError, match="lot B1: 12 counted, 13 received") as asked:
            inspect(book, hand, code, "B1", ["count=12"], receive=receive_too)
        assert "count B1 again" in asked.value.hint and "deckjobs correct 26-101" in asked.value.hint
    assert not job_view(book, code, DAY).check("delivery").readings


def test_a_lot_looked_at_asks_of_its_own_count_only(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    bought(book, hand, code, "block", 20, "B1", came=12)
    inspect(book, hand, code, "B1", ["count=12"])
    receive(book, hand, code, "B1", 8)
    order(book, hand, code, "cloth", 1, lot="C1", anyway=True)
    done = inspect(book, hand, code, "C1", ["count=1"], receive=True)
    assert "lot C1: 1 booked in with the count" in done.notices
    assert lot_of(book, code, "B1").received == 20


def test_a_lot_whose_order_was_taken_back_is_ordered_anew_under_its_code(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    done = order(book, hand, code, "block", 8, lot="B1", anyway=True)
    undo(book, hand, code, done.id, "typed on the wrong job")
    order(book, hand, code, "block", 6, lot="B1", anyway=True)
    assert lot_of(book, code, "B1").ordered == 6


def test_what_is_built_in_is_no_cull(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    bought(book, hand, code, "block", 12, "B1")
    use(book, hand, code, "B1", 10)
    with pytest.raises(InputError, match="B1: 3 culls cannot be right: 10 of 12 are built in, 9 would be fit"):
        inspect(book, hand, code, "B1", ["count=12", "culls=3"])
    inspect(book, hand, code, "B1", ["count=12", "culls=2"])


def test_a_lot_canceled_before_anything_came_is_out_of_the_check(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    order(book, hand, code, "2x6x14", 9, lot="J1", anyway=True)
    bought(book, hand, code, "2x6x14", 9, "J2")
    assert inspect(book, hand, code, "J1", ["count=0"]).answer is not None
    # What was read of it before goes with it, and the verdict is on the lots that are left.
    canceled = cancel(book, hand, code, "J1", 9, "sold out")
    delivery = job_view(book, code, DAY).check("delivery")
    assert delivery.state is CheckState.OPEN and "J1" not in delivery.headline
    assert inspect(book, hand, code, "J2", ["count=9", *GOOD]).answer is not None
    assert job_view(book, code, DAY).check("delivery").state is CheckState.PASSED
    with pytest.raises(RefusedError, match="lot J1 has nothing to look at: nothing of it is ordered or here"):
        inspect(book, hand, code, "J1", ["count=0"])
    # The order stands again once the cancellation is taken back: then the lot is to be looked at.
    undo(book, hand, code, canceled.id, "they have some after all")
    assert inspect(book, hand, code, "J2", ["count=9"]).answer is not None
    assert "J1" in job_view(book, code, DAY).check("delivery").headline


def test_a_reading_that_waits_only_for_a_canceled_lot_has_passed(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    bought(book, hand, code, "2x6x14", 9, "J1")
    order(book, hand, code, "2x6x14", 9, lot="J2", anyway=True)
    order(book, hand, code, "2x6x12", 9, lot="J3", anyway=True)
    receive(book, hand, code, "J3", 4)
    named = ["J1.count=9", "J2.count=0", "J3.count=4"]
    record(book, hand, code, "delivery", [*named, *(f"{lot}.{text}" for lot in ("J1", "J2", "J3") for text in GOOD)])
    assert job_view(book, code, DAY).check("delivery").headline == "J2 2x6x14: 9 short; J3 2x6x12: 5 short"
    cancel(book, hand, code, "J2", 9, "sold out")
    cancel(book, hand, code, "J3", 3, "sold out")
    delivery = job_view(book, code, DAY).check("delivery")
    assert (delivery.state, delivery.headline) == (CheckState.FAILED, "J3 2x6x12: 2 short")
    assert delivery.answer is not None and delivery.answer.moves == ("get 2 more of 2x6x12 (J3)",)
    cancel(book, hand, code, "J3", 2, "sold out")
    delivery = job_view(book, code, DAY).check("delivery")
    assert (delivery.state, delivery.headline) == (CheckState.PASSED, "2 lots good: the rest of the order is canceled")


def test_pieces_that_came_since_the_count_are_to_be_counted_not_bought(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    bought(book, hand, code, "2x6x14", 9, "J1", came=4)
    inspect(book, hand, code, "J1", ["count=4", *GOOD])
    receive(book, hand, code, "J1", 2)
    delivery = job_view(book, code, DAY).check("delivery")
    assert delivery.answer is not None
    assert delivery.headline == "J1 2x6x14: 3 short, 2 came since the count"
    assert delivery.answer.moves == ("read Delivery again: count J1", "get 3 more of 2x6x14 (J1)")
    receive(book, hand, code, "J1", 3)
    delivery = job_view(book, code, DAY).check("delivery")
    assert delivery.answer is not None
    assert (delivery.state, delivery.headline) == (CheckState.FAILED, "J1 2x6x14: 5 came since the count")
    assert delivery.answer.moves == ("read Delivery again: count J1",)
    (told,) = (need for need in morning(book, DAY).needs if need.what == "Delivery")
    assert (told.why, told.do) == ("J1 2x6x14: 5 came since the count", "read Delivery again: count J1")
    inspect(book, hand, code, "J1", ["count=9"])
    assert job_view(book, code, DAY).check("delivery").state is CheckState.PASSED


def test_culls_that_went_back_are_not_told_as_to_send_back(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    order(book, hand, code, "block", 9, lot="B1", anyway=True)
    receive(book, hand, code, "B1", 12, anyway=True)
    inspect(book, hand, code, "B1", ["count=12", "culls=3"])
    assert job_view(book, code, DAY).check("delivery").headline == "1 lot complete, 3 to send back"
    give_back(book, hand, code, "B1", 2)
    check = job_view(book, code, DAY).check("delivery")
    assert check.answer is not None and check.state is CheckState.PASSED
    assert check.headline == "1 lot complete, 1 to send back"
    assert any(move.startswith("send 1 cull of B1 back;") for move in check.answer.moves)
    give_back(book, hand, code, "B1", 1)
    check = job_view(book, code, DAY).check("delivery")
    assert check.answer is not None and check.headline == "1 lot complete, 0 to send back"
    assert not any("back;" in move for move in check.answer.moves)


def test_a_receipt_put_right_below_the_count_asks_for_the_count_again(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    order(book, hand, code, "block", 19, lot="B1", anyway=True)
    came = receive(book, hand, code, "B1", 1719, anyway=True)
    inspect(book, hand, code, "B1", ["count=1719"])
    correct(book, hand, code, came.id, 19, "typed after the 17")
    check = job_view(book, code, DAY).check("delivery")
    assert check.state is CheckState.OPEN and "B1 count" in check.headline
    inspect(book, hand, code, "B1", ["count=19"])
    assert job_view(book, code, DAY).check("delivery").state is CheckState.PASSED
