"""Whatever is sent twice under one id: the same is recorded once, anything else is never lost without a word.

Jobs and people are invented.
"""

from __future__ import annotations

import sqlite3
import tempfile
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from dataclasses import replace
from datetime import date, timedelta
from enum import Enum
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from tests.book.conftest import DAY, hand_of, job_text
from tests.often import examples
from tests.once import copy_once
from tracker.book.care import doctor
from tracker.book.days import add_days_off
from tracker.book.entries import Draft, append
from tracker.book.gates import hold, sign_off, start
from tracker.book.hand import Hand
from tracker.book.history import history
from tracker.book.hours import log_text
from tracker.book.ids import new_id
from tracker.book.invoices import receive_payment, spend
from tracker.book.jobs import add_note, take_job
from tracker.book.load import find_job
from tracker.book.lots import cancel, lots, order, order_shared, receive
from tracker.book.once import plain_of
from tracker.book.opening import Book, open_book
from tracker.book.punch import add_punch
from tracker.book.readings import record, waive
from tracker.book.receiving import inspect, receive_ticket
from tracker.book.undoing import correct, undo
from tracker.book.views import FarMoreError, IdUsedError, Recorded, SameAgainError, TakeResult
from tracker.errors import TrackerError
from tracker.planning.daysoff import OffDay
from tracker.trade.jobfile import parse_job_bytes

OWNER = hand_of("Owner Plover")
CODE, OTHER = "26-101", "26-102"
TAPES = (("width=11'", "depth=13'", "ac=17' 3/8", "bd=17' 3/8"), ("width=11'", "depth=13'", "ac=17' 1", "bd=17'"))

Act = Callable[[Book, Hand, str, str, int], Recorded]
ACTS: dict[str, Act] = {
    "note": lambda b, h, x, job, n: add_note(b, h, job, f"note {n}", entry_id=x),
    "punch": lambda b, h, x, job, n: add_punch(b, h, job, f"note {n}", entry_id=x),
    "hours": lambda b, h, x, job, n: log_text(b, h, job, f"{n + 1}h visit", entry_id=x),
    "paid": lambda b, h, x, job, n: receive_payment(b, h, job, 100 + n, "check 1", anyway=True, entry_id=x),
    "spent": lambda b, h, x, job, n: spend(b, h, job, 100 + n, "visit", "fee", entry_id=x),
    "read": lambda b, h, x, job, n: record(b, h, job, "square", TAPES[n % 2], entry_id=x),
    "waive": lambda b, h, x, job, n: waive(b, h, job, "square", f"reason {n}", entry_id=x),
    "order": lambda b, h, x, job, n: order(b, h, job, "block", n + 1, anyway=True, entry_id=x),
    "receive": lambda b, h, x, job, n: receive(b, h, job, "J1", n + 1, anyway=True, entry_id=x),
    "ticket": lambda b, h, x, job, n: receive_ticket(b, h, job, {"J1": n + 1, "B1": 1}, anyway=True, entry_id=x),
    "inspect": lambda b, h, x, job, n: inspect(b, h, job, "J1", [f"culls={n}"], receive=True, entry_id=x),
    "cancel": lambda b, h, x, job, n: cancel(b, h, job, "J1", n + 1, "fewer", entry_id=x),
    "correct": lambda b, h, x, job, n: correct(b, h, job, "1", n + 1, "counted", anyway=True, entry_id=x),
    "undo": lambda b, h, x, job, n: undo(b, h, job, "2", f"reason {n}", entry_id=x),
    "off": lambda b, h, x, job, n: add_days_off(
        b, h, [OffDay(DAY + timedelta(days=k), "away") for k in range(n + 1)], job=job, entry_id=x
    ),
    "visit": lambda b, h, x, job, n: sign_off(b, h, job, "visit", entry_id=x),
    "start": lambda b, h, x, job, n: start(b, h, job, "layout", past=f"reason {n}", entry_id=x),
    "hold": lambda b, h, x, job, n: hold(b, h, job, "visit", f"reason {n}", entry_id=x),
}
LOTS = """
[[lot]]
code = "J1"
item = "2x6x14"
supplier = "Yard One (invented)"
ordered = 12
use = "UC4A"
[[lot]]
code = "B1"
item = "block"
supplier = "Yard One (invented)"
ordered = 9
"""


def taken(book: Book, text: str, hand: Hand = OWNER) -> TakeResult:
    return take_job(book, hand, parse_job_bytes(text.encode(), "job.toml"))


def begin(path: Path) -> None:
    book = open_book(path)
    for code in (CODE, OTHER):
        taken(book, job_text(code, f"{code} platform", more=LOTS))
    book.close()


@contextmanager
def fresh() -> Iterator[Book]:
    with tempfile.TemporaryDirectory() as folder:
        book = open_book(copy_once(Path(folder) / "jobs.book", "two under one id", begin))
        try:
            yield book
        finally:
            book.close()


def entries(book: Book) -> list[tuple[object, ...]]:
    with closing(sqlite3.connect(book.path)) as db:
        return db.execute("SELECT * FROM entry ORDER BY arrived").fetchall()


def asked(what: tuple[str, str, int, str]) -> tuple[str, str, int, str]:
    """What the acts make of a number: a sign-off nothing, a reading one of two."""
    act, job, number, who = what
    return act, job, {"visit": 0, "read": number % 2}.get(act, number), who


SENT = st.tuples(
    st.sampled_from(sorted(ACTS)), st.sampled_from([CODE, OTHER]), st.integers(0, 4),
    st.sampled_from(["Owner Plover", "Lead Wren"]),
)  # fmt: skip


@settings(max_examples=examples(10, 400), deadline=None)
@given(one=SENT, two=SENT)
@example(one=("paid", CODE, 0, "Owner Plover"), two=("paid", CODE, 3, "Owner Plover"))
@example(one=("read", CODE, 0, "Owner Plover"), two=("read", CODE, 1, "Owner Plover"))
@example(one=("ticket", CODE, 2, "Owner Plover"), two=("ticket", CODE, 2, "Owner Plover"))
@example(one=("note", CODE, 1, "Owner Plover"), two=("punch", CODE, 1, "Owner Plover"))
@example(one=("off", CODE, 2, "Owner Plover"), two=("off", CODE, 3, "Owner Plover"))
@example(one=("visit", CODE, 0, "Owner Plover"), two=("visit", OTHER, 0, "Owner Plover"))
@example(one=("note", CODE, 1, "Owner Plover"), two=("note", CODE, 1, "Lead Wren"))
def test_of_two_writes_under_one_id_the_second_is_never_lost_without_a_word(
    one: tuple[str, str, int, str], two: tuple[str, str, int, str]
) -> None:
    with fresh() as book:
        identity = new_id()

        def send(what: tuple[str, str, int, str]) -> Recorded:
            act, job, number, who = what
            return ACTS[act](book, hand_of(who), identity, job, number)

        try:
            first = send(one)
        except TrackerError as error:  # refused for what it is: the id is free, and the second is judged on its own
            assert not isinstance(error, IdUsedError)
            before = entries(book)
            try:
                assert not send(two).already and len(entries(book)) > len(before)
            except TrackerError:
                assert entries(book) == before
            return
        assert (first.already, first.id) == (False, identity)
        kept = entries(book)
        try:
            second = send(two)
        except IdUsedError as error:
            assert asked(one) != asked(two) and entries(book) == kept
            assert one[3] in error.stands and two[3] in error.sent and error.exit_code == 4
        else:
            assert (
                asked(one) == asked(two) and (second.already, second.id) == (True, identity) and entries(book) == kept
            )
            assert one[3] in second.text and second.day == DAY
            assert second.answer == first.answer


def test_the_entries_of_one_act_are_told_together(book: Book, hand: Hand) -> None:
    taken(book, job_text(CODE, more=LOTS))
    identity = new_id()
    receive_ticket(book, hand, CODE, {"J1": 3, "B1": 2}, entry_id=identity)
    again = receive_ticket(
        book, hand, CODE, {"B1": 2, "J1": 3}, entry_id=identity
    )  # the order of the lots is no content
    assert again.already and "J1, 2x6x14: 3" in again.text and "B1, block: 2" in again.text
    with pytest.raises(IdUsedError) as caught:
        receive_ticket(book, hand, CODE, {"J1": 3, "B1": 4}, entry_id=identity)
    assert "block: 2" in caught.value.stands and "block: 4" in caught.value.sent
    assert [lot.received for lot in lots(book, CODE, DAY)] == [2, 3] and not doctor(book.path).problems


def test_what_is_asked_is_compared_and_not_what_came_of_it(book: Book, hand: Hand) -> None:
    taken(book, job_text(CODE, more=LOTS))
    one, two = new_id(), new_id()
    record(book, hand, CODE, "square", TAPES[0], entry_id=one)
    record(book, hand, CODE, "square", TAPES[1], entry_id=two)  # the state it was judged in is another one by now
    later = replace(hand, day=date(2026, 5, 20))
    assert record(book, later, CODE, "square", TAPES[0], entry_id=one).already
    first = log_text(book, hand, CODE, "6h visit", entry_id=new_id())
    assert log_text(book, later, "platform", "6h visit", entry_id=first.id).already  # a tail or a title is the job, too


def test_an_entry_of_which_it_is_not_known_what_was_asked_is_shown_and_never_taken_for_the_same(
    book: Book, hand: Hand
) -> None:
    """As entries were written before the digest was kept in them."""
    taken(book, job_text(CODE))
    identity = new_id()
    with book.writing() as session:
        append(session, hand, Draft("note", {"text": "rain"}, job_id=find_job(session, CODE).id), identity)
    with pytest.raises(IdUsedError) as caught:
        add_note(book, hand, CODE, "rain", entry_id=identity)
    assert "rain" in caught.value.stands and "rain" in caught.value.sent


def test_an_order_for_several_jobs_is_one_act(book: Book, hand: Hand) -> None:
    for code in (CODE, OTHER):
        taken(book, job_text(code, f"{code} platform"))
    identity = new_id()
    with pytest.raises(FarMoreError):  # the second share is far too many, and the first is not ordered either
        order_shared(book, hand, "block", {CODE: 4, OTHER: 900}, "Yard One", None, entry_id=identity)
    assert entries(book) == []
    shares = {CODE: 4, OTHER: 5}
    assert not order_shared(book, hand, "block", shares, "Yard One", None, entry_id=identity).already
    kept = entries(book)
    again = order_shared(book, hand, "block", shares, "Yard One", None, entry_id=identity)
    assert again.already and "block: 4" in again.text and f"{OTHER}: lot L1, block: 5" in again.text
    with pytest.raises(IdUsedError) as caught:
        order_shared(book, hand, "block", {CODE: 4, OTHER: 6}, "Yard One", None, entry_id=identity)
    assert "block: 5" in caught.value.stands and "block: 6" in caught.value.sent and entries(book) == kept


def test_what_reads_alike_is_told_apart(book: Book, hand: Hand) -> None:
    taken(book, job_text(CODE, more=LOTS))
    one, two = new_id(), new_id()
    record(book, hand, CODE, "square", TAPES[0], entry_id=one)
    with pytest.raises(IdUsedError) as caught:
        record(book, hand, CODE, "square", ("width=11'0", *TAPES[0][1:]), entry_id=one)
    assert "width 11' (" in caught.value.stands and "width 11'0 (" in caught.value.sent
    order(book, hand, CODE, "block", 3, supplier="Yard One (invented)", anyway=True, price_e4=10_000, entry_id=two)
    with pytest.raises(IdUsedError) as caught:
        order(book, hand, CODE, "block", 3, supplier="Yard One (invented)", anyway=True, price_e4=20_000, entry_id=two)
    assert caught.value.stands != caught.value.sent


def test_the_digest_is_no_fact_of_an_entry(book: Book, hand: Hand) -> None:
    taken(book, job_text(CODE, more=LOTS))
    for act in ("note", "punch", "hours", "spent", "read", "waive", "order", "off", "hold", "correct"):
        ACTS[act](book, hand, new_id(), CODE, 1)
    for line in history(book, CODE).lines:
        assert "asked" not in {name for name, _ in line.facts} and "asked" not in line.said


def test_a_corrected_movement_has_the_digest_of_its_own_act(book: Book, hand: Hand) -> None:
    taken(book, job_text(CODE, more=LOTS))
    one, two = new_id(), new_id()
    receive(book, hand, CODE, "J1", 3, entry_id=one)
    correct(book, hand, CODE, one, 4, "counted again", entry_id=two)
    assert correct(book, hand, CODE, one, 4, "counted again", entry_id=two).text.count("J1") == 1
    assert receive(book, hand, CODE, "J1", 3, entry_id=one).notices == ("entry 3 is corrected since",)


class Kind(Enum):
    """Something a person chooses."""

    ONE = "one"


@pytest.mark.parametrize(
    ("value", "plain"),
    [
        (Kind.ONE, "one"), (" x ", "x"), (DAY, "2026-05-12"), (Fraction(1, 3), "1/3"), ({"b": 1, "a": (2,)}, {"b": 1, "a": [2]}),
        (frozenset({"b", "a"}), ["a", "b"]), (OffDay(DAY, "away"), {"day": "2026-05-12", "why": "away"}), (None, None),
    ],
)  # fmt: skip
def test_what_is_asked_has_one_plain_form(value: object, plain: object) -> None:
    assert plain_of(value) == plain


def test_what_is_no_value_is_not_asked() -> None:
    with pytest.raises(TypeError):
        plain_of(object())


def test_the_same_payment_is_refused_until_it_is_meant(book: Book, hand: Hand) -> None:
    taken(book, job_text(CODE))
    identity = new_id()
    receive_payment(book, hand, CODE, 50_000, "check 118", entry_id=identity)
    assert receive_payment(
        book, hand, CODE, 50_000, "check 118", entry_id=identity
    ).already  # repeated, not asked about
    with pytest.raises(SameAgainError, match="payment 1 ") as caught:
        receive_payment(book, hand, CODE, 50_000, " Check  118 ")
    assert caught.value.exit_code == 1
    meant = receive_payment(book, hand, CODE, 50_000, "check 118", anyway=True)
    assert any(notice.startswith("payment 1 ") for notice in meant.notices)
    undo(book, hand, CODE, "1", "bounced")
    undo(book, hand, CODE, "2", "bounced")
    assert not receive_payment(book, hand, CODE, 50_000, "check 118").already


LINE = """
[[log]]
on = {on}
who = "{who}"
do = "{do}"
{more}
"""


def line(do: str, more: str, who: str = "Owner Plover", on: str = "2026-05-11") -> str:
    return LINE.format(on=on, who=who, do=do, more=more)


def test_equal_notes_of_two_people_in_a_log_are_two(book: Book, hand: Hand) -> None:
    rain = 'text = "rain from noon"'
    log = line("note", rain) + line("note", rain, who="Lead Wren") + line("note", rain)
    taken(book, job_text(CODE, more=log))
    taken(book, job_text(CODE, more=log))
    notes = [found for found in history(book, CODE).lines if found.kind == "note"]
    assert [note.who for note in notes] == ["Owner Plover", "Lead Wren", "Owner Plover"]


def test_a_payment_of_a_log_that_stands_already_is_said(book: Book, hand: Hand) -> None:
    taken(book, job_text(CODE))
    receive_payment(book, hand, CODE, 50_000, "check 118")
    result = taken(book, job_text(CODE, more=line("paid", 'amount = "500.00"\ntext = "check 118"')))
    assert any("log line 1" in said and "payment 1 ($500.00" in said for said in result.warnings), result
    assert not taken(book, job_text(CODE, more=line("paid", 'amount = "500.00"\ntext = "check 118"'))).warnings


def test_a_line_of_a_log_that_was_changed_counts_beside_the_old_one_and_that_is_said(book: Book, hand: Hand) -> None:
    taken(book, job_text(CODE, more=line("spend", 'amount = "40.00"\nphase = "visit"\ntext = "fee"')))
    changed = job_text(CODE, more=line("spend", 'amount = "45.00"\nphase = "visit"\ntext = "fee"'))
    result = taken(book, changed)
    assert any("2026-05-11 spend" in said and "both count" in said for said in result.warnings), result
    assert not taken(book, changed).warnings


def test_a_count_of_a_lot_that_was_taken_otherwise_is_said(book: Book, hand: Hand) -> None:
    taken(book, job_text(CODE, more=LOTS))
    more = LOTS.replace("ordered = 12", "ordered = 20")
    result = taken(book, job_text(CODE, more=more))
    assert any("lot J1: 12 ordered in the book" in said and "says 20" in said for said in result.warnings), result
    order(book, hand, CODE, "2x6x14", 8, lot="J1", anyway=True)
    assert not taken(book, job_text(CODE, more=more)).warnings  # now the book says so too
    correct(book, hand, CODE, "2", 7, "seven blocks")
    assert not taken(book, job_text(CODE, more=more)).warnings  # the file as it was taken is no news
    assert not taken(book, job_text(CODE, more=more.replace("ordered = 9", "ordered = 7"))).warnings
