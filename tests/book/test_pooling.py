"""Bought together, never mixed: wood, grade, use category, price and pack tell lines apart; packs are shared, sums add up.

Suppliers and prices are invented; expected figures are worked by hand beside each test.
"""

from __future__ import annotations

import csv
import io
import json
from contextlib import closing
from datetime import date, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.book.conftest import DAY, hand_of, job_text
from tests.invented import platform_text
from tests.often import examples
from tracker.book.buying import cost_of, cut_list, needs_and_purchases, purchases
from tracker.book.buyviews import PurchaseLine
from tracker.book.jobs import job_view, take_job
from tracker.book.lots import lots, needs, order, order_shared
from tracker.book.opening import Book, open_book
from tracker.book.pooling import URGENCIES, pooled, with_shares
from tracker.book.prices import take_prices
from tracker.book.pricing import price_job
from tracker.book.sheet import day_sheet
from tracker.book.views import NeedView
from tracker.errors import InputError
from tracker.planning.estimate import Kind
from tracker.reports.costpages import cost_page
from tracker.reports.estimatepage import price_page
from tracker.reports.jsonable import sheet_json
from tracker.reports.ordersheet import order_sheet
from tracker.reports.page import Grid, Page, plain
from tracker.reports.purchasepages import buy_csv, buy_page, purchase_json
from tracker.reports.words import pieces
from tracker.trade.money import format_money

OWNER = hand_of("Owner Plover")
PINE, FIR = "southern pine no.2", "douglas fir-larch no.2"
HEAD = "supplier,item,price,pack,use,wood\n"


def take(
    book: Book, code: str = "26-101", *, fir: bool = False, use: str = "UC4A", more: str = "", top: str = ""
) -> None:
    text = top + job_text(code, more=more).replace('use = "UC4A"', f'use = "{use}"')
    if fir:
        text = text.replace('species = "southern pine"\ngrade', 'species = "douglas fir-larch"\ngrade')
    take_job(book, OWNER, parse_job(text))


def parse_job(text: str):  # type: ignore[no-untyped-def]
    from tracker.trade.jobfile import parse_job_bytes

    return parse_job_bytes(text.encode(), "job.toml")


def prices(book: Book, *lines: str) -> None:
    take_prices(book, OWNER, (HEAD + "\n".join(lines)).encode(), "prices.csv")


def lines_of(book: Book, item: str) -> list[PurchaseLine]:
    return [line for bought in purchases(book, DAY) for line in bought.lines if line.item == item]


def test_boards_of_two_woods_are_two_lines_on_every_surface_priced_or_not(book: Book) -> None:
    take(book, "26-101", fir=True)
    take(book, "26-102")
    take(book, "26-103")
    for priced in (False, True):
        if priced:
            prices(book, "Yard One,2x6x14,20.00,1,,southern pine")
        alone = {code: sum(n.to_buy for n in needs(book, DAY, [code]) if n.item == "2x6x14")
                 for code in ("26-101", "26-102", "26-103")}  # fmt: skip
        assert min(alone.values()) > 0
        found = {line.wood: line for line in lines_of(book, "2x6x14")}
        assert {wood: line.quantity for wood, line in found.items()} == {
            FIR: alone["26-101"],
            PINE: alone["26-102"] + alone["26-103"],
        }
        assert FIR in found[FIR].title and PINE in found[PINE].title
        assert {part.job for part in found[FIR].parts} == {"26-101"}
        assert found[FIR].cost_cents is None
        assert found[PINE].cost_cents == (found[PINE].quantity * 2000 if priced else None)
        bought = purchases(book, DAY)
        rows = [row for row in csv.DictReader(io.StringIO(buy_csv(bought))) if row["item"] == "2x6x14"]
        assert {row["wood"]: int(row["needed"]) for row in rows} == {w: line.quantity for w, line in found.items()}
        told = json.loads(json.dumps([purchase_json(one) for one in bought]))
        assert sorted(line["wood"] for one in told for line in one["lines"] if line["item"] == "2x6x14") == sorted(
            found
        )
        pages = [buy_page(bought, DAY), *(order_sheet(one, DAY, "Owner") for one in bought)]
        rows_of = [row for page in pages for part in page if isinstance(part, Grid) for row in part.rows]
        for line in found.values():
            assert sum(row[:3] == (pieces(line.packed, "board"), line.title, "2x6x14") for row in rows_of) == 2
        totals = {title: number for item, title, _, number in day_sheet(book, DAY).buy_totals if item == "2x6x14"}
        assert sorted(totals.values()) == sorted(line.quantity for line in found.values())
        together = cut_list(book, DAY, [])
        assert {(size.size, size.wood) for size in together.sizes} >= {("2x6", FIR), ("2x6", PINE)}


def test_use_categories_are_never_cut_or_bought_as_one(book: Book) -> None:
    take(book, "26-101")
    take(book, "26-102", use="UC3B")
    assert sorted(line.use_category for line in lines_of(book, "2x6x14")) == ["UC3B", "UC4A"]
    sizes = cut_list(book, DAY, []).sizes
    assert sorted((size.size, size.use) for size in sizes if size.size == "2x6") == [("2x6", "UC3B"), ("2x6", "UC4A")]
    assert len({size.key for size in sizes}) == len(sizes)


def test_a_job_with_two_woods_orders_each_as_itself_and_has_it_as_itself(book: Book) -> None:
    second = platform_text("low").replace('species = "southern pine"\ngrade', 'species = "douglas fir-larch"\ngrade')
    take(book, "26-101", more=second, top='no_permit = "the office (invented), 4 May"\n')
    lacking = {need.wood: need.to_buy for need in needs(book, DAY) if need.item == "2x6x14"}
    assert set(lacking) == {FIR, PINE} and min(lacking.values()) > 0
    with pytest.raises(InputError, match=f"needs 2x6x14 of {FIR} and {PINE}"):
        order(book, OWNER, "26-101", "2x6x14", 2)
    with pytest.raises(InputError, match="needs no 2x6x14 of hem-fir"):
        order(book, OWNER, "26-101", "2x6x14", 2, wood="hem-fir")
    order(book, OWNER, "26-101", "2x6x14", lacking[FIR], wood=FIR.upper())
    assert [lot.wood for lot in lots(book, "26-101", DAY)] == [FIR]
    after = {need.wood: (need.on_order, need.to_buy) for need in needs(book, DAY) if need.item == "2x6x14"}
    assert after == {FIR: (lacking[FIR], 0), PINE: (0, lacking[PINE])}
    order(book, OWNER, "26-101", "2x6x14", 1)  # only one of the two is lacking by now: it is that one
    assert [lot.wood for lot in lots(book, "26-101", DAY)] == [FIR, PINE]
    assert next(line.wood for line in lines_of(book, "2x6x14")) == PINE
    items = [(item.key, item.wood) for item in cost_of(book, "26-101", DAY).items if item.key == "2x6x14"]
    assert sorted(items) == [("2x6x14", FIR), ("2x6x14", PINE)]


def test_a_past_day_knows_lots_from_before_they_knew_their_wood(book: Book) -> None:
    take(book)
    order(book, OWNER, "26-101", "2x6x14", 2)
    assert [lot.wood for lot in job_view(book, "26-101", DAY).lots] == [PINE]
    sheet = sheet_json(day_sheet(book, DAY))
    with book.writing() as session:
        session.connection().exec_driver_sql("DROP TRIGGER standing_no_update")
        session.connection().exec_driver_sql(
            "UPDATE standing SET body = json_remove(body, '$.wood') WHERE kind = 'lot'"
        )
    assert sheet_json(day_sheet(book, DAY)) == sheet


def test_a_jobs_own_price_is_what_its_boards_cost_in_the_pooled_purchase(book: Book) -> None:
    own = '[prices]\n"2x6x14" = {}\n'
    prices(book, "Yard One,2x6x14,20.00,1,,")
    take(book, "26-101")
    text = job_text("26-102").replace("[site_facts]", own.format("17.50") + "[site_facts]")
    take_job(book, OWNER, parse_job(text))
    lines = {line.price_e4: line for line in lines_of(book, "2x6x14")}
    alone = {
        code: sum(n.to_buy for n in needs(book, DAY, [code]) if n.item == "2x6x14") for code in ("26-101", "26-102")
    }
    assert lines[200_000].cost_cents == alone["26-101"] * 2000
    assert lines[175_000].cost_cents == alone["26-102"] * 1750
    # At the same price as the book's they are one line again.
    take_job(book, OWNER, parse_job(text.replace("17.50", "20.00")))
    (line,) = lines_of(book, "2x6x14")
    assert (line.quantity, line.cost_cents) == (sum(alone.values()), sum(alone.values()) * 2000)


def test_whole_packs_cost_the_same_in_buy_show_cost_price_and_day_sheet(book: Book) -> None:
    # 40 pads in packs of 12 at 4.30 are 4 packs, 48 pads: 206.40, not 172.00.
    prices(book, "Stone Bay,block,4.30,12,,")
    take(book)
    (line,) = lines_of(book, "block")
    number, packed, whole = 40, 48, 20_640
    assert line.quantity == number
    (need,) = [need for need in needs(book, DAY) if need.item == "block"]
    (made,) = price_job(book, "26-101", DAY).options
    cost = next(item for item in cost_of(book, "26-101", DAY).items if item.key == "block")
    assert line.packed == packed
    assert line.cost_cents == need.cost_cents == cost.estimate_cents == whole
    assert made.estimate.cost_of(Kind.MATERIAL) == whole
    assert f"whole packs of 12: {packed} bought for {number} needed" in " ".join(x.working for x in made.estimate.lines)
    assert day_sheet(book, DAY).totals["cost_to_buy_cents"] == whole
    assert job_view(book, "26-101", DAY).line.bought.needed_cents == whole


def need(job: str, quantity: int, days: int, *, price: int | None = 21_500, pack: int = 10, wood: str = "") -> NeedView:
    day = DAY + timedelta(days=days)
    return NeedView(job, "lag", "lag", "piece", f"phase{days}", day, quantity, 0, 0, 0, quantity, None, (),
                    supplier="Bolt Shelf", pack=pack, order_by=day, wood=wood, price_e4=price)  # fmt: skip


def test_what_is_left_of_a_pack_that_is_opened_now_goes_to_what_comes_later() -> None:
    # 4 are late: a pack of 10 leaves 6, so of 8 that can wait 2 are still lacking: another pack. 20 at 2.15 = 43.00.
    first, later = need("26-101", 4, 0), need("26-102", 8, 9)
    lines = pooled([(later, URGENCIES[3]), (first, URGENCIES[0])])
    assert [(line.needs, line.quantities, line.packed, line.cost_cents) for line in lines] == [
        ((first, later), (4, 6), 10, 2150),
        ((later,), (2,), 10, 2150),
    ]
    # 6 that can wait are all in the pack that is opened: there is no second line.
    (line,) = pooled([(first, URGENCIES[0]), (need("26-102", 6, 9), URGENCIES[3])])
    assert (line.quantities, line.packed, line.cost_cents) == ((4, 6), 10, 2150)
    # What both need together costs 43.00 in whole packs, shared 4 : 8 = 14.33 + 28.67.
    assert [share.cost_cents for share in with_shares([first, later])] == [1433, 2867]


NEEDS = st.lists(
    st.builds(
        need,
        st.sampled_from(["26-101", "26-102", "26-103"]),
        st.integers(0, 40),
        st.integers(0, 6),
        price=st.sampled_from([None, 21_500, 333]),
        pack=st.sampled_from([1, 7, 10]),
        wood=st.sampled_from(["", "fir", "pine"]),
    ),
    max_size=12,
)


@given(NEEDS)
def test_pooled_lines_are_the_sums_of_their_parts_and_of_one_kind(found: list[NeedView]) -> None:
    lines = pooled([(one, URGENCIES[min(one.needed_on.day % 4, 3)]) for one in found])
    assert sum(line.quantity for line in lines) == sum(one.to_buy for one in found)
    for line in lines:
        assert len({(one.wood, one.price_e4, one.pack) for one in line.needs}) == 1
        assert all(number > 0 for number in line.quantities)
        assert line.packed % line.needs[0].pack == 0
    for kind in {(one.wood, one.price_e4, one.pack) for one in found}:
        mine = [line for line in lines if (line.needs[0].wood, line.needs[0].price_e4, line.needs[0].pack) == kind]
        lacking = sum(one.to_buy for one in found if (one.wood, one.price_e4, one.pack) == kind)
        assert lacking <= sum(line.packed for line in mine) < lacking + kind[2]  # never a pack too many
    shares = with_shares(found)
    assert sum(one.cost_cents or 0 for one in shares) == sum(line.cost_cents or 0 for line in lines)
    assert all((one.cost_cents is None) is (one.price_e4 is None) for one in shares)


JOBS = st.lists(st.tuples(st.booleans(), st.sampled_from(["UC4A", "UC3B"]), st.booleans()), min_size=1, max_size=3)
BOARDS = st.lists(
    st.tuples(st.sampled_from(["2x6x14", "2x6x12", "5/4x6x12", "block", "nails 16d"]), st.integers(100, 5000),
              st.sampled_from([1, 4, 10]), st.sampled_from(["", "southern pine", "douglas fir-larch"])),
    max_size=6, unique_by=lambda one: (one[0], one[3]),
)  # fmt: skip


@settings(max_examples=examples(6, 120), deadline=None)
@given(JOBS, BOARDS, st.integers(0, 12))
def test_all_surfaces_come_to_the_same_sum_whatever_the_book(
    jobs: list[tuple[bool, str, bool]], offers: list[tuple[str, int, int, str]], ordered: int
) -> None:
    with TemporaryDirectory() as folder, closing(open_book(Path(folder) / "jobs.book")) as book:
        if offers:
            prices(book, *(f"Yard One,{i},{c // 100}.{c % 100:02d},{pack},,{wood}" for i, c, pack, wood in offers))
        for number, (fir, use, own) in enumerate(jobs):
            text = '[prices]\n"block" = 7.77\n' if own else ""
            take(book, f"26-10{number}", fir=fir, use=use)
            if own:
                job = job_text(f"26-10{number}").replace("[site_facts]", f"{text}[site_facts]")
                take_job(book, OWNER, parse_job(job))
        if ordered:
            order(book, OWNER, "26-100", "2x6x12", ordered, anyway=True)  # UC3B that near the ground is asked about
        wanted, bought = needs_and_purchases(book, DAY)
        total = sum(purchase.cost_cents for purchase in bought)
        assert total == sum(line.cost_cents or 0 for purchase in bought for line in purchase.lines)
        assert total == sum(one.cost_cents or 0 for one in wanted)
        sheet = day_sheet(book, DAY)
        assert total == sheet.totals["cost_to_buy_cents"]
        shown = [one for job in sheet.jobs for one in job.to_buy]
        assert sorted(map(str, shown)) == sorted(str(one) for one in wanted if one.to_buy)
        for purchase in bought:
            for line in purchase.lines:
                assert line.quantity == sum(part.quantity for part in line.parts)
        for number in range(len(jobs)):
            code = f"26-10{number}"
            mine = needs(book, DAY, [code])
            alone = sum(purchase.cost_cents for purchase in purchases(book, DAY, [code]))
            assert alone == sum(one.cost_cents or 0 for one in mine)
            if not (number == 0 and ordered):
                (made,) = price_job(book, code, DAY).options
                assert made.estimate.cost_of(Kind.MATERIAL) == cost_of(book, code, DAY).total.estimate_cents == alone


def test_an_order_for_several_jobs_is_of_the_wood_of_its_line(book: Book) -> None:
    take(book, "26-101")
    take(book, "26-102")
    (line,) = lines_of(book, "2x6x14")
    order_shared(book, OWNER, line.item, line.shares(line.packed), "Yard One", date(2026, 5, 20), line.wood)
    assert [lot.wood for code in ("26-101", "26-102") for lot in lots(book, code, DAY)] == [PINE, PINE]


def test_price_and_cost_say_what_the_job_has_already(book: Book) -> None:
    # Ten boards of 16 ft are here; the plan cuts them first, so what the list as it stands is worth is not what the job costs.
    prices(book, *(f"Yard One,2x6x{feet},{feet}.00,1,," for feet in (8, 10, 12, 14, 16)))
    take(book)
    assert cost_of(book, "26-101", DAY).afresh_cents is None and not price_job(book, "26-101", DAY).has_lots
    order(book, OWNER, "26-101", "2x6x16", 10)
    found, priced = cost_of(book, "26-101", DAY), price_job(book, "26-101", DAY)
    material = priced.options[0].estimate.cost_of(Kind.MATERIAL)
    assert found.afresh_cents == material != found.total.estimate_cents
    assert priced.has_lots
    assert f"as if nothing were bought, as `deckjobs price` reckons: at least {format_money(material)}" in flat(
        cost_page(found)
    )
    assert "as if nothing were bought yet; `deckjobs cost 26-101` counts what it has first" in flat(price_page(priced))


def flat(page: Page) -> str:
    return " ".join(plain(page, 200).split())


def test_boards_bought_together_take_a_price_of_a_jobs_own_only_when_all_have_it(book: Book) -> None:
    prices(book, *(f"Yard One,2x6x{feet},{feet}.00,1,," for feet in (8, 10, 12, 14, 16)))
    own = job_text("26-102").replace("[site_facts]", '[prices]\n"2x6x14" = 0.50\n[site_facts]')
    take(book)
    take_job(book, OWNER, parse_job(own))

    def price_of(codes: list[str]) -> set[int]:
        stocks = [stock for size in cut_list(book, DAY, codes).sizes if size.size == "2x6" for stock in size.stocks]
        return {stock.cost_e4 for stock in stocks if stock.name == "2x6x14"}

    assert price_of(["26-102"]) == {5_000}
    assert price_of(["26-101", "26-102"]) == price_of(["26-102", "26-101"]) == {140_000}
    take_job(book, OWNER, parse_job(own.replace("26-102", "26-101")))
    assert price_of(["26-101", "26-102"]) == {5_000}
