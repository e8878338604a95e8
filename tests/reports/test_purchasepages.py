"""Purchases and order sheets: what each urgency asks for, and the list as cells."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from datetime import date

import pytest

from tracker.book.buyviews import Part, Purchase, PurchaseLine
from tracker.planning.csvlines import unmarked
from tracker.reports.ordersheet import order_sheets
from tracker.reports.page import plain
from tracker.reports.purchasepages import COLUMNS, buy_csv, buy_page, only_from, urgency_words

DAY = date(2026, 5, 14)  # a Thursday
LINE = PurchaseLine(
    item="2x8x12", title="2x8, 12', UC4A", unit="board", use_category="UC4A", wood="southern pine no.2", quantity=10, pack=4, packed=12,
    price_e4=181_500, cost_cents=21_780, order_by=DAY, needed_on=date(2026, 5, 19), urgency="order today", waits=(), stale=False,
    parts=(Part("26-014", "frame", 6, date(2026, 5, 19)), Part("26-015", "frame", 4, date(2026, 5, 20))),
)  # fmt: skip
YARD = Purchase("Yard One", 2, 8500, 25_000, 21_780, 0, 3220, (LINE,))


@pytest.mark.parametrize(
    ("urgency", "order_by", "lead", "supplier", "said"),
    [
        ("late", date(2026, 5, 12), 2, "Yard One", "LATE: order now"),
        ("late", date(2026, 5, 12), 0, "Yard One", "LATE: pick up now"),
        ("late", date(2026, 5, 12), 0, "", "LATE: buy now"),
        ("order today", DAY, 2, "Yard One", "order today"),
        ("order today", DAY, 0, "Yard One", "pick up today"),
        ("pick up tomorrow", date(2026, 5, 15), 0, "Yard One", "pick up tomorrow"),
        ("pick up tomorrow", date(2026, 5, 15), 2, "Yard One", "order tomorrow"),
        ("pick up tomorrow", date(2026, 5, 18), 0, "Yard One", "pick up Mon 18 May"),
        ("can wait", date(2026, 5, 20), 2, "Yard One", "can wait: order by Wed 20 May or later"),
    ],
)
def test_what_an_urgency_asks_for(urgency: str, order_by: date, lead: int, supplier: str, said: str) -> None:
    line = replace(LINE, urgency=urgency, order_by=order_by)
    assert urgency_words(line, replace(YARD, lead_days=lead, supplier=supplier), DAY) == said


def test_a_page_says_packs_the_least_order_and_that_nothing_is_left() -> None:
    text = plain(buy_page([YARD], DAY))
    assert "12 boards" in text and "2x8x12 comes in packs: 3 x 4, 10 needed" in text
    assert "least order of $250.00 not reached: $32.20 short" in text and "OLD" not in text
    assert plain(buy_page([], DAY)).startswith("Nothing left to buy")


def test_a_late_line_says_every_phase_that_waits_and_each_phase_all_it_waits_for() -> None:
    late = replace(LINE, urgency="late", order_by=date(2026, 5, 12), waits=("Pads of 26-014", "Pads of 26-021"))
    other = replace(late, item="block", waits=("Pads of 26-021",))
    text = plain(buy_page([replace(YARD, lines=(late, other))], DAY))
    assert "holds Pads of 26-014: 2x8x12\n" in text and "holds Pads of 26-021: 2x8x12 and block\n" in text
    assert late.holds == "Pads of 26-014; Pads of 26-021"


def test_cells_are_numbers_or_texts_that_are_read_back() -> None:
    # What a spreadsheet runs: OWASP, "CSV Injection" (from memory).
    nasty = replace(
        YARD, supplier="=cmd()", lines=(replace(LINE, title='@sum, "quoted"', waits=("-1",), cost_cents=None),)
    )
    header, row = csv.reader(io.StringIO(buy_csv([nasty])))
    assert tuple(header) == COLUMNS
    cells = dict(zip(header, row, strict=True))
    assert (cells["supplier"], cells["title"], cells["holds"]) == ("'=cmd()", '\'@sum, "quoted"', "'-1")
    assert [unmarked(cells[name]) for name in ("supplier", "title", "holds")] == ["=cmd()", '@sum, "quoted"', "-1"]
    assert (cells["needed"], cells["pack"], cells["buy"], cells["cost"]) == ("10", "4", "12", "")
    assert cells["jobs"] == "26-014 frame 6; 26-015 frame 4"


def test_an_order_sheet_holds_what_the_supplier_must_know() -> None:
    asked = replace(LINE, item="block", title="concrete pad block", unit="piece", cost_cents=None, stale=True, pack=1)
    text = order_sheets([replace(YARD, lines=(LINE, asked), unpriced=1), replace(YARD, supplier="")], DAY, "R. Stone")
    first, second = text.split("\f")
    assert first.startswith("ORDER to Yard One\nThursday 14 May 2026, from R. Stone\nfor 26-014, 26-015\n")
    for part in ("packs of 4", "to be asked", "old price", "Goods: at least $217.80, 1 item not priced"):
        assert part in " ".join(first.split())
    assert "Delivery: $85.00; in all at least $302.80" in first and "(UC4A) or better" in first
    assert second.startswith("ORDER to ....")


def test_one_supplier_in_any_case() -> None:
    assert only_from([YARD, replace(YARD, supplier="")], " yard ONE ") == (YARD,)
