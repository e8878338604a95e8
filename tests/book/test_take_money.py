"""A job file's log that tells of money and hours: entered once, by the same operations, by whom each line names."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.book.conftest import DAY, hand_of, job_text
from tests.book.test_money import MORE, conserved
from tracker.book.care import doctor
from tracker.book.hand import Hand
from tracker.book.handover import handover
from tracker.book.hours import hours_of
from tracker.book.jobs import take_job
from tracker.book.moneyread import money_of
from tracker.book.opening import Book
from tracker.book.people import people
from tracker.errors import InputErrors
from tracker.trade.jobfile import JobFile, parse_job_bytes

CODE = "26-101"


def line(on: str, who: str, do: str, more: str = "") -> str:
    """A log line."""
    return f'[[log]]\non = {on}\nwho = "{who}"\ndo = "{do}"\n{more}'


LOG = (
    line("2026-05-04", "Owner Plover", "quote",
         'options = ["as drawn: price=5000", "2x6 boards: board=2x6, price=5400"]\ndraws = ["deposit=20%", "final=rest"]\n'
         'equipment = ["strip: compactor, 2 days at 85"]\n')
    + line("2026-05-05", "Owner Plover", "accept", 'option = "as drawn"\n')
    + line("2026-05-05", "Owner Plover", "invoice")
    + line("2026-05-06", "Owner Plover", "paid", 'amount = "400.00"\ntext = "check 118"\n')
    + line("2026-05-07", "Owner Plover", "extra", 'amount = 350\ntext = "gate"\ncost = 90\nhours = "2 x 1h30"\nphase = "frame"\n')
    + line("2026-05-08", "Lead Wren", "hours", 'text = "2 x 7h30 strip"\n')
    + line("2026-05-08", "Lead Wren", "hours", 'text = "6h, first half"\nphase = "frame"\nnames = ["Hand Lark"]\n')
    + line("2026-05-08", "Lead Wren", "spend", 'amount = "85.00"\nphase = "strip"\ntext = "compactor"\n')
    + line("2026-05-11", "Lead Wren", "punch", 'text = "top rail rough"\n')
    + line("2026-05-11", "Lead Wren", "punch", 'done = 1\ntext = "sanded"\n')
)  # fmt: skip


def parsed(log: str) -> JobFile:
    """The job with prices, hours and a log."""
    return parse_job_bytes(job_text(more=MORE + log).encode(), "job.toml")


def test_the_log_is_entered_by_the_same_operations_once(book: Book, hand: Hand) -> None:
    assert take_job(book, hand, parsed(LOG)).details[-1] == "10 lines of its log entered"
    money = money_of(book, CODE, DAY)
    conserved(money)
    assert (money.contract_cents, money.invoiced_cents, money.paid_cents, money.due_cents) == (
        535_000,
        100_000,
        40_000,
        60_000,
    )
    assert [draw.name for draw in money.draws] == ["deposit", "final", "change 1"]
    (paid,), (spent,) = money.payments, money.spent
    assert (str(paid.on), paid.how, paid.who) == ("2026-05-06", "check 118", "Owner Plover")
    assert (spent.phase, spent.cents, str(spent.on), spent.who) == ("strip", 8_500, "2026-05-08", "Lead Wren")
    assert str(money.invoices[0].invoice.day) == "2026-05-05"
    hours = hours_of(book, CODE, DAY)
    assert [(s.phase, s.total_minutes, str(s.day)) for s in hours.stints] == [
        ("strip", 900, "2026-05-08"), ("frame", 360, "2026-05-08"),
    ]  # fmt: skip
    assert hours.stints[1].names == ("Hand Lark",) and hours.stints[1].note == "first half"
    (item,) = handover(book, CODE, DAY).punch
    assert (item.text, item.done_note, str(item.done)) == ("top rail rough", "sanded", "2026-05-11")
    before = doctor(book.path).entries
    again = take_job(book, hand, parsed(LOG))
    assert (again.change, again.details, doctor(book.path).entries) == ("unchanged", (), before)
    assert doctor(book.path).problems == ()


def test_two_lines_alike_are_two_entries_and_a_longer_log_enters_the_new_ones(book: Book, hand: Hand) -> None:
    twice = line("2026-05-08", "Lead Wren", "hours", 'text = "1h strip"\n') * 2
    take_job(book, hand, parsed(twice))
    assert hours_of(book, CODE, DAY).minutes == 120
    more = twice + line("2026-05-11", "Lead Wren", "hours", 'text = "30 min strip"\n')
    assert take_job(book, hand, parsed(more)).details[-1] == "1 line of its log entered"
    assert hours_of(book, CODE, DAY).minutes == 150


def test_a_quote_of_the_log_stands_though_items_have_no_price(book: Book, hand: Hand) -> None:
    text = job_text(more=line("2026-05-04", "Owner Plover", "quote"))
    take_job(book, hand, parse_job_bytes(text.encode(), "job.toml"))
    assert money_of(book, CODE, DAY).unpriced


@pytest.mark.parametrize(
    ("log", "why"),
    [
        (line("2026-05-05", "Owner Plover", "accept"), r"log line 1 \(2026-05-05, accept\): 26-101 has no quote yet"),
        (line("2026-05-05", "Owner Plover", "invoice"), r"log line 1 \(2026-05-05, invoice\): no quote of 26-101 is accepted"),
        (line("2026-05-05", "Owner Plover", "quote", 'options = ["2x6: bord=2x6"]\n'), r"cannot change 'bord' \(did you mean board\?\)"),
        (line("2026-05-05", "Owner Plover", "quote", 'equipment = ["compactor 85"]\n'), "equipment 'compactor 85' is not understood"),
        (line("2026-05-05", "Owner Plover", "quote", 'draws = ["deposit=70%", "frame=40%"]\n'), "the draws come to 110 % of"),
        (line("2026-05-05", "Lead Wren", "hours", 'text = "25h strip"\n'), "is more than a day has"),
        (line("2026-05-05", "Lead Wren", "punch", 'done = 3\ntext = "x"\n'), "the punch list of 26-101 has no '3'"),
    ],
)  # fmt: skip
def test_what_an_operation_refuses_refuses_the_whole_file(book: Book, hand: Hand, log: str, why: str) -> None:
    with pytest.raises(InputErrors, match=why):
        take_job(book, hand, parsed(log))
    assert doctor(book.path).entries == 0


def test_money_lines_need_a_taker_who_may(book: Book, take: Callable[..., str]) -> None:
    take(code="26-100")
    with pytest.raises(InputErrors, match="Lead Wren may not quote"):
        take_job(book, hand_of("Lead Wren"), parsed(LOG))


def test_the_taker_vouches_and_the_signer_stays_who_the_line_names(book: Book, hand: Hand) -> None:
    take_job(book, hand, parsed(LOG.replace('who = "Owner Plover"', 'who = "Partner Swift"')))
    assert money_of(book, CODE, DAY).quotes[0].who == "Partner Swift"
    assert {person.name: person.may_waive for person in people(book)} == {
        "Owner Plover": True, "Partner Swift": False, "Lead Wren": False,
    }  # fmt: skip
