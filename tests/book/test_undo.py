"""Taking any act back: a new entry beside it, the state from before again, and a plain refusal where something rests on it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

import pytest

from tests.book.conftest import DAY, hand_of
from tests.book.hourly import log_hours
from tracker.book.care import doctor
from tracker.book.days import add_day_off
from tracker.book.gates import hold, reopen, sign_off, start
from tracker.book.hand import Hand
from tracker.book.handover import handover
from tracker.book.history import history
from tracker.book.historyviews import HistoryLine
from tracker.book.ids import new_id
from tracker.book.jobs import add_note, job_lines, job_view
from tracker.book.lots import give_back, lots, order, receive, scrap, use
from tracker.book.offcuts import put_back, transfer
from tracker.book.opening import Book
from tracker.book.punch import add_punch, close_punch
from tracker.book.readings import record, waive
from tracker.book.sheet import day_sheet
from tracker.book.undoing import correct, foretold, undo
from tracker.book.views import CheckState, FarMoreError, LotView, PhaseState
from tracker.errors import ConflictError, InputError, RefusedError
from tracker.trade.lengths import Unit, parse_length

Take = Callable[..., str]
WHY = "typed on the wrong job"

# 11 ft by 13 ft has the diagonal 204.353 in, 17' 3/8" to the 1/16 in (Pythagoras); 1/2 in apart is out of square.
GOOD = ("width=11'", "depth=13'", "ac=17' 3/8", "bd=17' 3/8")
BAD = ("width=11'", "depth=13'", "ac=17' 5/8", "bd=17' 1/8")


def last(book: Book, code: str) -> HistoryLine:
    return history(book, code, DAY).lines[-1]


def lot(book: Book, code: str, name: str = "L1") -> LotView:
    return next(found for found in lots(book, code, DAY) if found.code == name)


def take_back(book: Book, hand: Hand, code: str, what: str) -> None:
    """Take the newest entry that says ``what`` and still counts back."""
    line = [line for line in history(book, code, DAY).lines if what in line.said and not line.standing][-1]
    undo(book, hand, code, str(line.number), WHY)


def test_an_order_taken_back_is_gone_from_the_counts_and_marked_in_the_history(
    book: Book, hand: Hand, take: Take
) -> None:
    code = take()
    before = job_view(book, code, DAY)
    order(book, hand, code, "block", 20, promised=DAY)
    done = undo(book, hand, code, "1", WHY)
    assert done.text == "entry 1 taken back: lot L1, block: 20 ordered, promised Tue 12 May"
    assert done.notices == ("lot L1 leaves the list: nothing of it is ordered or came",)
    assert job_view(book, code, DAY) == before
    first, second = history(book, code, DAY).lines
    assert (first.standing, first.taken_back_by, first.said) == (
        "taken back", second.id, "lot L1, block: 20 ordered, promised Tue 12 May",
    )  # fmt: skip
    assert second.said == f"entry 1 taken back (lot L1, block: 20 ordered, promised Tue 12 May): {WHY}"
    assert (second.corrects, second.reason) == (first.id, WHY)
    assert doctor(book.path).problems == ()


def test_what_was_received_and_used_holds_the_order_and_the_receipt(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    order(book, hand, code, "block", 20)
    receive(book, hand, code, "L1", 12)
    use(book, hand, code, "L1", 5)
    with pytest.raises(RefusedError, match="12 pieces of lot L1 of 26-101 have come of that order"):
        undo(book, hand, code, "1", WHY)
    with pytest.raises(RefusedError, match="would have had 0 pieces, and 5 of it are gone since") as refused:
        undo(book, hand, code, "2", WHY)
    assert "entry 3 (5 used)" in str(refused.value.hint)
    undo(book, hand, code, "3", WHY)
    undo(book, hand, code, "2", WHY)
    assert (lot(book, code).ordered, lot(book, code).received, lot(book, code).on_order) == (20, 0, 20)
    assert len(history(book, code, DAY).lines) == 5


@pytest.mark.parametrize("act", [use, give_back, scrap])
def test_pieces_that_left_are_back_on_hand(book: Book, hand: Hand, take: Take, act: Callable[..., object]) -> None:
    code = take()
    order(book, hand, code, "block", 20)
    receive(book, hand, code, "L1", 20)
    before = job_view(book, code, DAY)
    act(book, hand, code, "L1", 3)
    undo(book, hand, code, "3", WHY)
    assert job_view(book, code, DAY) == before


def test_offcuts_hold_the_boards_they_were_cut_from(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    order(book, hand, code, "2x8x12", 4, anyway=True)
    receive(book, hand, code, "L1", 4)
    use(book, hand, code, "L1", 4)
    put_back(book, hand, code, "L1", parse_length("5'", Unit.INCH), 2)
    with pytest.raises(RefusedError, match="2 offcuts of lot L1 of 26-101 were put back to stock"):
        undo(book, hand, code, "3", WHY)
    undo(book, hand, code, "4", WHY)
    undo(book, hand, code, "3", WHY)
    assert [found.code for found in lots(book, code, DAY)] == ["L1"]


def test_a_transfer_is_taken_back_on_both_sides_at_once(book: Book, hand: Hand, take: Take) -> None:
    code, other = take(), take(code="26-102")
    order(book, hand, code, "block", 20)
    receive(book, hand, code, "L1", 20)
    before = job_view(book, code, DAY), job_view(book, other, DAY)
    transfer(book, hand, code, "L1", 4, other)
    done = undo(book, hand, other, "1", WHY)  # named from the job that got them
    assert done.notices == (
        "lot L1 leaves the list: nothing of it is ordered or came", "26-101: lot L1: 20 on hand, 0 to come",
    )  # fmt: skip
    assert (job_view(book, code, DAY), job_view(book, other, DAY)) == before
    transfer(book, hand, code, "L1", 4, other)
    gone = lots(book, other, DAY)[0].code
    use(book, hand, other, gone, 1)
    number = str(last(book, code).number)
    with pytest.raises(RefusedError, match=f"lot {gone} of 26-102 would have had 0 pieces"):
        undo(book, hand, code, number, WHY)
    assert lot(book, code).on_hand == 16


def test_a_start_and_a_sign_off_taken_back(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    fresh = job_view(book, code, DAY)
    start(book, hand, code, "visit")
    undo(book, hand, code, "1", WHY)
    assert job_view(book, code, DAY) == fresh
    sign_off(book, hand, code, "visit")  # records the start too: one act
    done = undo(book, hand, code, str(last(book, code).number), WHY)
    assert done.notices == ("Site visit is ahead again",)
    assert job_view(book, code, DAY) == fresh
    start(book, hand, code, "visit")
    under_way = job_view(book, code, DAY)
    hold(book, hand, code, "visit", "dog in the yard")
    take_back(book, hand, code, "held")
    assert job_view(book, code, DAY) == under_way
    with pytest.raises(RefusedError, match="that phase was signed off since, entry 10"):
        sign_off(book, hand, code, "visit")
        undo(book, hand, code, "7", WHY)
    reopen(book, hand, code, "visit", "wrong fence")
    take_back(book, hand, code, "reopened")
    assert job_view(book, code, DAY).phase("visit").state is PhaseState.SIGNED_OFF


def test_a_sign_off_taken_back_gives_back_what_it_booked_as_used(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    for phase in ("visit", "design", "quote"):
        sign_off(book, hand, code, phase)
    record(book, hand, code, "layout-square", GOOD)
    sign_off(book, hand, code, "layout")
    waive(book, hand, code, "stripped", "not measured in this test")
    sign_off(book, hand, code, "strip")
    for item, number in (("block", 40), ("cloth", 1), ("gravel", 4)):
        name = order(book, hand, code, item, number).text.split()[1].rstrip(":")
        receive(book, hand, code, name, number)
    before = job_view(book, code, DAY)
    for check in before.phase("pads").checks:
        waive(book, hand, code, check.key, "not measured in this test")
    waived = job_view(book, code, DAY)
    sign_off(book, hand, code, "pads")
    assert lot(book, code).used > 0
    used = next(line for line in history(book, code, DAY).lines if line.said == "lot L1, block: 40 used")
    correct(book, hand, code, used.id, 38, "two broke")
    assert (lot(book, code).used, lot(book, code).on_hand) == (38, 2)
    take_back(book, hand, code, ": signed off")
    assert job_view(book, code, DAY) == waived
    assert (lot(book, code).used, lot(book, code).on_hand) == (0, 40)


def test_a_sign_off_that_others_stand_on_is_not_taken_back(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    for phase in ("visit", "design", "quote"):
        sign_off(book, hand, code, phase)
    record(book, hand, code, "layout-square", GOOD)
    sign_off(book, hand, code, "layout")
    signed = str(last(book, code).number)
    start(book, hand, code, "strip")
    with pytest.raises(RefusedError, match="stands on Layout") as refused:
        undo(book, hand, code, signed, WHY)
    assert "deckjobs reopen 26-101 layout" in str(refused.value.hint)
    take_back(book, hand, code, "started")
    undo(book, hand, code, signed, WHY)
    assert job_view(book, code, DAY).phase("layout").state is PhaseState.AHEAD


def test_a_waiver_taken_back_opens_the_check_and_undoes_the_sign_off_that_rested_on_it(
    book: Book, hand: Hand, take: Take
) -> None:
    code = take()
    for phase in ("visit", "design", "quote"):
        sign_off(book, hand, code, phase)
    record(book, hand, code, "layout-square", BAD)
    waive(book, hand, code, "layout-square", "the client wants it so")
    number = str(last(book, code).number)
    sign_off(book, hand, code, "layout")
    said = foretold(book, hand, code, number)
    assert said.notices == ("this undoes the sign-off of Layout", "Layout square is failed again")
    assert job_view(book, code, DAY).check("layout-square").state is CheckState.WAIVED
    done = undo(book, hand, code, number, WHY)
    assert (done.text, done.notices) == (said.text, said.notices)
    check = job_view(book, code, DAY).check("layout-square")
    assert (check.state, check.waivers) == (CheckState.FAILED, ())
    assert job_view(book, code, DAY).phase("layout").undone_by == ("layout-square",)
    assert code in [line.code for line in job_lines(book, DAY)]


def test_only_who_may_waive_takes_the_waiver_of_somebody_else_back(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    waive(book, hand, code, "layout-square", "old lines kept")
    with pytest.raises(RefusedError, match="Lead Wren may not take back what Owner Plover waived"):
        undo(book, hand_of("Lead Wren"), code, "1", WHY)
    undo(book, hand, code, "1", WHY)


def test_a_sign_off_undone_by_a_waiver_taken_back_shows_on_a_finished_jobs_list(
    book: Book, hand: Hand, take: Take
) -> None:
    code = take()
    for phase in job_view(book, code, DAY).phases:
        for check in phase.checks:
            if not check.settled:
                waive(book, hand, code, check.key, "not measured in this test")
        sign_off(book, hand, code, phase.key)
    assert job_lines(book, DAY) == ()
    line = next(line for line in history(book, code, DAY).lines if line.said.startswith("Frame square waived"))
    undo(book, hand, code, str(line.number), WHY)
    assert [found.code for found in job_lines(book, DAY)] == [code]


def test_notes_and_punch_items(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    before = job_view(book, code, DAY), handover(book, code, DAY).punch
    add_note(book, hand, code, "gate code 1234")
    take_back(book, hand, code, "gate code")
    assert (job_view(book, code, DAY), handover(book, code, DAY).punch) == before
    add_punch(book, hand, code, "rail rough")
    add_punch(book, hand, code, "gate drags")
    close_punch(book, hand, code, "2", "planed")
    with pytest.raises(RefusedError, match="that item of the punch list is done since"):
        undo(book, hand, code, "4", WHY)
    take_back(book, hand, code, "done: gate drags")
    assert [(item.number, item.done) for item in handover(book, code, DAY).punch] == [(1, None), (2, None)]
    undo(book, hand, code, "3", WHY)
    assert [(item.number, item.text) for item in handover(book, code, DAY).punch] == [(2, "gate drags")]
    assert add_punch(book, hand, code, "cap loose").text.startswith("3 on the punch list")


def test_a_day_off_is_a_working_day_again(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    before = job_view(book, code, DAY)
    add_day_off(book, hand, date(2026, 5, 13), "storm", job=code, rain=True)
    add_day_off(book, hand, date(2026, 5, 14), "holiday")
    assert undo(book, hand, code, "2", WHY).notices == ("Thu 14 May is a working day again",)
    undo(book, hand, code, "1", WHY)
    assert job_view(book, code, DAY) == before


def test_readings_and_hours_go_by_the_same_numbers(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    record(book, hand, code, "square", BAD)
    record(book, hand, code, "square", GOOD)
    log_hours(book, hand, code, "visit", DAY, 120, 1)
    assert "what is in force stays: passed" in undo(book, hand, code, "1", WHY).text
    assert (
        undo(book, hand, code, "3", WHY).text
        == "entry 3 taken back: 2:00 h on Site visit, Owner Plover (worked Tue 12 May)"
    )
    assert [line.standing for line in history(book, code, DAY).lines] == ["taken back", "", "taken back", "", ""]


def test_a_second_taking_back_is_refused_and_the_same_id_is_recorded_once(book: Book, hand: Hand, take: Take) -> None:
    code, identity = take(), new_id()
    add_note(book, hand, code, "gate code 1234")
    first = undo(book, hand, code, "1", WHY, entry_id=identity)
    again = undo(book, hand, code, "1", WHY, entry_id=identity)
    assert (first.already, again.already, again.id) == (False, True, identity)
    with pytest.raises(RefusedError, match="entry 1 is taken back already: entry 2, Owner Plover, Tue 12 May"):
        undo(book, hand, code, "1", WHY)
    with pytest.raises(RefusedError, match="entry 2 takes another one back itself"):
        undo(book, hand, code, "2", WHY)
    add_note(book, hand, code, "another")
    with pytest.raises(ConflictError):
        undo(book, hand, code, "3", WHY, entry_id=history(book, code, DAY).lines[2].id)
    assert len(history(book, code, DAY).lines) == 3


@pytest.mark.parametrize("reason", ["", "  ", "x" * 5000])
def test_a_reason_is_wanted(book: Book, hand: Hand, take: Take, reason: str) -> None:
    code = take()
    add_note(book, hand, code, "gate code 1234")
    with pytest.raises(InputError, match="the reason"):
        undo(book, hand, code, "1", reason)
    with pytest.raises(InputError, match="26-101 has no entry '7'"):
        undo(book, hand, code, "7", WHY)


def test_a_past_day_still_reads_as_it_was_known_that_evening(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    evening = date(2026, 5, 12)
    order(book, hand, code, "block", 20)
    add_note(book, hand, code, "gate code 1234")
    before = day_sheet(book, evening)
    later = hand_of("Owner Plover", date(2026, 5, 14))
    undo(book, later, code, "1", WHY)
    undo(book, later, code, "2", WHY)
    assert day_sheet(book, evening) == before


# -- corrected in quantity


def test_a_corrected_count_stands_in_the_place_of_the_old_one(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    order(book, hand, code, "block", 20, promised=DAY, price_e4=41_250)
    receive(book, hand, code, "L1", 12)
    done = correct(book, hand, code, "2", 9, "counted again")
    assert done.text == "entry 2 corrected: lot L1, block: 12 received; it is 9"
    assert done.notices == ("lot L1: 9 on hand, 11 to come",)
    assert [line.standing for line in history(book, code, DAY).lines] == ["", "corrected", ""]
    assert last(book, code).said == "lot L1, block: 9 received, in place of entry 2: counted again"
    correct(book, hand, code, "1", 15, "the slip says 15")
    found = lot(book, code)
    assert (found.ordered, found.received, found.on_order, found.promised) == (15, 9, 6, DAY)
    with pytest.raises(RefusedError, match="entry 2 was corrected: entry 3 stands in its place"):
        undo(book, hand, code, "2", WHY)
    undo(book, hand, code, "3", WHY)  # what it corrected counts again
    assert lot(book, code).received == 12
    assert doctor(book.path).problems == ()


def test_a_correction_below_what_is_gone_is_refused(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    order(book, hand, code, "block", 20)
    receive(book, hand, code, "L1", 12)
    use(book, hand, code, "L1", 10)
    with pytest.raises(RefusedError, match="would have had 9 pieces, and 10 of it are gone since"):
        correct(book, hand, code, "2", 9, "counted again")
    with pytest.raises(RefusedError, match="have come of that order"):
        correct(book, hand, code, "1", 11, "counted again")
    with pytest.raises(RefusedError, match="would have had 12 pieces, and 13"):
        correct(book, hand, code, "3", 13, "counted again")
    with pytest.raises(RefusedError, match="entry 3 says 10 already"):
        correct(book, hand, code, "3", 10, "counted again")
    assert correct(book, hand, code, "3", 0, "none of it was used").text.startswith("entry 3 taken back")
    with pytest.raises(InputError, match="entry 5 counts no pieces"):
        add_note(book, hand, code, "x")
        correct(book, hand, code, "5", 3, WHY)


def test_a_correction_to_far_more_than_was_due_is_asked_about(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    order(book, hand, code, "block", 20)
    receive(book, hand, code, "L1", 12)
    with pytest.raises(FarMoreError, match="has 20 still to come, not 200 block"):
        correct(book, hand, code, "2", 200, "counted again")
    correct(book, hand, code, "2", 22, "two more than ordered")
    correct(book, hand, code, "3", 200, "the whole truck", anyway=True)
    assert lot(book, code).received == 200


def test_a_transfer_is_corrected_on_both_sides(book: Book, hand: Hand, take: Take) -> None:
    code, other = take(), take(code="26-102")
    order(book, hand, code, "block", 20)
    receive(book, hand, code, "L1", 20)
    transfer(book, hand, code, "L1", 4, other)
    correct(book, hand, code, "3", 6, "six went over")
    assert (lot(book, code).on_hand, lot(book, other).on_hand) == (14, 6)
    undo(book, hand, other, str(last(book, other).number), WHY)
    assert (lot(book, code).on_hand, lot(book, other).on_hand) == (16, 4)
    undo(book, hand, code, "3", WHY)
    assert lot(book, code).on_hand == 20 and lots(book, other, DAY) == ()
