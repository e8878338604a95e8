"""The morning over all jobs of a real book: what needs a person, crews, deliveries, what to pick up, weather."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta

from tests.book.conftest import DAY, hand_of, job_text
from tests.handed_over import hand_over, oiled
from tracker.book.attention import FIRST_YEAR
from tracker.book.days import add_day_off
from tracker.book.frontviews import NeedsYou, Room, Worry
from tracker.book.gates import hold, sign_off, start
from tracker.book.hand import Hand
from tracker.book.invoices import invoice, receive_payment
from tracker.book.jobs import take_job
from tracker.book.money import accept_quote, quote
from tracker.book.moneymorning import LONG_UNPAID
from tracker.book.morning import morning
from tracker.book.opening import Book
from tracker.book.readings import record, take_back, waive
from tracker.book.samples import sample_files, take_sample, take_sample_prices
from tracker.planning.options import parse_option
from tracker.trade.jobfile import parse_job_bytes

TICKET = ["ticket=1", "called=2026-05-01", "answered=yes", "private=yes"]


def needs(book: Book, worry: Worry, day: date = DAY) -> list[NeedsYou]:
    return [need for need in morning(book, day).needs if need.worry is worry]


def put(book: Book, hand: Hand, text: str) -> None:
    take_job(book, hand, parse_job_bytes(text.encode(), "job.toml"))


def test_an_empty_book_has_an_empty_morning(book: Book) -> None:
    view = morning(book, DAY)
    assert (view.jobs, view.open_jobs, view.needs, view.crews, view.weather) == (0, 0, (), (), ())
    assert view.next_working_day == DAY + timedelta(days=1)


def test_a_new_job_asks_for_its_desk_work_and_goes_there(book: Book, take: Callable[..., str]) -> None:
    code = take()
    (office,) = needs(book, Worry.OFFICE)
    assert (office.job, office.what) == (code, "Site visit")
    assert (office.place.job, office.place.room, office.place.at) == (code, Room.JOB, "visit")
    assert not needs(book, Worry.FAILED)


def test_a_failed_check_comes_with_its_verdict_and_an_undone_sign_off_is_worse(
    book: Book, hand: Hand, take: Callable[..., str]
) -> None:
    code = take()
    racked = ["width=11'", "depth=13'", "ac=17' 5/8", "bd=17' 1/8"]
    for phase in ("visit", "design", "quote"):
        sign_off(book, hand, code, phase)
    start(book, hand, code, "layout")
    record(book, hand, code, "layout-square", racked)
    (failed,) = needs(book, Worry.FAILED)
    assert (
        "between the diagonals" in failed.why
        and "move both back stakes" in failed.do
        and failed.place.at == "layout-square"
    )
    waive(book, hand, code, "layout-square", "measured again by eye")
    sign_off(book, hand, code, "layout")
    assert not needs(book, Worry.FAILED)
    record(book, hand, code, "layout-square", racked)
    (undone,) = needs(book, Worry.UNDONE)
    assert "sign-off of layout undone" in undone.what
    assert morning(book, DAY).needs[0] == undone


def test_a_held_phase_is_one_line_with_its_reason(book: Book, hand: Hand, take: Callable[..., str]) -> None:
    code = take()
    hold(book, hand, code, "visit", "the dog is loose")
    (held,) = needs(book, Worry.HELD)
    assert "dog is loose" in held.why and held.clears.startswith("deckjobs start")


def test_a_ticket_that_runs_out_before_the_digging_ends_is_told_while_it_is_still_good(
    book: Book, hand: Hand, take: Callable[..., str]
) -> None:
    code = take(digging=True)
    for phase in ("visit", "design", "quote"):
        sign_off(book, hand_of("Owner Plover", date(2026, 5, 1)), code, phase)
    start(book, hand_of("Owner Plover", date(2026, 5, 1)), code, "locate")
    record(book, hand, code, "locate", [*TICKET, "expires=2026-06-30"])
    assert not needs(book, Worry.PAPER)
    record(book, hand, code, "locate", [*TICKET, "expires=2026-05-13"])
    (paper,) = needs(book, Worry.PAPER)
    assert paper.place.at == "locate" and "runs out Wed 13 May" in paper.what and "planned to" in paper.why
    assert "Wed 13 May" in paper.do or "call for a new ticket" in paper.do
    record(book, hand, code, "locate", [*TICKET, "expires=2026-05-11"])
    assert [need.place.at for need in needs(book, Worry.FAILED)] == ["locate"]
    assert not needs(book, Worry.PAPER)
    for _ in range(3):
        take_back(book, hand, code, "locate", "another yard")
    assert not needs(book, Worry.PAPER)
    (paper,) = needs(book, Worry.AGAIN)
    assert paper.what == "Utility locate is to be read again" and paper.do == "nobody digs before a new ticket is good"


LOTS = """
[[lot]]
code = "L1"
item = "2x6x12"
supplier = "Yard One"
ordered = 3
promised = {one}
[[lot]]
code = "L2"
item = "2x6x16"
supplier = "Yard One"
ordered = 2
promised = {two}
"""


def test_deliveries_come_overdue_first_and_only_to_the_next_working_day(book: Book, hand: Hand) -> None:
    put(book, hand, job_text("26-101", more=LOTS.format(one="2026-05-13", two="2026-05-11")))
    put(book, hand, job_text("26-102", more=LOTS.format(one="2026-05-12", two="2026-05-14")))
    coming = morning(book, DAY).coming
    assert [(d.job, d.lot) for d in coming] == [("26-101", "L2"), ("26-102", "L1"), ("26-101", "L1")]
    (late,) = needs(book, Worry.LATE)
    assert (late.job, late.place.room) == ("26-101", Room.LOTS) and "Mon 11 May" in late.why


def test_over_a_weekend_the_next_working_day_is_monday(book: Book, hand: Hand) -> None:
    put(book, hand, job_text("26-101", more=LOTS.format(one="2026-05-18", two="2026-05-19")))
    view = morning(book, date(2026, 5, 15))
    assert view.next_working_day == date(2026, 5, 18)
    assert [d.lot for d in view.coming] == ["L1"]


def test_short_material_is_told_once_a_job_and_day_from_the_day_to_order_on(
    book: Book, take: Callable[..., str]
) -> None:
    code = take()
    shorts = needs(book, Worry.SHORT)
    assert {(short.job, short.place.room) for short in shorts} == {(code, Room.BUY)}
    assert all("order" in short.do for short in shorts)
    assert len({(short.due, short.why.rpartition("; needed ")[2]) for short in shorts}) == len(shorts) >= 1
    view = morning(book, DAY)
    assert all(need.to_buy and need.needed_on <= view.next_working_day for need in view.pick_up)


def test_a_crew_on_two_jobs_the_same_day_is_told(book: Book, hand: Hand, take: Callable[..., str]) -> None:
    for code in ("26-101", "26-102"):
        take(code=code)
        for phase in ("visit", "design", "quote"):
            sign_off(book, hand, code, phase)
        start(book, hand, code, "layout")
    view = morning(book, DAY)
    assert [(line.crew, line.job, line.phase, line.day) for line in view.crews] == [
        ("North", "26-101", "layout", 1),
        ("North", "26-102", "layout", 1),
    ]
    assert [key for key, _ in view.crews[0].checks] == ["layout-square"]
    assert (view.clashes[0].crew, view.clashes[0].day, view.clashes[0].jobs) == ("North", DAY, ("26-101", "26-102"))


def test_a_crew_with_nothing_today_shows_what_it_starts_next(book: Book, hand: Hand) -> None:
    put(book, hand, job_text().replace("start = 2026-05-04", "start = 2026-06-01"))
    (line,) = morning(book, DAY).crews
    assert line.day == 0 and line.starts >= date(2026, 6, 1)


def test_weather_lists_outdoor_work_of_these_days_and_a_rain_day(
    book: Book, hand: Hand, take: Callable[..., str]
) -> None:
    code = take()
    for phase in ("visit", "design", "quote"):
        sign_off(book, hand, code, phase)
    start(book, hand, code, "layout")
    found = [work for line in morning(book, DAY).weather for work in line.works]
    assert "layout" in {work.phase for work in found} and "hand-over" not in {work.phase for work in found}
    assert not any(work.rain_day for work in found)
    add_day_off(book, hand, DAY, "rain", rain=True)
    found = [work for line in morning(book, DAY).weather for work in line.works]
    assert [work.rain_day for work in found if work.phase == "layout"] == [True]


def test_the_samples_fill_every_part_of_the_morning(book: Book, hand: Hand) -> None:
    take_sample_prices(book, hand)
    for file in sample_files():
        take_sample(book, hand, file)
    view = morning(book, DAY)
    assert view.jobs == len(sample_files()) == view.open_jobs
    assert {Worry.FAILED, Worry.HELD, Worry.PAPER, Worry.LATE, Worry.SHORT} <= {need.worry for need in view.needs}
    assert [need.worry for need in view.needs] == sorted(need.worry for need in view.needs)
    assert view.crews and view.clashes and view.coming and view.pick_up and view.weather


def test_what_is_ready_to_invoice_and_what_is_long_unpaid_stand_before_the_desk_work(
    book: Book, hand: Hand, take: Callable[..., str]
) -> None:
    code = take()
    quote(book, hand, code, [parse_option("as drawn: price=1000")], unpriced_too=True)
    accept_quote(book, hand, code, "as drawn", ["deposit=10%", "frame=rest"])
    (ready,) = needs(book, Worry.MONEY)
    assert (ready.what, ready.why, ready.do) == ("$100.00 ready to invoice", "for deposit", "invoice it")
    assert (ready.place.job, ready.place.room) == (code, Room.MONEY)
    invoice(book, hand, code)
    assert not needs(book, Worry.MONEY, DAY + LONG_UNPAID)
    (unpaid,) = needs(book, Worry.MONEY, DAY + LONG_UNPAID + timedelta(days=1))
    assert unpaid.what == "$100.00 unpaid" and unpaid.why.startswith("invoice 1 of ")
    receive_payment(book, hand, code, 4000)
    (unpaid,) = needs(book, Worry.MONEY, DAY + LONG_UNPAID + timedelta(days=1))
    assert unpaid.what == "$60.00 unpaid"
    receive_payment(book, hand, code, 6000)
    assert not needs(book, Worry.MONEY, DAY + LONG_UNPAID + timedelta(days=1))


def test_money_of_a_finished_job_is_told_until_it_is_invoiced_and_paid(
    book: Book, hand: Hand, take: Callable[..., str]
) -> None:
    code = take()
    quote(book, hand, code, [parse_option("as drawn: price=1000")], unpriced_too=True)
    accept_quote(book, hand, code, "as drawn", ["deposit=10%", "frame=rest"])
    hand_over(book, hand, code)
    later = DAY + LONG_UNPAID + timedelta(days=1)
    assert morning(book, later).open_jobs == 0
    (ready,) = needs(book, Worry.MONEY, later)
    assert (ready.job, ready.what) == (code, "$1,000.00 ready to invoice")
    assert ready.why == "the job is finished; for deposit and frame"
    invoice(book, hand, code)
    (unpaid,) = needs(book, Worry.MONEY, later)
    assert (unpaid.job, unpaid.what) == (code, "$1,000.00 unpaid")


def test_care_is_desk_work_only_after_its_first_year(book: Book, hand: Hand) -> None:
    put(book, hand, oiled())
    hand_over(book, hand, without=("care",))
    assert not needs(book, Worry.OFFICE) and not needs(book, Worry.OFFICE, DAY + FIRST_YEAR)
    (care,) = needs(book, Worry.OFFICE, DAY + FIRST_YEAR + timedelta(days=1))
    assert care.what == "First-year care"
