"""A design that fails holds its quote, its lumber and its digging until the job is changed or somebody's design is recorded."""

from __future__ import annotations

import json
from datetime import timedelta

import pytest
from sqlmodel import select

from tests.book.conftest import DAY, hand_of, job_text
from tracker.book.buying import cut_list
from tracker.book.changing import accept_change, difference
from tracker.book.gates import sign_off, start
from tracker.book.hand import Hand
from tracker.book.handover import handover
from tracker.book.history import history
from tracker.book.invoices import invoice
from tracker.book.jobs import job_lines, job_view, take_job
from tracker.book.lots import order
from tracker.book.money import accept_quote, quote
from tracker.book.moneyread import money_of
from tracker.book.opening import Book
from tracker.book.papers import draft_paper, invoice_paper, quote_paper
from tracker.book.people import allow
from tracker.book.plans import Shelf
from tracker.book.pricing import price_file, price_job
from tracker.book.readings import record, take_back, waive
from tracker.book.sheet import day_sheet
from tracker.book.tables import CheckRow, PhaseRow
from tracker.book.views import CheckState, DesignOpenError, GateShutError, Pass, PhaseState
from tracker.errors import InputErrors, RefusedError
from tracker.planning.options import parse_option
from tracker.planning.pricing import PriceBook
from tracker.reports.asbuilt import record_of
from tracker.reports.daycsv import sheet_csv
from tracker.reports.daypaper import day_document
from tracker.reports.daysheet import plain
from tracker.reports.estimatepage import price_json, price_page
from tracker.reports.fieldpacket import packet_document
from tracker.reports.handover import Part as HandoverPart
from tracker.reports.handover import document as handover_document
from tracker.reports.handoverjson import handover_json
from tracker.reports.invoicepaper import invoice_document
from tracker.reports.jobpages import job_page
from tracker.reports.jsonable import job_json, sheet_json
from tracker.reports.moneypages import money_json, money_page, standing_quote_page
from tracker.reports.moneypaper import money_document
from tracker.reports.page import plain as plain_page
from tracker.reports.paper.model import Document
from tracker.reports.paper.text import to_page
from tracker.reports.quotepaper import quote_document
from tracker.trade.jobfile import JobFile, parse_job_bytes
from tracker.trade.rules import Rules

CODE = "26-101"
BASIS = ("by=N. Finch, licensed engineer", "document=sheet S-1", "day=2026-05-04")
SAID = "sheet S-1 of N. Finch, licensed engineer, Mon 4 May 2026"
APART = "joists at 24 in are too far apart for 5/4x6 boards: 16 in is the most"


def failing_text() -> str:
    """A platform whose joists stand 24 in apart under 5/4 boards (county deck details: 16 in at the most)."""
    return job_text(more="[prices]\n" + PRICES).replace('spacing = "16 in"', 'spacing = "24 in"')


PRICES = "".join(
    f'"{item}" = "5.00"\n'
    for item in (
        *(f"2x6x{feet}" for feet in (8, 10, 12, 14, 16, 18, 20)), *(f"5/4x6x{feet}" for feet in (8, 10, 12, 14, 16, 18, 20)),
    )
)  # fmt: skip


def parsed(text: str) -> JobFile:
    return parse_job_bytes(text.encode(), "job.toml")


@pytest.fixture
def failing(book: Book, hand: Hand) -> Book:
    """A book with a job whose design fails."""
    take_job(book, hand, parsed(failing_text()))
    return book


def text_of(paper: Document) -> str:
    return " ".join(plain_page(to_page(paper), 200).split())


def test_taking_it_says_what_fails_and_so_do_the_list_the_job_and_the_day_sheet(book: Book, hand: Hand) -> None:
    result = take_job(book, hand, parsed(failing_text()))
    assert f"design: {APART}" in result.warnings
    assert any("no waiver clears it" in text for text in result.warnings)
    view = job_view(book, CODE, DAY)
    assert view.design_faults == (APART,) and view.check("design").state is CheckState.FAILED
    assert APART in view.check("design").headline
    (line,) = job_lines(book, DAY)
    assert APART in line.hold
    assert APART in " ".join(plain(day_sheet(book, DAY), 200).split())
    assert APART in text_of(packet_document(view, cut_list(book, DAY, [CODE]), DAY))


def test_a_sound_design_says_nothing_anywhere(book: Book, hand: Hand) -> None:
    assert not [text for text in take_job(book, hand, parsed(job_text())).warnings if "design" in text]
    view = job_view(book, CODE, DAY)
    assert view.design_faults == () and view.check("design").state is CheckState.PASSED


def test_no_waiver_clears_it(failing: Book, hand: Hand) -> None:
    with pytest.raises(RefusedError, match="no waiver clears the design"):
        waive(failing, hand, CODE, "design", "it will do")
    assert job_view(failing, CODE, DAY).check("design").state is CheckState.FAILED


def test_nobody_digs_for_it_whatever_the_reason(failing: Book, hand: Hand) -> None:
    for phase in ("strip", "pads"):
        for past in ("", "the client waits"):
            with pytest.raises(GateShutError, match="nobody digs for a deck whose design fails") as told:
                start(failing, hand, CODE, phase, past=past)
            assert told.value.passing is Pass.NOT and APART in told.value.hint
            with pytest.raises(GateShutError, match="nobody digs"):
                sign_off(failing, hand, CODE, phase, past=past)
    with pytest.raises(GateShutError):
        sign_off(failing, hand, CODE, "design")
    start(failing, hand, CODE, "delivery", past="the yard is full")  # nobody digs for that


def test_its_quote_is_a_draft_that_nobody_may_accept(failing: Book, hand: Hand) -> None:
    draft = quote_document(draft_paper(failing, CODE, DAY))
    assert draft.title.startswith("DRAFT - NOT CHECKED") and "DRAFT - NOT CHECKED" in draft.foot
    told = quote(failing, hand, CODE, unpriced_too=True)
    assert any(text.startswith("DRAFT - NOT CHECKED") for text in told.notices)
    paper = quote_document(quote_paper(failing, CODE))
    assert paper.title == "DRAFT - NOT CHECKED: quote 1" and APART in text_of(paper)
    assert "not to be signed" in text_of(paper)
    with pytest.raises(RefusedError, match="the design of 26-101 fails"):
        accept_quote(failing, hand, CODE)


def test_an_option_is_judged_by_the_design_it_makes(failing: Book, hand: Hand) -> None:
    quote(
        failing,
        hand,
        CODE,
        OPTIONS,
        unpriced_too=True,
    )
    paper = quote_paper(failing, CODE)
    assert [option.faults for option in paper.options] == [(APART,), ()]
    with pytest.raises(RefusedError):
        accept_quote(failing, hand, CODE, "as drawn")
    assert accept_quote(failing, hand, CODE, "closer").text.startswith("closer of quote 1 accepted")


OPTIONS = [parse_option("as drawn: price=5000"), parse_option("closer: spacing=16 in, price=5100")]


def price_words(book: Book) -> str:
    return " ".join(plain_page(price_page(price_job(book, CODE, DAY, OPTIONS)), 200).split())


def price_faults(book: Book) -> list[object]:
    options = price_json(price_job(book, CODE, DAY, OPTIONS))["options"]
    assert isinstance(options, list)
    return [option["design_faults"] for option in options if isinstance(option, dict)]


def test_its_price_says_what_fails_as_its_quote_does_option_by_option(failing: Book, hand: Hand) -> None:
    assert f"DRAFT - NOT CHECKED, as drawn: {APART}" in price_words(failing)
    assert price_words(failing).count("NOT CHECKED") == 1 and price_faults(failing) == [[APART], []]
    quote(failing, hand, CODE, OPTIONS, unpriced_too=True)
    paper = money_document(money_of(failing, CODE, DAY))
    assert f"DRAFT - NOT CHECKED, as drawn: {APART}" in text_of(paper)


def test_its_price_names_the_design_it_stands_on_and_what_that_does_not_cover(failing: Book, hand: Hand) -> None:
    record(failing, hand, CODE, "design", BASIS)
    assert "NOT CHECKED" not in price_words(failing) and SAID in price_words(failing)
    assert price_faults(failing) == [[], []]
    assert price_json(price_job(failing, CODE, DAY, OPTIONS))["stands_on"] == SAID
    other = price_job(failing, CODE, DAY, [parse_option("wider: spacing=20 in, price=4900")])
    wider = " ".join(plain_page(price_page(other), 200).split())
    assert "DRAFT - NOT CHECKED, wider: joists at 20 in are too far apart" in wider, "the drawing is for another deck"
    take_back(failing, hand, CODE, "design", "the wrong sheet")
    assert price_faults(failing) == [[APART], []]


def test_the_price_of_a_job_file_says_what_fails_and_of_a_sound_one_nothing() -> None:
    failed = price_file(parsed(failing_text()), {}, Rules(), PriceBook(), Shelf())
    assert f"DRAFT - NOT CHECKED, as drawn: {APART}" in plain_page(price_page(failed), 200)
    sound = price_file(parsed(job_text()), {}, Rules(), PriceBook(), Shelf())
    assert "NOT CHECKED" not in plain_page(price_page(sound), 200)


def test_a_quote_that_was_a_draft_is_quoted_anew_before_it_is_accepted(failing: Book, hand: Hand) -> None:
    quote(failing, hand, CODE, unpriced_too=True)
    record(failing, hand, CODE, "design", BASIS)
    with pytest.raises(RefusedError, match="quote 1 is a DRAFT - NOT CHECKED"):
        accept_quote(failing, hand, CODE)
    told = quote(failing, hand, CODE, unpriced_too=True)
    assert not any("NOT CHECKED" in text for text in told.notices)
    paper = quote_document(quote_paper(failing, CODE))
    assert paper.title == "Quote 2" and SAID in text_of(paper) and SAID in paper.foot
    assert "accepted" in accept_quote(failing, hand, CODE).text


def test_lumber_of_its_frame_is_asked_about_and_its_boards_are_not(failing: Book, hand: Hand) -> None:
    with pytest.raises(DesignOpenError, match="the design of 26-101 fails") as told:
        order(failing, hand, CODE, "2x6x12", 2)
    assert "--anyway" in told.value.hint
    assert "ordered" in order(failing, hand, CODE, "2x6x12", 2, anyway=True).text
    assert "ordered" in order(failing, hand, CODE, "5/4x6x12", 2).text


def test_it_is_cleared_by_changing_the_job(failing: Book, hand: Hand) -> None:
    take_job(failing, hand, parsed(job_text(more="[prices]\n" + PRICES)))
    assert job_view(failing, CODE, DAY).check("design").state is CheckState.PASSED
    assert sign_off(failing, hand, CODE, "visit") and sign_off(failing, hand, CODE, "design")


def test_it_is_cleared_by_recording_on_whose_design_it_stands_which_every_paper_names(
    failing: Book, hand: Hand
) -> None:
    told = record(failing, hand, CODE, "design", BASIS)
    assert told.answer is not None and told.answer.headline == f"stands on {SAID}"
    view = job_view(failing, CODE, DAY)
    assert view.design_faults == () and view.stands_on == SAID
    assert view.check("design").state is CheckState.PASSED
    for paper in (
        packet_document(view, cut_list(failing, DAY, [CODE]), DAY), handover_document(handover(failing, CODE, DAY)),
        quote_document(draft_paper(failing, CODE, DAY)),
    ):  # fmt: skip
        assert SAID in text_of(paper), paper.title
    assert SAID in " ".join(plain(day_sheet(failing, DAY), 200).split())
    for phase in ("visit", "design", "quote"):
        sign_off(failing, hand, CODE, phase)
    assert job_view(failing, CODE, DAY).phase("design").state is PhaseState.SIGNED_OFF


def test_a_quote_names_the_design_only_where_an_option_is_the_deck_it_was_drawn_for(failing: Book, hand: Hand) -> None:
    record(failing, hand, CODE, "design", BASIS)
    other = parse_option("wider: spacing=20 in, price=4900")
    for options, stands in (([other], False), ([OPTIONS[1]], False), ([OPTIONS[0], other], True)):
        quote(failing, hand, CODE, options, unpriced_too=True, replace_it=True)
        paper, price = quote_document(quote_paper(failing, CODE)), price_page(price_job(failing, CODE, DAY, options))
        for text in (text_of(paper), paper.foot, " ".join(plain_page(price, 200).split()),
                     " ".join(plain_page(money_page(money_of(failing, CODE, DAY)), 200).split())):  # fmt: skip
            assert (SAID in text) is stands and ("NOT CHECKED" in text) is (other in options)


@pytest.mark.parametrize(("label", "stands"), [("as drawn", True), ("closer", False)])
def test_an_invoice_names_the_design_only_of_the_deck_that_was_sold(
    failing: Book, hand: Hand, label: str, stands: bool
) -> None:
    record(failing, hand, CODE, "design", BASIS)
    quote(failing, hand, CODE, OPTIONS, unpriced_too=True)
    accept_quote(failing, hand, CODE, label)
    invoice(failing, hand, CODE, cents=10_000, text="deposit")
    assert (SAID in text_of(invoice_document(invoice_paper(failing, CODE, 1)))) is stands


def named_everywhere(book: Book) -> dict[str, str]:
    """What each surface of a quoted job says, in one line."""
    view, sheet, money, over = (
        job_view(book, CODE, DAY),
        day_sheet(book, DAY),
        money_of(book, CODE, DAY),
        handover(book, CODE, DAY),
    )
    pages = {
        "show": job_page(view), "quote": standing_quote_page(money), "money": money_page(money),
        "price": price_page(price_job(book, CODE, DAY)),
    }  # fmt: skip
    papers = {
        "packet": packet_document(view, cut_list(book, DAY, [CODE]), DAY), "quote on paper": quote_document(quote_paper(book, CODE)),
        "draft on paper": quote_document(draft_paper(book, CODE, DAY)), "day on paper": day_document(sheet),
        "money on paper": money_document(money), **{f"{part.value} on paper": handover_document(over, [part]) for part in HandoverPart},
    }  # fmt: skip
    record_of_it = " ".join(" ".join(line) for part in record_of(over).parts for line in part.rows)
    return {
        "day sheet": " ".join(plain(sheet, 200).split()), "day sheet as CSV": sheet_csv(sheet).decode(), "as-built record": record_of_it,
        **{name: " ".join(plain_page(page, 200).split()) for name, page in pages.items()},
        **{name: text_of(paper) for name, paper in papers.items()},
        **{f"{name} as JSON": json.dumps(found) for name, found in {
            "show": job_json(view), "day sheet": sheet_json(sheet), "money": money_json(money),
            "as-built": handover_json(over, list(HandoverPart)), "price": price_json(price_job(book, CODE, DAY)),
        }.items()},
    }  # fmt: skip


def test_every_surface_names_who_which_document_and_its_day_and_says_nothing_of_a_draft_not_checked(
    failing: Book, hand: Hand
) -> None:
    record(failing, hand, CODE, "design", BASIS)
    quote(failing, hand, CODE, OPTIONS[:1], unpriced_too=True)
    for name, text in named_everywhere(failing).items():
        assert SAID in text, name
        assert "NOT CHECKED" not in text and "design fails" not in text, name


def test_the_drawing_is_for_the_spec_it_was_given_for(failing: Book, hand: Hand) -> None:
    record(failing, hand, CODE, "design", BASIS)
    for phase in ("visit", "design"):
        sign_off(failing, hand, CODE, phase)
    higher = failing_text().replace('height = "12 in"', 'height = "14 in"')
    assert f"design: {APART}" in take_job(failing, hand, parsed(higher)).warnings
    view = job_view(failing, CODE, DAY)
    assert view.stands_on == "" and view.design_faults == (APART,)
    assert view.phase("design").undone_by == ("design",) and view.phase("design").state is PhaseState.UNDER_WAY
    with pytest.raises(GateShutError, match="nobody digs"):
        start(failing, hand, CODE, "strip", past="it is only two inches")
    take_job(failing, hand, parsed(failing_text()))
    assert job_view(failing, CODE, DAY).stands_on == SAID, "the deck it was drawn for stands on it again"


def test_a_change_order_asks_again(failing: Book, hand: Hand) -> None:
    record(failing, hand, CODE, "design", BASIS)
    source = parsed(failing_text().replace('height = "12 in"', 'height = "14 in"')).source
    change = difference(failing, CODE, source, DAY)
    assert [check.key for check in change.again] == ["design"] and change.again[0].still_passes is None
    assert APART in change.warnings
    accept_change(failing, hand, CODE, source, "the client wants it higher", change.rev)
    view = job_view(failing, CODE, DAY)
    assert view.stands_on == "" and view.check("design").state is CheckState.FAILED


def test_taking_the_record_back_makes_it_fail_again_and_both_stay_in_the_history(failing: Book, hand: Hand) -> None:
    record(failing, hand, CODE, "design", BASIS)
    take_back(failing, hand, CODE, "design", "the wrong sheet")
    assert job_view(failing, CODE, DAY).design_faults == (APART,)
    told = json.dumps([[line.said, line.reason, line.entered] for line in history(failing, CODE, DAY).lines])
    assert SAID in told and "the wrong sheet" in told


def test_only_who_may_speak_for_the_house_says_on_whose_design_it_stands(failing: Book, hand: Hand) -> None:
    allow(failing, hand, "Lead Wren", may_waive=False)
    with pytest.raises(RefusedError, match="say on whose design a deck stands"):
        record(failing, hand_of("Lead Wren"), CODE, "design", BASIS)


def test_a_job_file_may_tell_of_it_in_its_log(book: Book, hand: Hand) -> None:
    values = ", ".join(f'"{value}"' for value in BASIS)
    log = f'[[log]]\non = 2026-05-05\nwho = "Owner Plover"\ndo = "check"\ncheck = "design"\nvalues = [{values}]\n'
    assert take_job(book, hand, parsed(failing_text() + log)).warnings == ()
    assert job_view(book, CODE, DAY).stands_on == SAID


def test_a_drawing_of_tomorrow_clears_nothing(failing: Book, hand: Hand) -> None:
    late = f"day={DAY + timedelta(days=1)}"
    told = record(failing, hand, CODE, "design", (*BASIS[:2], late))
    assert "after today" in told.text and job_view(failing, CODE, DAY).design_faults == (APART,)


def test_no_deck_is_handed_over_on_it(failing: Book, hand: Hand) -> None:
    with pytest.raises((RefusedError, InputErrors), match="no deck is handed over on a design that fails"):
        sign_off(failing, hand, CODE, "hand-over", leave=[("design", "the client lives there already")])


def test_a_job_of_before_every_job_had_the_check_is_held_all_the_same_and_gets_it(failing: Book, hand: Hand) -> None:
    with failing.writing() as session:
        check = session.exec(select(CheckRow).where(CheckRow.key == "design")).one()
        phase = session.exec(select(PhaseRow).where(PhaseRow.key == "design")).one()
        for row in (check, phase):
            row.dropped, row.rev = 1, row.rev + 1
            session.add(row)
    view = job_view(failing, CODE, DAY)
    assert "design" not in {phase.key for phase in view.phases} and view.design_faults == (APART,)
    assert APART in job_lines(failing, DAY)[0].hold
    with pytest.raises(GateShutError, match="nobody digs"):
        start(failing, hand, CODE, "strip", past="the client waits")
    record(failing, hand, CODE, "design", BASIS)
    view = job_view(failing, CODE, DAY)
    assert view.stands_on == SAID and view.phase("design").checks[0].state is CheckState.PASSED
