"""Buying: proven cut plans against the stock a job has, purchases by supplier and day, offcuts, transfers, cost.

Prices and suppliers are invented; expected figures are worked by hand beside each test.
"""

from __future__ import annotations

import sqlite3
import tempfile
from collections.abc import Callable
from contextlib import closing, suppress
from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule

from tests.book.conftest import DAY, hand_of, job_text
from tests.often import examples
from tracker.book.buying import cost_of, cut_list, material_list, plan_now, purchases, unplanned
from tracker.book.gates import sign_off
from tracker.book.hand import Hand
from tracker.book.jobs import job_lines, job_view, take_job
from tracker.book.lots import give_back, lots, needs, order, receive, use
from tracker.book.morning import morning
from tracker.book.offcuts import put_back, transfer
from tracker.book.opening import Book, open_book
from tracker.book.prices import take_prices
from tracker.book.readings import record, waive
from tracker.book.receiving import inspect, receive_ticket
from tracker.book.sheet import day_sheet
from tracker.book.views import NeedView
from tracker.errors import InputError, RefusedError
from tracker.planning.material import SizePlan
from tracker.trade.jobfile import parse_job_bytes
from tracker.trade.lengths import FOOT, INCH

Take = Callable[..., str]
OWNER = hand_of("Owner Plover")

PRICES = """supplier,item,price,pack,seen,use,wood,lead_days,delivery,minimum
Yard One,2x6x8,7.10,1,2026-05-01,,,3,45.00,300.00
Yard One,2x6x10,9.20,1,2026-05-01,,,3,45.00,300.00
Yard One,2x6x12,11.90,1,2026-05-01,,,3,45.00,300.00
Yard One,2x6x14,14.20,1,2026-05-01,,,3,45.00,300.00
Yard One,2x6x16,15.80,1,2026-05-01,,,3,45.00,300.00
Stone Bay,block,8.90,4,2026-03-01,,,1,,
"""


def need_of(book: Book, item: str, code: str = "26-101") -> NeedView:
    (need,) = [need for need in needs(book, DAY, [code]) if need.item == item]
    return need


def first_fit_e4(pieces_nm: list[int], size: SizePlan) -> int:
    """What first-fit decreasing pays (Johnson, Demers, Ullman, Garey, Graham, SIAM J. Computing 3, 1974; from memory): each
    piece on the first stick with room, each stick then from the cheapest board that holds it; the best over the lengths
    to open sticks with. Written apart from the planner, as a yardstick.
    """
    plan, boards = size.plan, [(stock.length_nm, stock.cost_e4) for stock in size.stocks if stock.limit is None]
    costs: list[int] = []
    for most, _ in boards:
        sticks: list[int] = []
        for nm in pieces_nm:
            room = [at for at, used in enumerate(sticks) if used + plan.kerf_nm + nm <= most]
            if room:
                sticks[room[0]] += plan.kerf_nm + nm
            else:
                sticks.append(plan.trim_nm + nm)
        if all(used <= most for used in sticks):
            costs.append(sum(min(cost for nm, cost in boards if nm >= used) for used in sticks))
    return min(costs)


def test_the_cut_list_is_proven_and_never_dearer_than_first_fit(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    take_prices(book, hand, PRICES.encode(), "prices.csv")
    view = cut_list(book, DAY, [code])
    two_by_six = next(size for size in view.sizes if size.size == "2x6")
    assert two_by_six.priced and two_by_six.plan.proven
    assert two_by_six.plan.cost_e4 == sum(stick.stock.cost_e4 for stick in two_by_six.plan.sticks)
    assert two_by_six.plan.cost_e4 <= two_by_six.plan.first_e4
    pieces = sorted((nm for stick in two_by_six.plan.sticks for nm in stick.cuts_nm), reverse=True)
    assert two_by_six.plan.cost_e4 <= first_fit_e4(pieces, two_by_six)
    assert len(two_by_six.uses) == len(two_by_six.plan.sticks)


def test_progress_shows_a_first_plan_at_once_and_can_stop(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    seen: list[int] = []

    def stop(plan: object, bound_e4: int) -> bool:
        seen.append(1)
        return False

    view = cut_list(book, DAY, [code], stop)
    assert seen and all(size.plan.sticks for size in view.sizes)
    assert all(size.plan.bound_e4 <= size.plan.cost_e4 for size in view.sizes)


def test_boards_the_job_has_come_first(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    before = need_of(book, "2x6x14")
    order(book, hand, code, "2x6x16", 3, lot="X1")
    after = {need.item: need for need in needs(book, DAY, [code]) if need.item.startswith("2x6")}
    # Boards that are ordered cost nothing more: the plan cuts them before it buys others.
    assert after["2x6x16"].on_order == after["2x6x16"].need <= 3
    assert sum(need.to_buy for need in after.values()) < before.need + 3


def test_a_signed_off_phase_takes_its_boards_out_of_the_plan(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    for need in needs(book, DAY, [code]):
        if need.phase == "frame" and need.to_buy:
            order(book, hand, code, need.item, need.to_buy)
    for lot in lots(book, code, DAY):
        receive(book, hand, code, lot.code, lot.ordered)
    for phase in job_view(book, code, DAY).phases:
        for check in phase.checks:
            if not check.settled:
                waive(book, hand, code, check.key, "not measured in this test")
        sign_off(book, hand, code, phase.key)
        if phase.key == "frame":
            break
    assert not [need for need in needs(book, DAY, [code]) if need.phase == "frame"]


def test_purchases_are_by_supplier_day_and_whole_packs(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    take(code="26-102", title="Heron Close platform")
    take_prices(book, hand, PRICES.encode(), "prices.csv")
    found = {purchase.supplier: purchase for purchase in purchases(book, DAY)}
    assert list(found)[-1] == "" and {"Yard One", "Stone Bay"} <= set(found)
    stone = found["Stone Bay"]
    line = next(line for line in stone.lines if line.item == "block")
    quantity = need_of(book, "block").to_buy + need_of(book, "block", "26-102").to_buy
    assert line.quantity == quantity and line.packed == -(-quantity // 4) * 4
    assert line.cost_cents == line.packed * 890
    assert {part.job for part in line.parts} == {code, "26-102"}
    assert line.stale  # seen 1 March; the house rule says 30 days
    yard = found["Yard One"]
    assert (yard.lead_days, yard.delivery_cents, yard.minimum_cents) == (3, 4500, 30000)
    assert yard.short_of_minimum_cents == max(30000 - yard.cost_cents, 0)
    need = need_of(book, yard.lines[0].item)
    # Monday to Friday, 3 working days of lead and 1 of margin: four working days before the day it is needed.
    assert need.order_by is not None
    assert (
        sum((need.order_by + timedelta(days=n + 1)).weekday() < 5 for n in range((need.needed_on - need.order_by).days))
        == 4
    )
    assert all(line.urgency == "late" and line.holds for line in yard.lines if line.order_by < DAY)


def test_every_phase_that_the_morning_calls_late_to_order_for_is_one_a_purchase_holds(
    book: Book, hand: Hand, take: Take
) -> None:
    codes = (take(), take(code="26-102", title="Heron Close platform"))
    take_prices(book, hand, PRICES.encode(), "prices.csv")
    found = purchases(book, DAY)
    held = {waiting for purchase in found for line in purchase.lines for waiting in line.waits}
    titles = {(code, phase.key): phase.title for code in codes for phase in job_view(book, code, DAY).phases}
    late = {
        f"{titles[need.job, need.phase]} of {need.job}"
        for need in needs(book, DAY)
        if need.to_buy and need.order_by is not None and need.order_by < DAY
    }
    assert held == late and {waiting[-6:] for waiting in held} == set(codes)


def test_a_dearer_offer_loses_and_a_narrower_one_wins(book: Book, hand: Hand, take: Take) -> None:
    take()
    take_prices(
        book, hand,
        b"supplier,item,price,use\nDear Yard,2x6x12,20.00,\nCheap Yard,2x6x12,10.00,\nRight Yard,2x6x12,12.00,UC4A\n", "p.csv",
    )  # fmt: skip
    assert {n.supplier for n in needs(book, DAY) if n.item == "2x6x12"} == {"Right Yard"}


def test_an_offcut_is_put_back_and_used_by_the_next_plan(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    order(book, hand, code, "2x6x16", 4, lot="X1")
    receive(book, hand, code, "X1", 4)
    with pytest.raises(InputError, match="0 boards used, so 2 offcuts cannot be left"):
        put_back(book, hand, code, "X1", 5 * FOOT, 2)
    use(book, hand, code, "X1", 4)
    done = put_back(book, hand, code, "X1", 5 * FOOT + 7 * INCH // 2, 2)
    assert done.text == "lot L1: 2 offcuts of 5' 3-1/2\" put back"
    offcut = next(lot for lot in lots(book, code, DAY) if lot.code == "L1")
    assert (offcut.item, offcut.found, offcut.on_hand, offcut.on_order) == ("2x6x5ft3.5in", 2, 2, 0)
    with pytest.raises(InputError, match="is no offcut of a 16' board"):
        put_back(book, hand, code, "X1", 16 * FOOT, 1)
    order(book, hand, code, "block", 4, lot="B1")
    with pytest.raises(InputError, match="lot B1 is block, not boards"):
        put_back(book, hand, code, "B1", FOOT, 1)


def test_pieces_move_between_jobs_in_one_transaction(book: Book, hand: Hand, take: Take) -> None:
    code, other = take(), take(code="26-102", title="Heron Close platform")
    order(book, hand, code, "block", 20, lot="B1")
    receive(book, hand, code, "B1", 20)
    with pytest.raises(RefusedError, match="has 20 on hand, not 21"):
        transfer(book, hand, code, "B1", 21, other)
    with pytest.raises(InputError, match="is the job it comes from"):
        transfer(book, hand, code, "B1", 1, code)
    transfer(book, hand, code, "B1", 6, other)
    (mine,), (theirs,) = lots(book, code, DAY), lots(book, other, DAY)
    assert (mine.on_hand, mine.moved_out, theirs.item, theirs.on_hand, theirs.found) == (14, 6, "block", 6, 6)
    transfer(book, hand, code, "B1", 1, other)
    assert lots(book, other, DAY)[0].on_hand == 7


def test_a_ticket_is_received_in_one_pass_or_not_at_all(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    order(book, hand, code, "block", 20, lot="B1")
    order(book, hand, code, "cloth", 1, lot="C1")
    with pytest.raises(InputError, match="no lot 'C9'"):
        receive_ticket(book, hand, code, {"B1": 20, "C9": 1})
    with pytest.raises(InputError, match="nothing was counted"):
        receive_ticket(book, hand, code, {"B1": 0})
    identity = "0190a000-0000-7000-8000-000000000001"
    done = receive_ticket(book, hand, code, {"B1": 22, "C1": 1}, entry_id=identity)
    assert done.text == "received lot B1 22 pieces, lot C1 1 roll"
    assert done.notices == ("lot B1: that is 2 more than ordered",)
    assert receive_ticket(book, hand, code, {"B1": 22, "C1": 1}, entry_id=identity).already
    assert [lot.received for lot in lots(book, code, DAY)] == [22, 1]


def test_a_lot_that_failed_its_delivery_check_is_not_used(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    order(book, hand, code, "2x6x14", 10, lot="J1")
    order(book, hand, code, "block", 8, lot="B1")
    receive(book, hand, code, "J1", 10)
    receive(book, hand, code, "B1", 8)
    inspect(book, hand, code, "B1", ["count=8"])
    wrong = inspect(book, hand, code, "J1", ["count=10", "stamp=yes", "tag=UC3B"])
    assert wrong.answer is not None and wrong.answer.verdict == "failed"
    assert dict(job_view(book, code, DAY).check("delivery").readings[-1].entered)["B1.count"] == "8"
    with pytest.raises(RefusedError, match="lot J1 failed its delivery check: UC3B where UC4A is needed"):
        use(book, hand, code, "J1", 2)
    use(book, hand, code, "B1", 2)
    give_back(book, hand, code, "J1", 1)
    waive(book, hand, code, "delivery", "only for the blocking, under cover")
    use(book, hand, code, "J1", 2)
    inspect(book, hand, code, "J1", ["tag=UC3B"])
    use(book, hand, code, "J1", 1)  # the same fault, let pass already
    inspect(book, hand, code, "J1", ["tag=none"])
    with pytest.raises(RefusedError, match="delivery check: no tag where UC4A is needed"):
        use(book, hand, code, "J1", 1)
    inspect(book, hand, code, "J1", ["tag=UC4A", "count=10"])
    use(book, hand, code, "J1", 1)
    with pytest.raises(InputError, match="'wet' names no value"):
        inspect(book, hand, code, "J1", ["wet"])


def test_a_short_lot_may_still_be_used(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    order(book, hand, code, "block", 8, lot="B1")
    receive(book, hand, code, "B1", 5)
    record(book, hand, code, "delivery", ["B1.count=5"])
    use(book, hand, code, "B1", 5)


def test_cost_by_phase_adds_up(book: Book, hand: Hand, take: Take) -> None:
    code = take(more='[prices]\nblock = "4.125"\ncloth = "58.00"\n')
    blocks = need_of(book, "block").need
    order(book, hand, code, "block", blocks, lot="B1")  # at 4.125
    order(book, hand, code, "cloth", 1, lot="C1", price_e4=600_000)  # 60.00 paid
    receive(book, hand, code, "B1", 10)
    use(book, hand, code, "B1", 4)
    cost = cost_of(book, code, DAY)
    by_item = {line.key: line for line in cost.items}

    def cents(pieces: int) -> int:
        return (pieces * 41250 + 50) // 100

    assert by_item["block"].estimate_cents == by_item["block"].committed_cents == cents(blocks)
    assert (by_item["block"].received_cents, by_item["block"].used_cents) == (cents(10), cents(4))
    assert (by_item["cloth"].estimate_cents, by_item["cloth"].committed_cents) == (5800, 6000)
    for kind in ("estimate_cents", "committed_cents", "received_cents", "used_cents"):
        assert getattr(cost.total, kind) == sum(getattr(line, kind) for line in cost.phases)
        assert getattr(cost.total, kind) == sum(getattr(line, kind) for line in cost.items)
    assert "2x6x14" in " ".join(cost.unpriced) or any(item.startswith("2x6") for item in cost.unpriced)


def plans_in(path: Path) -> list[tuple[str, int, str]]:
    with closing(sqlite3.connect(path)) as db:
        return db.execute("SELECT digest, proven, body FROM cut_plan ORDER BY digest").fetchall()


def everything(book: Book, first: int = 0) -> list[object]:
    """What each surface says of one day and the day before, asked in turn from the ``first`` on."""
    surfaces: list[Callable[[], object]] = [
        lambda: needs(book, DAY),
        lambda: purchases(book, DAY),
        lambda: job_lines(book, DAY),
        lambda: job_view(book, "26-101", DAY),
        lambda: day_sheet(book, DAY),
        lambda: day_sheet(book, DAY - timedelta(days=1)),
        lambda: material_list(book, "26-101", DAY),
        lambda: cost_of(book, "26-101", DAY),
        lambda: cut_list(book, DAY, ["26-101"]),
        lambda: morning(book, DAY),
    ]
    found = {at: surfaces[at]() for at in (*range(first, len(surfaces)), *range(first))}
    return [found[at] for at in sorted(found)]


def test_every_surface_reads_the_same_with_kept_plans_and_without_in_any_order(tmp_path: Path) -> None:
    path = tmp_path / "jobs.book"
    with closing(open_book(path)) as book:
        take_prices(book, OWNER, PRICES.encode(), "prices.csv")
        take_job(book, OWNER, parse_job_bytes(job_text().encode(), "job.toml"))
        order(book, OWNER, "26-101", "2x6x16", 3, lot="X1")
        known = everything(book)
    kept = plans_in(path)
    assert kept and all(proven for _, proven, _ in kept)
    for first, spoil in enumerate(("", "DELETE FROM cut_plan", "UPDATE cut_plan SET body = '{}'",
                                   "UPDATE cut_plan SET body = replace(body, '\"joist\"', '\"rim\"')",
                                   "UPDATE cut_plan SET proven = 0", "")):  # fmt: skip
        if spoil:
            with closing(sqlite3.connect(path)) as db, db:
                db.execute(spoil)
        with closing(open_book(path)) as book:
            assert everything(book, first) == known
        assert plans_in(path) and set(plans_in(path)) <= set(kept)


def test_a_book_that_cannot_be_written_says_the_same_and_keeps_nothing(tmp_path: Path) -> None:
    path = tmp_path / "jobs.book"
    with closing(open_book(path)) as book:
        take_job(book, OWNER, parse_job_bytes(job_text().encode(), "job.toml"))
    before = path.read_bytes()
    with closing(Book(path, view_only=True)) as book:
        seen = everything(book)
    assert path.read_bytes() == before
    with closing(sqlite3.connect(path, isolation_level=None)) as other, closing(open_book(path)) as book:
        other.execute("BEGIN IMMEDIATE")  # another window is writing: nobody waits for it
        assert everything(book) == seen
        other.execute("ROLLBACK")
        assert plans_in(path) == []
        book.write_plans()
    assert plans_in(path) != []


def test_keeping_plans_does_not_look_like_a_change_of_the_book(tmp_path: Path) -> None:
    with closing(open_book(tmp_path / "jobs.book")) as book:
        take_job(book, OWNER, parse_job_bytes(job_text().encode(), "job.toml"))
        stamp = book.stamp()
        plan_now(book, ["26-101"], DAY)
        assert plans_in(book.path)
        assert book.stamp() == stamp


def test_a_plan_that_was_stopped_is_not_kept_and_what_is_not_kept_is_known(tmp_path: Path) -> None:
    with closing(open_book(tmp_path / "jobs.book")) as book:
        take_job(book, OWNER, parse_job_bytes(job_text().encode(), "job.toml"))
        assert unplanned(book, DAY) == ("26-101",)
        plan_now(book, [], DAY, lambda plan, bound_e4: False)
        assert plans_in(book.path) == [] and unplanned(book, DAY) == ("26-101",)
        plan_now(book, [], DAY)
        assert unplanned(book, DAY) == ()
        order(book, OWNER, "26-101", "2x6x16", 3, lot="X1")
        assert unplanned(book, DAY) == ("26-101",)


class Buying(RuleBasedStateMachine):
    """Any sequence of movements of boards, offcuts and goods keeps every item's need covered exactly once."""

    @initialize()
    def begin(self) -> None:
        self.folder = tempfile.TemporaryDirectory()
        self.book = open_book(Path(self.folder.name) / "jobs.book")
        for code in ("26-101", "26-102"):
            take_job(self.book, OWNER, parse_job_bytes(job_text(code).encode(), "job.toml"))

    @rule(item=st.sampled_from(["2x6x12", "2x6x16", "block"]), count=st.integers(1, 20))
    def order(self, item: str, count: int) -> None:
        order(self.book, OWNER, "26-101", item, count, lot=item, anyway=True)

    @rule(
        item=st.sampled_from(["2x6x12", "2x6x16", "block"]),
        count=st.integers(1, 20),
        move=st.sampled_from([receive, use, give_back]),
    )
    def move(self, item: str, count: int, move: Callable[..., object]) -> None:
        how = {"anyway": True} if move is receive else {}
        with suppress(RefusedError, InputError):
            move(self.book, OWNER, "26-101", item, count, **how)

    @rule(item=st.sampled_from(["2x6x12", "2x6x16"]), inches=st.integers(10, 140), count=st.integers(1, 4))
    def offcut(self, item: str, inches: int, count: int) -> None:
        with suppress(InputError):
            put_back(self.book, OWNER, "26-101", item, inches * INCH, count)

    @rule(item=st.sampled_from(["2x6x12", "block"]), count=st.integers(1, 10))
    def transfer(self, item: str, count: int) -> None:
        with suppress(RefusedError, InputError):
            transfer(self.book, OWNER, "26-101", item, count, "26-102")

    @invariant()
    def conserved(self) -> None:
        for code in ("26-101", "26-102"):
            found = lots(self.book, code, DAY)
            assert all(lot.on_hand >= 0 and lot.on_order >= 0 for lot in found)
            for need in needs(self.book, DAY, [code]):
                assert need.need == need.used + need.on_hand + need.on_order + need.to_buy
                assert min(need.used, need.on_hand, need.on_order, need.to_buy) >= 0
                there = [lot for lot in found if lot.item == need.item]
                assert need.on_hand <= sum(lot.on_hand for lot in there)
                assert need.on_order <= sum(lot.on_order for lot in there)

    def teardown(self) -> None:
        self.book.close()
        self.folder.cleanup()


TestBuying = Buying.TestCase
TestBuying.settings = settings(max_examples=examples(8, 160), stateful_step_count=10, deadline=None)


def test_days_before_an_order_day(book: Book, hand: Hand, take: Take) -> None:
    take()
    take_prices(book, hand, PRICES.encode(), "prices.csv")
    later = [line for purchase in purchases(book, date(2026, 4, 20)) for line in purchase.lines]
    assert later and all(line.urgency == "can wait" and not line.holds for line in later)


def test_one_wood_is_never_cut_for_another(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    other = job_text("26-102", "Heron Close platform").replace(
        'species = "southern pine"\ngrade', 'species = "hem-fir"\ngrade'
    )
    take_job(book, hand, parse_job_bytes(other.encode(), "job.toml"))
    take_prices(
        book, hand,
        b"supplier,item,price,wood\nYard One,2x6x14,14.00,southern pine\nYard Two,2x6x14,11.00,hem-fir\n", "p.csv",
    )  # fmt: skip
    order(book, hand, code, "2x6x14", 4, lot="X1")
    view = cut_list(book, DAY, [code, "26-102"])
    sizes = {size.wood: size for size in view.sizes if size.size == "2x6"}
    assert set(sizes) == {"southern pine no.2", "hem-fir no.2"}
    assert sum(stick.stock.limit is not None for stick in sizes["hem-fir no.2"].plan.sticks) == 0
    assert sum(stick.stock.limit is not None for stick in sizes["southern pine no.2"].plan.sticks) == 4
    sellers = {(line.title.rpartition(", ")[2], purchase.supplier) for purchase in purchases(book, DAY)
               for line in purchase.lines if line.item == "2x6x14"}  # fmt: skip
    assert sellers == {("southern pine no.2", "Yard One"), ("hem-fir no.2", "Yard Two")}


def test_culls_expected_are_bought_besides(book: Book, hand: Hand, take: Take) -> None:
    code = take()
    before = sum(need.to_buy for need in needs(book, DAY) if need.item.startswith("2x6"))
    take(code="26-102", more='[rules]\nculls_framing = "10"\n')
    with_culls = [need for need in needs(book, DAY, ["26-102"]) if need.item.startswith("2x6")]
    # One board in ten, rounded up once over all lengths.
    assert sum(need.to_buy for need in with_culls) == before + -(-before // 10)
    assert any("besides for culls, 10 %" in text for need in with_culls for text in need.working)
    assert code
