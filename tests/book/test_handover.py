"""The hand-over in the book: the punch list, what stands open, the care after it, the calendar; nothing overwritten."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from tests.book.conftest import DAY, hand_of, job_text
from tests.handed_over import LOT, hand_over, measured, oiled, take
from tests.signed import sign_off_all_before
from tracker.book.aftercare import care_of, end_care, record_care, reminders
from tracker.book.agenda import agenda
from tracker.book.gates import hold, reopen, sign_off, start
from tracker.book.hand import Hand
from tracker.book.handover import handover
from tracker.book.jobs import job_view
from tracker.book.morning import morning
from tracker.book.opening import Book, default_entry_id
from tracker.book.punch import add_punch, close_punch
from tracker.book.readings import record
from tracker.book.views import CheckState
from tracker.errors import InputError, RefusedError
from tracker.planning.calendar import EventKind

JUNE = date(2026, 6, 5)
LATER = timedelta(days=1)


@pytest.fixture
def handed(book: Book) -> Book:
    """26-101, taken on 4 June, handed over and oiled on Friday 5 June 2026."""
    take(book, hand_of("Owner Plover", JUNE - LATER), oiled(more=LOT))
    measured(book, hand_of("Owner Plover", JUNE - LATER))
    hand_over(book, hand_of("Owner Plover", JUNE), without=("care",))
    return book


# -- the punch list


def test_punch_items_are_numbered_closed_once_and_never_taken_off(book: Book, hand: Hand) -> None:
    take(book, hand, oiled())
    add_punch(book, hand, "101", "top rail rough")
    add_punch(book, hand_of("R. Stone"), "101", "  screw proud at the steps ")
    told = close_punch(book, hand_of("R. Stone"), "101", "1", "sanded")
    assert told.text == "1 on the punch list of 26-101 is done"
    first, second = handover(book, "101", DAY).punch
    assert (first.number, first.text, first.done, first.done_by, first.done_note) == (
        1, "top rail rough", DAY, "R. Stone", "sanded"
    )  # fmt: skip
    assert (second.number, second.text, second.done) == (2, "screw proud at the steps", None)
    with pytest.raises(RefusedError, match=r"done already: R\. Stone"):
        close_punch(book, hand, "101", "1")
    assert [note.text for note in job_view(book, "101", DAY).notes] == [
        "put on the punch list: top rail rough", "put on the punch list: screw proud at the steps",
        "off the punch list: top rail rough (sanded)",
    ]  # fmt: skip


def test_the_same_entry_id_puts_one_item_on_the_list(book: Book, hand: Hand) -> None:
    take(book, hand, oiled())
    entry = default_entry_id()
    assert not add_punch(book, hand, "101", "rail", entry_id=entry).already
    assert add_punch(book, hand, "101", "rail", entry_id=entry).already
    assert len(handover(book, "101", DAY).punch) == 1


def test_a_wrong_number_and_an_empty_text_say_what_would_be_right(book: Book, hand: Hand) -> None:
    take(book, hand, oiled())
    with pytest.raises(InputError, match="is empty"):
        add_punch(book, hand, "101", "  ")
    add_punch(book, hand, "101", "rail")
    with pytest.raises(InputError, match="has no '7'") as error:
        close_punch(book, hand, "101", "7")
    assert error.value.hint == "open: 1"


# -- what stands open


def test_what_stands_open_is_listed_with_what_clears_it(book: Book, hand: Hand) -> None:
    lot = LOT.replace("received = 12", "received = 9")
    take(book, hand, oiled(more=lot))
    start(book, hand, "101", "visit")
    hold(book, hand, "101", "visit", "gate locked")
    items = {item.what: item for item in handover(book, "101", DAY).open_items}
    assert items["Site visit"].why == "held: gate locked"
    assert items["lot P1: 3 boards 2x6x12 not here"].clears == "deckjobs receive 26-101 P1 COUNT"
    (ahead,) = (what for what in items if what.endswith("not begun"))
    assert "finish (hold point 10)" in items[ahead].why
    assert "hand-over" not in items[ahead].why


def test_a_check_not_read_enough_is_open_not_failed(book: Book, hand: Hand) -> None:
    take(book, hand, oiled())
    sign_off_all_before(book, hand, "26-101", "layout")
    start(book, hand, "101", "layout")
    check = job_view(book, "101", DAY).check("layout-square")
    record(book, hand, "101", check.key, ["width=11'"])
    now = job_view(book, "101", DAY).check(check.key)
    assert now.answer is not None and now.state is CheckState.OPEN
    (why,) = (item.why for item in handover(book, "101", DAY).open_items if item.what == check.title)
    assert why == now.headline and "failed" not in why


def test_a_sign_off_that_a_later_failure_undid_is_open(handed: Book) -> None:
    assert handover(handed, "101", JUNE).open_items == ()
    measured_badly = hand_of("R. Stone", JUNE + LATER)
    record(handed, measured_badly, "101", "square", ["width=11'", "depth=13'", "ac=17' 1", "bd=17'"])
    whats = [item.what for item in handover(handed, "101", JUNE + LATER).open_items]
    assert whats == ["Frame", "Frame square"]


def test_a_check_the_job_no_longer_has_keeps_its_readings_on_record(book: Book, hand: Hand) -> None:
    take(book, hand, oiled())
    measured(book, hand)
    more = '\n[phases.layout]\nwithout_checks = ["layout-square"]\n'
    take(book, hand, oiled(more=more))
    (former,) = handover(book, "101", DAY).former
    assert former.title == "Layout square"
    assert len(former.readings) == 2


# -- a past day


def test_a_past_day_reads_the_same_whatever_came_later(handed: Book) -> None:
    before = handover(handed, "101", JUNE)
    add_punch(handed, hand_of("R. Stone", JUNE + LATER), "101", "board cupped")
    record_care(handed, hand_of("R. Stone", JUNE + LATER), "101", "sweep")
    reopen(handed, hand_of("Owner Plover", JUNE + LATER), "101", "finish", "laps in the oil")
    assert handover(handed, "101", JUNE) == before
    after = handover(handed, "101", JUNE + LATER)
    assert len(after.entries) == len(before.entries) + 3
    assert after.entries[: len(before.entries)] == before.entries


def test_a_day_before_the_job_came_is_an_error(handed: Book) -> None:
    with pytest.raises(InputError, match="was not in the book on Thu 30 Apr 2026"):
        handover(handed, "101", date(2026, 4, 30))


def test_a_note_of_care_says_that_it_is_one(handed: Book) -> None:
    record_care(handed, hand_of("R. Stone", JUNE), "101", "sweep")
    (note,) = job_view(handed, "101", JUNE).notes
    assert note.text == "care done: Gaps swept clear"


def test_a_deck_is_handed_over_before_its_boards_are_dry_enough_for_the_finish(book: Book, hand: Hand) -> None:
    take(book, hand, oiled())
    view = job_view(book, "101", DAY)
    assert view.line.planned_end == view.phase("hand-over").planned_end < view.phase("finish").planned_end


# -- care


def test_care_counts_from_the_hand_over_and_reminds_from_14_days_before(handed: Book) -> None:
    """By hand: 5 June + 45 days = 20 July; 14 days before is 6 July."""
    assert care_of(handed, "101", JUNE).handed_over == JUNE
    assert reminders(handed, date(2026, 7, 5)) == ()
    (soon,) = reminders(handed, date(2026, 7, 6))
    assert (soon.job, soon.task, soon.due) == ("26-101", "settle", date(2026, 7, 20))
    assert soon.text == "due Mon 20 Jul: Fasteners and blocks, once it has settled"
    (over,) = reminders(handed, date(2026, 7, 27))
    assert over.text.startswith("was due Mon 20 Jul, 7 days ago: ")


def test_care_that_was_done_reminds_no_more_and_counts_from_its_day(handed: Book) -> None:
    record_care(handed, hand_of("R. Stone", date(2026, 7, 18)), "101", "settle")
    assert reminders(handed, date(2026, 9, 1)) == ()
    record_care(handed, hand_of("R. Stone", date(2027, 5, 20)), "101", "wash")
    wash = next(f for f in care_of(handed, "101", date(2027, 6, 1)).dates if f.task.key == "wash")
    assert wash.due == date(2028, 5, 20)
    with pytest.raises(RefusedError, match="done for good"):
        record_care(handed, hand_of("R. Stone", date(2027, 5, 20)), "101", "settle")
    with pytest.raises(InputError, match="did you mean wash"):
        record_care(handed, hand_of("R. Stone", date(2027, 5, 20)), "101", "wahs")


def test_there_is_no_care_before_the_hand_over_or_once_it_is_undone(book: Book, hand: Hand) -> None:
    take(book, hand, oiled())
    with pytest.raises(RefusedError, match="not handed over"):
        care_of(book, "101", DAY)
    hand_over(book, hand, without=("care",))
    assert care_of(book, "101", DAY).dates
    reopen(book, hand, "101", "hand-over", "client away")
    with pytest.raises(RefusedError, match="not handed over"):
        care_of(book, "101", DAY)
    sign_off(book, hand_of("Owner Plover", DAY + LATER), "101", "hand-over")
    assert care_of(book, "101", DAY + LATER).handed_over == DAY + LATER


def test_care_ends_with_a_reason(handed: Book) -> None:
    end_care(handed, hand_of("Owner Plover", JUNE + LATER), "101", "the client does it")
    assert reminders(handed, date(2026, 7, 20)) == ()
    assert care_of(handed, "101", date(2026, 7, 20)).ended == "the client does it"
    assert not [e for e in agenda(handed, ["101"], date(2026, 7, 20)) if e.kind is EventKind.CARE]
    with pytest.raises(RefusedError, match="ended already"):
        end_care(handed, hand_of("Owner Plover", JUNE + LATER), "101", "again")


def test_the_morning_reminds_of_finished_jobs_too(handed: Book) -> None:
    sign_off(handed, hand_of("Owner Plover", JUNE + LATER), "101", "care")
    view = morning(handed, date(2026, 7, 20))
    assert view.open_jobs == 0
    assert [reminder.task for reminder in view.care] == ["settle"]


# -- the calendar


def test_the_calendar_has_phases_deliveries_inspections_papers_and_care(book: Book, hand: Hand) -> None:
    lot = LOT.replace("received = 12", "promised = 2026-05-20")
    text = job_text("26-101", digging=True, permit=True, more=lot)
    take(book, hand, text)
    record(book, hand, "101", "locate",
           ["ticket=0505-12", "called=2026-05-05", "expires=2026-05-22", "answered=yes", "private=yes"])  # fmt: skip
    found = agenda(book, ["101"], DAY)
    by_kind = {kind: [e for e in found if e.kind is kind] for kind in EventKind}
    (delivery,) = by_kind[EventKind.DELIVERY]
    assert (delivery.title, delivery.start) == ("26-101 Delivery: 12 boards 2x6x12", date(2026, 5, 20))
    (paper,) = by_kind[EventKind.PAPER]
    assert (paper.title, paper.start) == ("26-101 Utility locate runs out", date(2026, 5, 22))
    assert {e.title for e in by_kind[EventKind.INSPECTION]} == {"26-101 Framing inspection", "26-101 Final inspection"}
    view = job_view(book, "101", DAY)
    frame = next(e for e in by_kind[EventKind.PHASE] if e.title == "26-101 Frame")
    assert (frame.start, frame.end) == (view.phase("frame").planned_start, view.phase("frame").planned_end)
    assert len({e.uid for e in found}) == len(found)


def test_events_keep_their_ids_when_their_days_move(handed: Book) -> None:
    now = {e.uid: e for e in agenda(handed, ["101"], JUNE)}
    record_care(handed, hand_of("R. Stone", JUNE + LATER), "101", "wash")
    then = {e.uid: e for e in agenda(handed, ["101"], JUNE + LATER)}
    assert now.keys() == then.keys()
    moved = [e for uid, e in then.items() if e.start != now[uid].start]
    assert [e.title for e in moved] == ["26-101 Wash"]
    assert all(then[uid].stamp > now[uid].stamp for uid in then)


def test_a_calendar_of_no_named_job_holds_open_jobs_and_the_care_of_all(handed: Book) -> None:
    sign_off(handed, hand_of("Owner Plover", JUNE + LATER), "101", "care")
    take(handed, hand_of("Owner Plover", JUNE), oiled("26-102", "Second platform"))
    found = agenda(handed, [], JUNE + LATER)
    assert {e.job for e in found if e.kind is EventKind.PHASE} == {"26-102"}
    assert {e.job for e in found if e.kind is EventKind.CARE} == {"26-101"}
    assert {e.kind for e in agenda(handed, [], JUNE + LATER, [EventKind.CARE])} == {EventKind.CARE}
