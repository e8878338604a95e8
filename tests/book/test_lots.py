"""Lots, and what is left to buy: computed from movements, conserved after any sequence of them."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule

from tests.book.conftest import DAY, hand_of, job_text
from tests.often import examples
from tracker.book.hand import Hand
from tracker.book.jobs import job_lines, job_view, take_job
from tracker.book.lots import cancel, give_back, lots, needs, order, receive, scrap, use
from tracker.book.opening import Book, open_book
from tracker.book.receiving import receive_ticket
from tracker.book.sheet import day_sheet
from tracker.book.undoing import undo
from tracker.book.views import FarMoreError
from tracker.errors import InputError, RefusedError
from tracker.trade.jobfile import parse_job_bytes

Take = Callable[..., str]
OWNER = hand_of("Owner Plover")


def test_a_lot_from_order_to_return(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    assert order(book, hand, code, "block", 20, supplier="Yard One (invented)", promised=DAY).text == (
        "lot L1: ordered 20 pieces of block"
    )
    receive(book, hand, code, "l1", 12)
    use(book, hand, code, "L1", 5)
    give_back(book, hand, code, "L1", 2)
    scrap(book, hand, code, "L1", 1)
    (lot,) = lots(book, code, DAY)
    assert (lot.ordered, lot.received, lot.used, lot.returned, lot.scrapped) == (20, 12, 5, 2, 1)
    assert (lot.on_hand, lot.on_order, lot.promised) == (4, 8, DAY)
    with pytest.raises(RefusedError, match="lot L1 has 4 on hand, not 5") as refused:
        use(book, hand, code, "L1", 5)
    assert refused.value.hint == "receive what has come first: deckjobs receive 26-101 L1 COUNT"
    assert receive(book, hand, code, "L1", 9).notices == ("that is 1 more than ordered",)


def test_far_more_than_is_due_is_refused_until_it_is_said_on_purpose(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    order(book, hand, code, "block", 20)
    with pytest.raises(FarMoreError, match="lot L1 has 20 still to come, not 200 block") as refused:
        receive(book, hand, code, "L1", 200)
    assert "--anyway" in str(refused.value.hint)
    with pytest.raises(FarMoreError, match="not 26 block"):  # over by more than a quarter of 20
        receive_ticket(book, hand, code, {"L1": 26})
    assert receive(book, hand, code, "L1", 25).notices == ("that is 5 more than ordered",)
    with pytest.raises(FarMoreError, match="has 0 still to come, not 20"):  # the same ticket typed twice
        receive(book, hand, code, "L1", 20)
    receive(book, hand, code, "L1", 20, anyway=True)
    assert lots(book, code, DAY)[0].received == 45


def test_far_more_than_the_take_off_is_not_ordered_by_a_slip(book: Book, hand: Hand, take: Take) -> None:
    code = take()  # 40 blocks; joists and rims of 2x6 in 12 and 14 ft
    with pytest.raises(FarMoreError, match="26-101 has 40 pieces of block left to buy, not 400"):
        order(book, hand, code, "block", 400)
    with pytest.raises(FarMoreError, match="not 50"):
        order(book, hand, code, "block", 50)
    order(book, hand, code, "block", 49)
    with pytest.raises(FarMoreError, match="has 0 pieces of block left to buy, not 40"):  # ordered twice
        order(book, hand, code, "block", 40)
    order(book, hand, code, "2x6x12", 14)  # another length than the take-off chose, of the same run
    with pytest.raises(FarMoreError):
        order(book, hand, code, "2x6x12", 40)
    order(book, hand, code, "2x6x12", 40, anyway=True)


def test_an_order_is_canceled_in_part_and_the_rest_keeps_promise_and_price(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    order(book, hand, code, "block", 20, promised=DAY, price_e4=41_250)
    receive(book, hand, code, "L1", 5)
    done = cancel(book, hand, code, "L1", 8, "the smaller deck")
    assert done.text == "lot L1: canceled 8 pieces of block; 7 still to come"
    (lot,) = lots(book, code, DAY)
    assert (lot.ordered, lot.canceled, lot.received, lot.on_order, lot.promised) == (12, 8, 5, 7, DAY)
    with pytest.raises(RefusedError, match="lot L1 has 7 still to come, not 8"):
        cancel(book, hand, code, "L1", 8, "the smaller deck")
    cancel(book, hand, code, "L1", None, "all of it")
    with pytest.raises(RefusedError, match="lot L1 has 0 still to come"):
        cancel(book, hand, code, "L1", None, "again")
    with pytest.raises(RefusedError, match="5 pieces of lot L1 of 26-101 have come of that order"):
        undo(book, hand, code, "1", "never ordered")
    undo(book, hand, code, "2", "another job's")
    with pytest.raises(RefusedError, match="15 pieces of lot L1 of 26-101 are canceled of that order"):
        undo(book, hand, code, "1", "never ordered")
    receive(book, hand, code, "L1", 5)
    undo(book, hand, code, "3", "they can bring them after all")
    assert lots(book, code, DAY)[0].on_order == 8
    (need,) = [need for need in needs(book, DAY) if need.item == "block"]
    assert need.need == need.on_hand + need.on_order + need.to_buy


@pytest.mark.parametrize("quantity", [0, -3, 100_001])
def test_a_senseless_count_is_refused(book: Book, hand: Hand, take: Take, quantity: int) -> None:
    with pytest.raises(InputError, match="is not a number of pieces"):
        order(book, hand, take(), "block", quantity)


def test_names_that_are_not_there(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    with pytest.raises(InputError, match="has no lots yet"):
        receive(book, hand, code, "L1", 1)
    done = order(book, hand, code, "blok", 4, lot="B7", anyway=True)
    assert done.notices == ("blok is not on the take-off of 26-101",)
    with pytest.raises(InputError, match="no lot 'B8'") as refused:
        receive(book, hand, code, "B8", 1)
    assert refused.value.hint == "it has B7"
    with pytest.raises(InputError, match="lot B7 is blok, not block"):
        order(book, hand, code, "block", 4, lot="B7")


def test_an_item_much_like_one_of_the_take_off_is_asked_about_before_it_is_ordered(
    book: Book, hand: Hand, take: Take
) -> None:
    code = take()
    for typed, meant in (("blok", "block"), ("2x7x12", "2x6x12")):
        with pytest.raises(
            RefusedError, match=rf"{typed} is not on the take-off of 26-101 .did you mean {meant}\?"
        ) as no:
            order(book, hand, code, typed, 4)
        assert "--anyway" in no.value.hint
    assert lots(book, code, DAY) == ()
    assert order(book, hand, code, "blok", 4, anyway=True).text == "lot L1: ordered 4 pieces of blok"
    assert order(book, hand, code, "blok", 2).text == "lot L2: ordered 2 pieces of blok"  # on purpose once before
    assert order(book, hand, code, "tarpaulin", 1).notices == ("tarpaulin is not on the take-off of 26-101",)


def test_a_late_delivery_is_what_holds_the_job(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    order(book, hand, code, "block", 20, promised=DAY - timedelta(days=2))
    line = job_lines(book, DAY)[0]
    assert line.hold == "20 pieces block: promised Sun 10 May and not here"
    assert day_sheet(book, DAY).jobs[0].deliveries[0].quantity == 20


def test_returned_and_scrapped_pieces_must_be_bought_again(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    (before,) = [need for need in needs(book, DAY) if need.item == "block"]
    order(book, hand, code, "block", before.need)
    receive(book, hand, code, "L1", before.need)
    scrap(book, hand, code, "L1", 3)
    (after,) = [need for need in needs(book, DAY, [code]) if need.item == "block"]
    assert (after.to_buy, after.on_hand, after.on_order) == (3, before.need - 3, 0)


def test_priced_needs_cost_whole_cents(book: Book, hand: Hand, take: Take) -> None:
    code = take(more='[prices]\nblock = "4.1250"\n')
    (need,) = [need for need in needs(book, DAY) if need.item == "block"]
    assert need.cost_cents == (need.to_buy * 41250 + 50) // 100
    assert job_lines(book, DAY)[0].bought.needed_cents == need.cost_cents
    assert job_view(book, code, DAY).line.bought.cents == 0


class Movements(RuleBasedStateMachine):
    """Any sequence of movements keeps need = used + on hand + on order + to buy, and nothing goes below zero."""

    @initialize()
    def begin(self) -> None:
        self.folder = tempfile.TemporaryDirectory()
        self.book = open_book(Path(self.folder.name) / "jobs.book")
        take_job(self.book, OWNER, parse_job_bytes(job_text().encode(), "job.toml"))
        self.need = {n.item: n.need for n in needs(self.book, DAY) if n.item in ("block", "cloth")}

    @rule(item=st.sampled_from(["block", "cloth"]), count=st.integers(1, 60))
    def order(self, item: str, count: int) -> None:
        order(self.book, OWNER, "26-101", item, count, lot=item.upper(), anyway=True)

    @rule(
        item=st.sampled_from(["block", "cloth"]),
        count=st.integers(1, 60),
        move=st.sampled_from([receive, use, give_back, scrap]),
    )
    def move(self, item: str, count: int, move: Callable[..., object]) -> None:
        before = {lot.code: lot for lot in lots(self.book, "26-101", DAY)}
        try:
            move(self.book, OWNER, "26-101", item.upper(), count)
        except FarMoreError:
            due = before[item.upper()].on_order
            assert move is receive and (count - due >= 10 or 4 * (count - due) > due)
        except RefusedError:
            assert move is not receive and before[item.upper()].on_hand < count
        except InputError:
            assert item.upper() not in before

    @invariant()
    def conserved(self) -> None:
        for need in needs(self.book, DAY):
            if need.item in self.need:
                assert need.need == self.need[need.item] == need.used + need.on_hand + need.on_order + need.to_buy
                assert min(need.used, need.on_hand, need.on_order, need.to_buy) >= 0
        for lot in lots(self.book, "26-101", DAY):
            assert lot.on_hand >= 0 and lot.on_order >= 0

    def teardown(self) -> None:
        self.book.close()
        self.folder.cleanup()


TestMovements = Movements.TestCase
TestMovements.settings = settings(max_examples=examples(12, 240), stateful_step_count=12, deadline=None)


def test_a_past_day_reads_as_it_was_known_that_evening(book: Book, take: Take) -> None:
    code = take()
    order(book, hand_of("Owner Plover", date(2026, 5, 11)), code, "block", 30)
    before = day_sheet(book, date(2026, 5, 11))
    receive(book, hand_of("Lead Wren", date(2026, 5, 12)), code, "L1", 30)
    assert day_sheet(book, date(2026, 5, 11)) == before
    assert day_sheet(book, date(2026, 5, 12)).jobs[0].deliveries == ()


def test_an_open_job_is_listed_from_the_day_it_was_taken(book: Book) -> None:
    file = parse_job_bytes(job_text().encode(), "job.toml")  # starts on 4 May
    take_job(book, hand_of("Owner Plover", date(2026, 5, 1)), file)
    assert day_sheet(book, date(2026, 4, 30)).jobs == ()
    for day in (date(2026, 5, 1), date(2026, 5, 4)):
        assert [sheet.line.code for sheet in day_sheet(book, day).jobs] == ["26-101"]


def test_a_day_before_the_job_was_taken_knows_nothing_of_it(book: Book, take: Take) -> None:
    take()  # on 12 May, though it was to start on 4 May
    assert day_sheet(book, date(2026, 5, 11)).jobs == ()
    assert [sheet.line.code for sheet in day_sheet(book, DAY).jobs] == ["26-101"]
