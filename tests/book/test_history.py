"""The history of a job: every entry, what became of it, what it rests on."""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections.abc import Callable
from contextlib import closing
from datetime import date, timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.book.conftest import DAY, hand_of, job_text
from tests.book.hourly import log_hours
from tests.often import examples
from tracker.book.days import add_day_off
from tracker.book.gates import hold, reopen, sign_off, start
from tracker.book.hand import Hand
from tracker.book.history import history
from tracker.book.historyviews import HistoryLine
from tracker.book.hours import take_back_hours
from tracker.book.jobs import add_note, job_view, take_job
from tracker.book.lots import order, receive
from tracker.book.opening import Book
from tracker.book.readings import record, take_back, waive
from tracker.errors import InputError
from tracker.trade.jobfile import parse_job_bytes

Take = Callable[..., str]
GOOD = ("width=11'", "depth=13'", "ac=17' 3/8", "bd=17' 3/8")
BAD = ("width=11'", "depth=13'", "ac=17' 5/8", "bd=17' 1/8")


def said(lines: tuple[HistoryLine, ...]) -> list[str]:
    return [line.said for line in lines]


def test_every_kind_of_entry_is_told_in_order_of_arrival(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    add_note(book, hand, code, "gate code 1234")
    start(book, hand, code, "visit")
    hold(book, hand, code, "visit", "dog in the yard")
    start(book, hand, code, "visit")
    sign_off(book, hand, code, "visit")
    reopen(book, hand, code, "visit", "wrong fence")
    order(book, hand, code, "2x6x12", 4, promised=date(2026, 5, 14))
    receive(book, hand, code, "L1", 3)
    waive(book, hand, code, "layout-square", "old lines kept")
    add_day_off(book, hand, date(2026, 5, 13), "storm", job=code, rain=True)
    add_day_off(book, hand, date(2026, 5, 25), "holiday")
    log_hours(book, hand, code, "visit", DAY, 450, 2)
    whole = history(book, code, DAY)
    assert (whole.code, whole.title) == (code, "Plover Lane platform")
    assert said(whole.lines) == [
        "gate code 1234",
        "Site visit: started",
        "Site visit: held: dog in the yard",
        "Site visit: started",
        "Site visit: signed off",
        "Site visit: reopened: wrong fence",
        "lot L1, 2x6x12: 4 ordered, promised Thu 14 May",
        "lot L1, 2x6x12: 3 received",
        "Layout square waived: old lines kept",
        "Wed 13 May is a rain day: storm",
        "Mon 25 May is a day off: holiday",
        "2 x 7:30 h on Site visit, Owner Plover (worked Tue 12 May)",
    ]
    assert [line.number for line in whole.lines] == list(range(1, 13))
    assert [line.everywhere for line in whole.lines].count(True) == 1 and whole.lines[10].everywhere
    assert {line.who for line in whole.lines} == {"Owner Plover"}
    assert {line.device for line in whole.lines} == {"device-1"}


def test_a_reading_keeps_its_values_as_typed_and_the_verdict_of_the_time(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    answer = record(book, hand, code, "square", BAD).answer
    (line,) = history(book, code).lines
    assert line.answer == answer and answer is not None
    assert line.said == f"Frame square failed: {answer.headline}"
    assert line.entered == (("width", "11'"), ("depth", "13'"), ("ac", "17' 5/8"), ("bd", "17' 1/8"))
    assert ("unit", "in") in line.facts


def test_a_correction_and_a_reading_taken_back_show_on_both(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    first = record(book, hand, code, "square", BAD).id
    second = record(book, hand, code, "square", GOOD, corrects=first).id
    before, after = history(book, code).lines
    assert (before.standing, before.corrected_by, after.corrects, after.standing) == ("corrected", (second,), first, "")
    back = take_back(book, hand, code, "square", "tape was bent").id
    before, after, taken = history(book, code).lines
    assert (after.standing, after.taken_back_by) == ("taken back", back)
    assert (before.standing, before.corrected_by) == ("", (second,)), "it is in force again"
    assert (taken.said, taken.corrects, taken.reason) == (
        "Frame square: a reading taken back: tape was bent", second, "tape was bent",
    )  # fmt: skip
    assert (taken.entered, taken.answer) == ((), None)


def test_hours_taken_back(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    log_hours(book, hand, code, "visit", DAY, 60, 1)
    take_back_hours(book, hand, code, 1, "typed twice")
    first, back = history(book, code).lines
    assert (first.standing, back.said) == ("taken back", f"entry 1 taken back ({first.said}): typed twice")


def test_entries_of_other_jobs_stay_out_and_dropped_phases_stay_in(book: Book, hand: Hand, take: Take) -> None:
    one, two = take(), take(code="26-102", title="Plover Hill platform")
    add_note(book, hand, two, "elsewhere")
    start(book, hand, one, "visit")
    smaller = job_text(more="[phases.visit]\nskip = true")
    take_job(book, hand, parse_job_bytes(smaller.encode(), "job.toml"))
    assert "visit" not in {phase.key for phase in job_view(book, one, DAY).phases}
    assert said(history(book, one).lines) == ["visit: started"]


def test_a_body_the_history_knows_nothing_of_is_told_as_it_is_kept(book: Book, hand: Hand, take: Take) -> None:
    from tracker.book.entries import Draft, append
    from tracker.book.load import find_job

    code = take()
    body = {
        "what": "deposit",
        "cents": -50_05,
        "per_piece_e4": 12_3456,
        "on": "2026-05-12",
        "parts": [1],
        "sent": False,
    }
    with book.writing() as session:
        append(session, hand, Draft("money", body, job_id=find_job(session, code).id))
    (line,) = history(book, code).lines
    assert line.said == "deposit: amount -$50.05, on 2026-05-12, per piece $12.3456, sent no"
    assert dict(line.facts) == {
        "what": "deposit", "amount": "-$50.05", "per piece": "$12.3456", "on": "2026-05-12", "parts": "[1]", "sent": "no",
    }  # fmt: skip


def test_an_unknown_job_is_an_error(book: Book, take: Take) -> None:
    take()
    with pytest.raises(InputError, match="no job"):
        history(book, "26-999")


def test_the_chain_shown_is_the_chain_kept(book: Book, take: Take) -> None:
    code = take()
    for number, device in enumerate(("one", "two", "one", "one")):
        add_note(book, hand_of("Lead Wren", device=device), code, f"note {number}")
    lines = history(book, code).lines
    assert [(line.device, line.seq) for line in lines] == [("one", 1), ("two", 1), ("one", 2), ("one", 3)]
    assert (lines[2].prev, lines[3].prev, lines[1].prev) == (lines[0].digest, lines[2].digest, "")
    with closing(sqlite3.connect(book.path)) as db:
        db.row_factory = sqlite3.Row
        row = db.execute("SELECT * FROM entry WHERE id = ?", (lines[3].id,)).fetchone()
    # What an entry's digest covers: SHA-256 over its columns in this order, as compact JSON.
    names = [
        "id",
        "job_id",
        "kind",
        "phase_id",
        "check_id",
        "lot_id",
        "at_ms",
        "hlc",
        "day",
        "who",
        "device",
        "seq",
        "corrects",
        "qty",
        "body",
        "prev",
    ]
    text = json.dumps([row[name] for name in names], ensure_ascii=False, separators=(",", ":"))
    assert lines[3].digest == hashlib.sha256(text.encode()).hexdigest()


@settings(max_examples=examples(20, 400), deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(days=st.lists(st.integers(-400, 400), min_size=1, max_size=6))
def test_the_order_is_that_of_arrival_whatever_the_clock_said(
    book: Book, hand: Hand, take: Take, days: list[int]
) -> None:
    code = take()
    before = len(history(book, code).lines)
    for number, shift in enumerate(days):
        add_note(book, hand_of("Lead Wren", DAY + timedelta(days=shift)), code, f"note {number}")
    lines = history(book, code).lines[before:]
    assert said(lines) == [f"note {number}" for number in range(len(days))]
    assert [line.day for line in lines] == [DAY + timedelta(days=shift) for shift in days]
